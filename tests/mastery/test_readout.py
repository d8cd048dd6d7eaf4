"""The four states, the list of those not there yet, and the evidence behind them."""

from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.mastery.judging import MissingForCan
from server.mastery.model import PartKind
from server.mastery.readout import Reading, board, not_there_yet, readout
from server.mastery.values import DAY_S, LEFT, RIGHT, SIDES, STAGES, AnswerFact, MasteryError, State, TeamSettings
from tests.mastery.mastery_examples import SETTINGS, after, alternating, cell, fact, histories, on_days


def test_right_answers_on_two_days_make_can() -> None:
    state = after(on_days((0, 2)))
    found = cell(state, 2 * DAY_S + 300.0)
    assert found.p_can >= 0.90
    assert found.state is State.CAN
    assert found.short == ()


@given(st.integers(1, 60), st.sampled_from(list(permutations(STAGES))))
def test_any_number_of_right_answers_on_one_day_is_no_proof(count: int, stages: tuple[int, ...]) -> None:
    facts = [fact(True, at=20.0 * i, stage=stages[i // 2 % 5], side=SIDES[i % 2]) for i in range(count)]
    found = cell(after(facts), 1300.0)
    assert found.state is State.NOT_PROVEN
    assert MissingForCan.DAYS in found.short


def test_a_repeat_in_a_sitting_moves_the_estimate_by_less_than_a_quarter() -> None:
    """The question was answered, and its answer shown, minutes before."""
    before = after([fact(True, at=0.0, kind="track")])
    again = cell(before.with_answers([fact(True, at=60.0, kind="track")]), 100.0).chance
    other = cell(before.with_answers([fact(True, at=60.0, kind="order")]), 100.0).chance
    was = cell(before, 100.0).chance
    assert 0.0 < again - was < 0.25 * (other - was)


def test_repeats_of_a_sitting_are_no_proof_on_another_day() -> None:
    first = alternating([True] * 10, kind="track")
    second = [fact(True, at=DAY_S + 20.0 * i, side=SIDES[i % 2], kind="track") for i in range(10)]
    (day,) = {one.day for one in after(second).records["p1"]["", "storm"].shown if one.is_proof}
    assert day == 1
    rerun = [fact(False, at=DAY_S, kind="track"), *second[1:]]
    found = cell(after([*first, *rerun]), DAY_S + 300.0)
    assert MissingForCan.DAYS in found.short


def test_discounted_answers_are_no_proof() -> None:
    found = cell(after([*alternating([True] * 10), *on_days((3,), weight=0.5)]), 3 * DAY_S + 300.0)
    assert MissingForCan.DAYS in found.short


def test_spaced_success_holds_longer_and_massed_does_not() -> None:
    massed, spaced, more = on_days((0, 1, 2, 3)), on_days((0, 8)), on_days((0, 8, 24))
    for facts, days in ((massed, 14.0), (spaced, 28.0), (more, 42.0)):
        last = facts[-1].at
        assert cell(after(facts), last).sharp_until == last + days * DAY_S
    missed = [*more, fact(False, at=24.5 * DAY_S), *on_days((25,))]
    assert cell(after(missed), 26 * DAY_S).sharp_until == missed[-1].at + 14.0 * DAY_S


def test_proof_at_one_position_is_none_at_another() -> None:
    state = after(on_days((0, 2), position="Mike"))
    assert cell(state, 3 * DAY_S).state is State.CAN
    moved = cell(state.with_positions({"p1": {"storm": ["Sam"]}}), 3 * DAY_S)
    assert (moved.state, moved.answered, moved.last_at) == (State.NOT_PROVEN, 0, None)
    both = state.with_positions({"p1": {"storm": ["Sam", "Mike"]}})
    assert cell(both, 3 * DAY_S).state is State.CAN
    asked_there = both.with_answers([fact(False, at=3 * DAY_S, position="Sam")])
    assert cell(asked_there, 3 * DAY_S + 60.0).answered == 1
    assert cell(state, 3 * DAY_S).state is State.CAN


@given(st.lists(st.tuples(st.sampled_from(STAGES), st.booleans()), max_size=40), st.sampled_from(SIDES))
def test_answers_from_one_side_only_never_give_can(answers: list[tuple[int, bool]], side: str) -> None:
    state = after([fact(right, at=20.0 * i, stage=stage, side=side) for i, (stage, right) in enumerate(answers)])
    for stage in (None, *STAGES):
        found = cell(state, 900.0, stage)
        assert found.state is not State.CAN
        assert set(SIDES) - {side} <= set(found.open_sides)


@given(histories(), st.floats(42.1, 400))
def test_six_weeks_of_silence_end_can(facts: list[AnswerFact], days: float) -> None:
    state = after(facts)
    now = (state.last_at or 0.0) + days * DAY_S
    assert all(found.state is not State.CAN for found in board(state, ["p1", "p2"], ["storm"], now, SETTINGS).values())


def test_right_answers_then_silence_are_faded_not_forgotten() -> None:
    state = after(on_days((0, 2, 4)))
    assert cell(state, 17 * DAY_S).state is State.CAN
    assert cell(state, 19 * DAY_S).state is State.FADED
    late = cell(state, 60 * DAY_S)
    assert late.state is State.FADED
    assert {MissingForCan.ESTIMATE, MissingForCan.OLD} <= set(late.short)


def test_a_wrong_answer_is_not_fading() -> None:
    state = after([*alternating([True] * 10), fact(False, at=DAY_S)])
    found = cell(state, DAY_S + 60.0)
    assert found.state is State.NOT_PROVEN
    assert found.open_sides == (LEFT,)


def test_misses_on_another_call_are_not_fading() -> None:
    known = on_days((0, 2, 3), 6)
    missed = alternating([False] * 30, at=3 * DAY_S + 3600.0, call="thunder")
    now = 3 * DAY_S + 7200.0
    assert cell(after(known), now).state is State.CAN
    shaken = cell(after([*known, *missed]), now)
    assert (shaken.state, shaken.short) == (State.NOT_PROVEN, (MissingForCan.ESTIMATE,))


def test_he_fades_by_time_alone_regardless_of_answers_elsewhere() -> None:
    known = on_days((0, 2, 4))
    elsewhere = alternating([True, False] * 3, at=5 * DAY_S, call="anvil")
    days = next(n for n in range(5, 40) if cell(after(known), n * DAY_S).state is State.FADED)
    for n, state in ((days - 1, State.CAN), (days, State.FADED)):
        assert cell(after(known), n * DAY_S).state is state
    assert cell(after([*known, *elsewhere]), days * DAY_S).state is State.FADED


def test_four_wrong_on_two_snaps_make_cannot_and_less_does_not() -> None:
    assert cell(after(alternating([False] * 3)), 100.0).state is State.NOT_PROVEN
    assert cell(after(alternating([False] * 4, snap="the same")), 100.0).state is State.NOT_PROVEN
    found = cell(after(alternating([False] * 4)), 100.0)
    assert found.state is State.CANNOT
    assert found.p_can <= SETTINGS.rules.cannot_at


def test_cannot_needs_a_wrong_one_among_the_last_four_and_recent_answers() -> None:
    facts = alternating([False] * 12)
    assert cell(after(facts), 25 * DAY_S).state is State.NOT_PROVEN
    fixed = [*facts, *alternating([True] * 4, at=DAY_S)]
    found = cell(after(fixed), DAY_S + 100.0)
    assert found.p_can <= 0.90
    assert found.state is State.NOT_PROVEN


def test_states_by_stage_look_at_that_stage_alone() -> None:
    facts = [fact(True, at=20.0 * i, stage=1, side=SIDES[i % 2]) for i in range(8)]
    facts += [fact(False, at=500.0 + i, stage=3, side=SIDES[i % 2]) for i in range(6)]
    state = after(facts)
    assert cell(state, 700.0, 1).answered == 8
    assert cell(state, 700.0, 3).state is State.CANNOT
    assert cell(state, 700.0, 2).state is State.NOT_PROVEN
    assert cell(state, 700.0, 2).last_at is None


def test_six_parts_add_up_to_the_estimate() -> None:
    state = after([*alternating([True, True, False, True, True]), *alternating([False] * 4, at=DAY_S, player="p2")])
    found = readout(state, "p1", "storm", 2 * DAY_S, SETTINGS)
    assert [part.kind for part in found.parts] == list(PartKind)
    total = found.team + sum(part.mean for part in found.parts)
    from server.mastery.cells import cell_moments
    from server.mastery.readout import parts_now

    theta, _ = cell_moments(*parts_now(state, "p1", ["storm"], 2 * DAY_S))
    weights = SETTINGS.weights()
    by_hand = sum(weights[i // 2] / 2 * float(t) for i, t in enumerate(theta[0]))
    assert total == pytest.approx(by_hand)
    assert found.estimate.chance == pytest.approx(sum(chance for _, chance in found.side_chance) / 2)


def test_the_side_part_names_the_side() -> None:
    facts = [fact(True, at=20.0 * i, side=LEFT) for i in range(6)]
    facts += [fact(False, at=500.0 + i, side=RIGHT) for i in range(2)]
    found = readout(after(facts), "p1", "storm", 600.0, SETTINGS)
    chances = dict(found.side_chance)
    assert chances[LEFT] > chances[RIGHT] + 0.15
    assert found.estimate.open_sides == (RIGHT,)
    assert found.by_side(LEFT) == (6, 6)
    assert found.by_side(RIGHT) == (0, 2)
    assert found.last_at == 501.0


def test_the_readout_of_one_side_uses_only_its_answers() -> None:
    sides = [RIGHT if i % 8 == 0 else LEFT for i in range(40)]
    facts = [fact(d == LEFT, at=20.0 * i + i // 20 * DAY_S, stage=i % 5 + 1, side=d) for i, d in enumerate(sides)]
    state = after(facts)
    now = DAY_S + 900.0
    left, right = cell(state, now, side=LEFT), cell(state, now, side=RIGHT)
    assert (left.side, left.state, left.answered, left.right, left.short) == (LEFT, State.CAN, 35, 35, ())
    assert (right.side, right.state, right.answered, right.right) == (RIGHT, State.NOT_PROVEN, 5, 0)
    assert right.open_sides == (RIGHT,)
    assert cell(state, now).state is not State.CAN  # half a call is not a call
    assert (cell(state, now, 1, LEFT).answered, cell(state, now, 1, RIGHT).answered) == (7, 1)
    assert cell(state, 17 * DAY_S, side=LEFT).state is State.FADED


@pytest.mark.parametrize(("stage", "side"), [(1, None), (None, LEFT), (1, LEFT)])
def test_misses_elsewhere_on_the_call_are_not_fading_either(stage: int | None, side: str | None) -> None:
    facts = [*on_days((0, 2, 3)), *(fact(True, at=4 * DAY_S + 20.0 * i, side=SIDES[i % 2]) for i in range(14))]
    assert cell(after(facts), 20 * DAY_S, stage, side).state is State.FADED
    misses = [fact(False, at=4 * DAY_S + 500.0 + i, stage=3, side=RIGHT) for i in range(12)]
    assert cell(after([*facts, *misses]), 20 * DAY_S, stage, side).state is State.NOT_PROVEN


@given(histories(), st.sampled_from((None, *STAGES)))
def test_the_two_sides_make_up_the_call(facts: list[AnswerFact], stage: int | None) -> None:
    state = after(facts)
    now = (state.last_at or 0.0) + DAY_S
    whole, sides = cell(state, now, stage), [cell(state, now, stage, side) for side in SIDES]
    assert whole.chance == pytest.approx(sum(one.chance for one in sides) / 2)
    assert whole.answered == sum(one.answered for one in sides)
    assert set(whole.open_sides) == {side for one in sides for side in one.open_sides}


def test_those_not_there_yet_from_one_side() -> None:
    facts = [fact(False, at=float(i), player="cannot left") for i in range(4)]
    ats = [20.0 * i + 10.0 + i // 10 * DAY_S for i in range(20)]
    facts += [fact(True, at=at, player="knows left", stage=i % 5 + 1) for i, at in enumerate(ats)]
    state, names = after(facts), ["knows left", "cannot left"]
    left = not_there_yet(state, names, ["storm"], 2 * DAY_S, SETTINGS, side=LEFT)
    assert [(found.player, found.side) for found in left] == [("cannot left", LEFT)]
    right = not_there_yet(state, names, ["storm"], 2 * DAY_S, SETTINGS, side=RIGHT)
    assert {found.player for found in right} == set(names)


def test_the_six_parts_of_one_side_add_up_to_its_estimate() -> None:
    state = after([*alternating([True, False, True]), fact(False, at=DAY_S)])
    found = readout(state, "p1", "storm", 2 * DAY_S, SETTINGS, side=LEFT)
    assert found.estimate.chance == pytest.approx(dict(found.side_chance)[LEFT])
    by_kind = {part.kind: part for part in found.parts}
    assert by_kind[PartKind.CALL_SIDE].prior_sd == pytest.approx(1.0)
    assert found.by_side(RIGHT) == (0, 0)


def test_without_answers_there_is_no_date_and_nothing_is_proven() -> None:
    found = readout(after([]), "p9", "storm", 0.0, SETTINGS)
    assert (found.state, found.last_at, found.counts) == (State.NOT_PROVEN, None, ())
    assert all(part.mean == 0.0 and part.sd == pytest.approx(part.prior_sd) for part in found.parts)


def test_not_there_yet_puts_cannot_first_then_the_least_sure() -> None:
    facts = [
        *on_days((-2, 0), player="knows"),
        *alternating([True] * 3, player="nearly"),
        *alternating([False] * 5, player="cannot"),
    ]
    facts.sort(key=lambda a: a.at)
    order = not_there_yet(after(facts), ["knows", "nearly", "cannot", "new"], ["storm"], 300.0, SETTINGS)
    assert [found.player for found in order] == ["cannot", "new", "nearly"]


def test_not_there_yet_weighs_calls_by_the_opponent() -> None:
    heavy = TeamSettings().with_opponent(call_counts={"storm": 1, "anvil": 30})
    order = not_there_yet(after([]), ["p1"], ["storm", "anvil"], 0.0, heavy)
    assert [found.call for found in order] == ["anvil", "storm"]


def test_a_readout_before_the_last_answer_is_refused() -> None:
    with pytest.raises(MasteryError, match="before the player's last answer"):
        readout(after([fact(at=100.0)]), "p1", "storm", 99.0, SETTINGS)
    with pytest.raises(MasteryError, match="stage 7 is not one of 1 to 5"):
        readout(after([]), "p1", "storm", 99.0, SETTINGS, 7)
    with pytest.raises(MasteryError, match="side 'middle' is not left or right"):
        readout(after([]), "p1", "storm", 99.0, SETTINGS, side="middle")  # type: ignore[arg-type]


def test_a_board_without_players_or_calls_is_empty() -> None:
    assert board(after([]), [], ["storm"], 0.0, SETTINGS) == {}
    assert board(after([]), ["p1"], [], 0.0, SETTINGS) == {}


@given(histories(), st.sampled_from([None, *STAGES]), st.sampled_from([None, *SIDES]), st.integers(0, 3))
def test_a_refreshed_reading_equals_the_board(
    facts: list[AnswerFact], stage: int | None, side: str | None, every: int
) -> None:
    state = after([])
    players, calls = ["p1", "p2", "nobody"], ["storm", "thunder", "anvil"]
    reading = Reading(calls, SETTINGS, stage, side)
    for n, one in enumerate(facts):
        state.update(one)
        if n % (every + 1) == 0:
            now = one.at + 40 * DAY_S * (n % 2)
            assert reading.board(state, players, now) == board(state, players, calls, now, SETTINGS, stage, side)
