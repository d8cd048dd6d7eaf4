"""The invented season: the board shows planted players as what they are, and nobody is falsely shown as *can*."""

import pytest

from server.commands.demo_season import REPS_IN_A_SET, DemoSeason, LearnerKind, RosterPlayer, SeenRep, WrongChoice
from server.mastery import (
    LEFT,
    RIGHT,
    AnswerFact,
    Certainty,
    Confusion,
    Estimate,
    Scope,
    State,
    TeamSettings,
    board,
    confusions,
    replay,
)

SETTINGS = TeamSettings()
ROSTER = [RosterPlayer(f"no. {n}", ("Mike", "Will", "Sam", "end", "tackle")[n % 5]) for n in range(1, 41)]
CALLS = ("storm", "thunder", "anvil", "ember")
FAMILIES = {"storm": "edge", "thunder": "edge"}
END = 1_760_000_000.0
KINDS = {
    "no. 1": LearnerKind.MIXES,
    "no. 2": LearnerKind.ONE_SIDE,
    "no. 3": LearnerKind.FADED,
    "no. 4": LearnerKind.NEW,
}
GAPS = ("A", "B", "C")


def seen(call: str, stage: int, side: str, number: int) -> SeenRep:
    """A made-up rep: the right gap depends on the call; every second one is a hook."""
    other = RIGHT if side == LEFT else LEFT
    right = GAPS[1 + (CALLS.index(call) + stage) % 2]
    inside = GAPS[GAPS.index(right) - 1]
    wrong = [WrongChoice(f"{side} {inside}", "one gap in"), WrongChoice(f"{other} {right}", "mirror side")]
    wrong += [WrongChoice(f"{side} D", "elsewhere"), WrongChoice(f"{other} {inside}", "elsewhere")]
    return SeenRep(f"{call}-{stage}-{side}-{number % 2}", (f"{side} {right}",), tuple(wrong), hooked=number % 2 == 0)


def answers(season: DemoSeason) -> list[AnswerFact]:
    facts = []
    for number, planned in enumerate(season.plan()):
        rep = seen(planned.call, planned.stage, planned.side, number)
        tapped = season.tap(planned, rep)
        relation = next((w.relation for w in rep.wrong if w.answer == tapped), "")
        facts.append(
            AnswerFact(
                planned.player,
                planned.call,
                planned.stage,
                planned.side,
                len(rep.wrong) + 1,
                tapped in rep.right,
                planned.at,
                tapped,
                rep.right[0],
                relation,
                planned.position,
                snap=rep.rep,
            )
        )
    return facts


def season_of(seed: int) -> DemoSeason:
    return DemoSeason(ROSTER, CALLS, FAMILIES, weeks=8, end=END, seed=seed, kinds=KINDS)


@pytest.fixture(scope="module", params=[1, 2, 3])
def shown(request: pytest.FixtureRequest) -> tuple[DemoSeason, dict[tuple[str, str], Estimate], list[Confusion]]:
    season = season_of(request.param)
    facts = answers(season)
    state = replay(facts, SETTINGS, FAMILIES)
    cells = board(state, [p.player for p in ROSTER], CALLS, END, SETTINGS)
    return season, cells, confusions(facts)


Shown = tuple[DemoSeason, dict[tuple[str, str], Estimate], list[Confusion]]


def test_the_mixer_is_a_confirmed_confusion(shown: Shown) -> None:
    sure = [c for c in shown[2] if c.certainty is Certainty.CONFIRMED and c.who == "no. 1"]
    assert any(c.scope is Scope.PLAYER_RELATION and c.chosen == "one gap in" for c in sure)
    assert any(c.scope is Scope.PLAYER_CALL for c in sure)


def test_the_one_sided_player_is_not_proven_with_the_side_named(shown: Shown) -> None:
    cells = [shown[1]["no. 2", call] for call in CALLS]
    assert all(cell.state is not State.CAN for cell in cells)
    named = [c for c in cells if c.state is State.NOT_PROVEN and c.open_sides == (RIGHT,)]
    assert named
    assert all(LEFT not in c.open_sides for c in cells if c.state is State.NOT_PROVEN)


def test_the_faded_player_is_faded(shown: Shown) -> None:
    states = [shown[1]["no. 3", call].state for call in CALLS]
    assert State.FADED in states
    assert set(states) <= {State.FADED, State.NOT_PROVEN}


def test_the_new_player_is_not_proven(shown: Shown) -> None:
    assert {shown[1]["no. 4", call].state for call in CALLS} == {State.NOT_PROVEN}


def test_nobody_is_falsely_shown_as_can_and_all_states_occur(shown: Shown) -> None:
    season, cells, _ = shown
    can = [pair for pair, cell in cells.items() if cell.state is State.CAN]
    assert len(can) >= 10
    shares = {pair: season.known_share(*pair, END, SETTINGS.stage_mix) for pair in can}
    assert {pair: share for pair, share in shares.items() if share < 0.8} == {}
    assert {cell.state for cell in cells.values()} == set(State)


def test_the_same_seed_gives_the_same_season_and_another_a_different_one() -> None:
    assert answers(season_of(1)) == answers(season_of(1))
    assert answers(season_of(1)) != answers(season_of(2))


def test_the_plan_is_in_order_of_time_and_ends_before_the_board() -> None:
    planned = list(season_of(1).plan())
    assert [p.at for p in planned] == sorted(p.at for p in planned)
    assert END - 2 * 86_400 < planned[-1].at < END
    assert len({(p.player, p.at) for p in planned}) == len(planned)
    assert len(planned) % REPS_IN_A_SET == 0


def test_a_bad_season_is_refused() -> None:
    with pytest.raises(ValueError, match="weeks 2 of a season; expected 8 or more"):
        DemoSeason(ROSTER, CALLS, FAMILIES, weeks=2, end=END, seed=1)
    with pytest.raises(ValueError, match="has no right choice"):
        SeenRep("rep", (), ())
