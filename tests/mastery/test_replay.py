"""Replaying the stored answers gives exactly the running state."""

import random
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.mastery.readout import board
from server.mastery.replay import MasteryState, replay
from server.mastery.values import RIGHT, AnswerFact, Families, MasteryError, StateRules, TeamSettings, to_seconds
from tests.mastery.mastery_examples import CALLS, FAMILIES, SETTINGS, after, fact, histories, values_of


@given(histories(), st.integers(0, 40))
def test_replay_equals_the_running_state_exactly(facts: list[AnswerFact], cut: int) -> None:
    running = replay(facts[:cut], SETTINGS, FAMILIES)
    before = values_of(running)
    later = running.with_answers(facts[cut:])
    assert values_of(running) == before
    whole = replay(facts, SETTINGS, FAMILIES)
    assert values_of(later) == values_of(whole)
    now = whole.last_at or 0.0
    assert board(later, ["p1", "p2"], CALLS, now, SETTINGS) == board(whole, ["p1", "p2"], CALLS, now, SETTINGS)


@given(histories(max_size=20))
def test_reading_changes_nothing(facts: list[AnswerFact]) -> None:
    state = after(facts)
    before = values_of(state)
    board(state, ["p1", "p2", "p3"], CALLS, (state.last_at or 0.0) + 1e6, SETTINGS)
    assert values_of(state) == before


def test_replay_sorts_answers_by_time() -> None:
    facts = [fact(True, at=50.0), fact(False, at=10.0), fact(True, at=30.0, side=RIGHT)]
    assert values_of(after(facts)) == values_of(after(sorted(facts, key=lambda a: a.at)))


@given(histories(), st.randoms(use_true_random=False))
def test_replay_in_any_order_equals_the_running_state_with_ties_as_given(
    facts: list[AnswerFact], rng: random.Random
) -> None:
    shuffled = list(facts)
    rng.shuffle(shuffled)
    running = MasteryState(SETTINGS.rules, Families(FAMILIES))
    for moment in sorted({one.at for one in facts}):
        for one in shuffled:
            if one.at == moment:
                running.update(one)
    assert values_of(replay(shuffled, SETTINGS, FAMILIES)) == values_of(running)


def test_a_late_answer_is_refused_by_the_running_state() -> None:
    state = after([fact(at=50.0)])
    before = values_of(state)
    with pytest.raises(MasteryError, match=r"an answer at 10\.0 comes after one at 50\.0"):
        state.update(fact(at=10.0))
    assert values_of(state) == before


def test_settings_of_team_and_opponent_change_the_readout_not_the_state() -> None:
    facts = [fact(True, at=float(i), stage=1) for i in range(4)]
    other = TeamSettings().with_opponent({1: 1, 5: 400})
    assert values_of(replay(facts, SETTINGS, FAMILIES)) == values_of(replay(facts, other, FAMILIES))
    plain = board(after(facts), ["p1"], ["storm"], 5.0, SETTINGS)["p1", "storm"].p_can
    assert board(after(facts), ["p1"], ["storm"], 5.0, other)["p1", "storm"].p_can < plain


def test_families_may_differ_by_position() -> None:
    families = Families({"storm": "edge"}, {"Mike": {"storm": "middle"}})
    assert families.family_of("Will", "storm") == "edge"
    assert families.family_of("Mike", "storm") == "Mike/middle"
    assert families.family_of("Mike", "anvil") == "anvil"


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"player": ""}, "needs a player and a call"),
        ({"stage": 6}, "stage 6 of an answer is not one of 1 to 5"),
        ({"side": "middle"}, "side 'middle' of an answer is not left or right"),
        ({"choices": 1}, "choices 1 of an answer; expected 2 or more"),
        ({"at": float("nan")}, "not a finite number of seconds"),
        ({"weight": 0.0}, "expected above 0, 1 at most"),
    ],
)
def test_a_bad_answer_is_refused(change: dict, message: str) -> None:
    with pytest.raises(MasteryError, match=message):
        replace(fact(), **change)


def test_bad_settings_are_refused() -> None:
    with pytest.raises(MasteryError, match="expected only 1 to 5"):
        TeamSettings(stage_mix={9: 1.0})
    with pytest.raises(MasteryError, match="no weight on any stage that is taught"):
        TeamSettings(stage_mix={1: 1.0}, taught=frozenset({2}))
    with pytest.raises(MasteryError, match="a weight is negative"):
        TeamSettings(call_weights={"storm": -1.0})
    with pytest.raises(MasteryError, match="a count is negative"):
        TeamSettings().with_opponent({1: -1})


def test_a_moment_without_a_time_zone_is_refused() -> None:
    from datetime import UTC, datetime

    assert to_seconds(datetime(1970, 1, 2, tzinfo=UTC)) == 86_400.0
    with pytest.raises(MasteryError, match="has no time zone"):
        to_seconds(datetime(1970, 1, 2))  # noqa: DTZ001


def test_rules_come_from_the_settings() -> None:
    strict = TeamSettings(rules=StateRules(can_days=3))
    assert replay([], strict, FAMILIES).rules.can_days == 3
