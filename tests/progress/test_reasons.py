"""The sentence of each cell says what is missing, with its counts; what to rep next goes by need and weight."""

from dataclasses import replace

import pytest

from server.database.tables import Member
from server.mastery.readout import board
from server.mastery.replay import replay
from server.mastery.values import DAY_S, LEFT, RIGHT, AnswerFact, State, TeamSettings
from server.progress.board import BoardGroup, BoardRow
from server.progress.reasons import reason
from server.progress.rep_next import RepNext, rep_next
from tests.mastery.mastery_examples import SETTINGS, alternating, cell, fact, on_days

LATER = 100.0


def days(at: float) -> str:
    return f"day {at / DAY_S:.0f}"


def said(facts: list[AnswerFact], now: float) -> tuple[State, str]:
    found = cell(replay(facts, SETTINGS, {}), now)
    return found.state, str(reason(found, days))


@pytest.mark.parametrize(
    ("facts", "now", "expected"),
    [
        (on_days((0, 1, 2)), 2 * DAY_S + 10 * LATER, (State.CAN, "30 of 30 right on 3 days; good until day 16")),
        (alternating([True] * 12), LATER * 10, (State.NOT_PROVEN, "12 of 12 right, but all on one day")),
        (
            alternating([False] * 2 + [True] * 10),
            LATER * 10,
            (State.NOT_PROVEN, "10 of 12 right, but right on one day only"),
        ),
        (alternating([False] * 12), LATER * 10, (State.CANNOT, "0 of 12 right; enough is 8 of 10")),
        (on_days((0, 1, 2)), 40 * DAY_S, (State.FADED, "knew it, 30 of 30 right; last asked day 2")),
        (
            [fact(True, at=20.0 * n, side=LEFT) for n in range(6)],
            LATER * 10,
            (State.NOT_PROVEN, "6 of 6 right, but nothing to our right yet"),
        ),
        (
            [*on_days((0, 1, 2)), fact(False, at=3 * DAY_S, side=RIGHT)],
            3 * DAY_S + LATER,
            (State.NOT_PROVEN, "30 of 31 right, but missed the last one to our right"),
        ),
        (
            [*(fact(n < 4, at=9.0 * n, side=RIGHT if n < 4 else LEFT) for n in range(16))],
            LATER * 10,
            (State.CANNOT, "4 of 16 right, only 0 of 12 right to our left"),
        ),
    ],
    ids=["knows it", "one day", "right on one day", "not yet", "faded", "one side", "missed last", "weak side"],
)  # fmt: skip
def test_a_cell_says_why(facts: list[AnswerFact], now: float, expected: tuple[State, str]) -> None:
    assert said(facts, now) == expected


def test_a_cell_without_answers_says_that() -> None:
    assert said([fact(call="anvil")], LATER)[1] == "not asked yet"


def group_of(
    facts: list[AnswerFact], calls: tuple[str, ...], settings: TeamSettings = SETTINGS
) -> tuple[list[BoardGroup], RepNext | None]:
    players = sorted({one.player for one in facts})
    state = replay(facts, settings, {})
    found = board(state, players, calls, max(one.at for one in facts) + LATER, settings)
    rows = [
        BoardRow(Member(id=player, team_id="t"), tuple(found[player, call] for call in calls), (True,) * len(calls))
        for player in players
    ]
    groups = [BoardGroup("backers", tuple(rows))]
    return groups, rep_next(groups, calls, state, settings)


def missing(player: str, call: str, side: str, right: int, wrong: int, stage: int = 3) -> list[AnswerFact]:
    marks = [True] * right + [False] * wrong
    return [fact(one, at=10.0 * n, player=player, call=call, side=side, stage=stage) for n, one in enumerate(marks)]


def test_it_names_the_call_the_side_the_stage_and_the_men() -> None:
    facts = sorted(
        [
            *missing("p1", "storm", LEFT, 0, 6),
            *missing("p2", "storm", LEFT, 1, 6),
            *(
                replace(one, player=p)
                for p in ("p1", "p2")
                for one in on_days((0, 1), call="storm")
                if one.side == RIGHT
            ),
            *on_days((0, 1, 2), call="anvil", player="p1"),
            *on_days((0, 1, 2), call="anvil", player="p2"),
        ],
        key=lambda one: one.at,
    )
    _, found = group_of(facts, ("anvil", "storm"))
    assert found is not None
    assert (found.call, found.side, found.group, found.asked) == ("storm", "left", "backers", 2)
    assert set(found.behind) == {"p1", "p2"}
    assert (found.stage, found.missed) == (3, 2)


def test_the_opponents_weight_decides_between_calls_that_lack_the_same() -> None:
    facts = sorted(
        [one for p in ("p1", "p2") for call in ("storm", "anvil") for one in missing(p, call, LEFT, 1, 3)],
        key=lambda one: one.at,
    )
    for heavy in ("storm", "anvil"):
        weights = {"storm": 0.1, "anvil": 0.1} | {heavy: 0.9}
        _, found = group_of(facts, ("storm", "anvil"), TeamSettings(call_weights=weights))
        assert found is not None
        assert found.call == heavy


def test_nobody_is_sent_a_call_that_was_never_asked_or_that_all_know() -> None:
    facts = sorted([one for p in ("p1", "p2") for one in on_days((0, 1, 2), player=p)], key=lambda one: one.at)
    assert group_of(facts, ("storm", "anvil"))[1] is None
