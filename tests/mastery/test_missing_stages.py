"""Which stages and sides a player has yet to show."""

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.mastery.missing_stages import MissingReason, missing_stages
from server.mastery.values import DAY_S, LEFT, SIDES, STAGES, AnswerFact, TeamSettings
from tests.mastery.mastery_examples import SETTINGS, after, fact, histories


def test_without_answers_everything_is_lacking_the_heaviest_first() -> None:
    found = missing_stages(after([]), "p1", "storm", 0.0, SETTINGS)
    assert {(one.stage, one.side) for one in found} == set(product(STAGES, SIDES))
    assert {one.why for one in found} == {MissingReason.NEVER}
    assert [one.stage for one in found] == [1, 1, 2, 2, 4, 4, 5, 5, 3, 3]
    assert sum(one.share for one in found) == pytest.approx(1.0)


def test_pulls_not_yet_from_the_left() -> None:
    facts = [fact(True, at=float(i), stage=s, side=d) for i, (s, d) in enumerate(product(STAGES, SIDES))]
    facts += [fact(False, at=50.0, stage=3, side=LEFT)]
    (one,) = missing_stages(after(facts), "p1", "storm", 60.0, SETTINGS)
    assert (one.stage, one.side, one.why, one.right, one.answered, one.last_at) == (
        3,
        LEFT,
        MissingReason.WRONG,
        1,
        2,
        50.0,
    )
    fixed = after([*facts, fact(True, at=60.0, stage=3, side=LEFT)])
    assert missing_stages(fixed, "p1", "storm", 70.0, SETTINGS) == ()
    assert missing_stages(fixed, "p1", "storm", 20 * DAY_S, SETTINGS) == ()
    old = missing_stages(fixed, "p1", "storm", 22 * DAY_S, SETTINGS)
    assert len(old) == 10
    assert {one.why for one in old} == {MissingReason.OLD}


def test_stages_that_are_not_taught_are_not_lacking() -> None:
    settings = TeamSettings(taught=frozenset({1, 3}))
    assert {one.stage for one in missing_stages(after([]), "p1", "storm", 0.0, settings)} == {1, 3}


@given(histories(), st.sampled_from((0.0, 10 * DAY_S, 60 * DAY_S)))
def test_one_right_answer_there_is_enough(facts: list[AnswerFact], later: float) -> None:
    state = after(facts)
    now = (state.last_at or 0.0) + later
    for one in missing_stages(state, "p1", "storm", now, SETTINGS)[:2]:
        state.update(fact(True, at=now, stage=one.stage, side=one.side))
        left = {(o.stage, o.side) for o in missing_stages(state, "p1", "storm", now, SETTINGS)}
        assert (one.stage, one.side) not in left
