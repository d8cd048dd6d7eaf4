"""What is asked next: weights, teaching order, sides, pictures, repeated misses, check sessions."""

import random
from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.mastery.picker import (
    CHECK_MAX,
    Asked,
    RepOption,
    cell_chances,
    cell_weights,
    check_verdict,
    misses_to_repeat,
    next_check_rep,
    next_rep,
    open_stages,
)
from server.mastery.replay import MasteryState
from server.mastery.values import DAY_S, LEFT, RIGHT, SIDES, STAGES, AnswerFact, State, StateRules, TeamSettings, shares
from tests.mastery.mastery_examples import CALLS, SETTINGS, after, alternating, fact, histories


def options(calls: tuple[str, ...] = ("storm",), guises: int = 3) -> list[RepOption]:
    return [
        RepOption(f"{c}-{s}-{d}-{g}", f"{c}-{s}-{d}-{g}", c, s, d, kind="moved-gap", guise=f"formation {g}")
        for c in calls
        for s in STAGES
        for d in SIDES
        for g in range(guises)
    ]


def play(
    state: MasteryState, length: int, seed: int, p_right: float, calls: tuple[str, ...] = ("storm",), **how: object
) -> list[Asked]:
    """Ask and answer a set, each answer right with the same chance, updating the state."""
    rng, asked = random.Random(seed), []
    now = (state.last_at or 0.0) + 100.0
    for _ in range(length):
        option = next_rep(state, "p1", options(calls), asked, now, SETTINGS, rng, length=length, **how)  # type: ignore[arg-type]
        if option is None:
            break
        right = rng.random() < p_right
        state.update(AnswerFact("p1", option.call, option.stage, option.side, 6, right, now))
        asked.append(Asked(option, right))
        now += 20.0
    return asked


@given(histories(max_size=15), st.integers(0, 10_000), st.sampled_from((0.0, 0.4, 0.8, 1.0)))
def test_no_set_repeats_a_picture_skips_a_stage_or_forgets_a_side(
    facts: list[AnswerFact], seed: int, p_right: float
) -> None:
    state = after(facts)
    before = {(f.stage, f.side) for f in facts if f.right and (f.player, f.call) == ("p1", "storm")}
    asked = play(state, 12, seed, p_right)
    assert len({one.option.picture for one in asked}) == len(asked) > 0
    for i, one in enumerate(asked):
        right = before | {(a.option.stage, a.option.side) for a in asked[:i] if a.right}
        stage = one.option.stage
        assert stage == 1 or {(stage - 1, side) for side in SIDES} <= right
    if len(asked) == 12:
        assert min(Counter(one.option.side for one in asked)[side] for side in SIDES) >= 3


@given(st.integers(0, 10_000))
def test_a_miss_comes_back_in_another_guise_soon_but_not_at_once(seed: int) -> None:
    rng, asked = random.Random(seed), []
    state = after([])
    for i in range(8):
        option = next_rep(state, "p1", options(CALLS), asked, 100.0, SETTINGS, rng, length=8, opened_by_coach=STAGES)
        assert option is not None
        asked.append(Asked(option, right=i != 1))
    missed = asked[1].option
    back = [
        i for i, one in enumerate(asked[2:], 2) if (one.option.call, one.option.stage) == (missed.call, missed.stage)
    ]
    assert back
    assert 4 <= back[0] <= 5
    again = asked[back[0]].option
    assert again.picture != missed.picture
    assert again.side != missed.side
    assert misses_to_repeat(asked) == []


def test_a_miss_near_the_end_of_the_set_still_comes_back() -> None:
    asked = [Asked(options()[i], True) for i in (0, 3)] + [Asked(options()[6], False)]
    option = next_rep(after([]), "p1", options(), asked, 0.0, SETTINGS, random.Random(1), length=4, opened_by_coach={2})
    assert option is not None
    assert option.cell == ("storm", 2, RIGHT)


def test_stages_open_one_after_the_other_and_stay_open() -> None:
    facts = [fact(True, at=0.0)]
    assert open_stages(after(facts), "p1", "storm") == {1}
    facts.append(fact(True, at=1.0, side=RIGHT))
    assert open_stages(after(facts), "p1", "storm") == {1, 2}
    facts.append(fact(False, at=2.0))
    assert open_stages(after(facts), "p1", "storm") == {1, 2}
    assert open_stages(after(facts), "p1", "storm", {4}) == {1, 2, 4}
    assert open_stages(after(facts), "p1", "anvil") == {1}


def test_weights_equal_the_product_by_hand() -> None:
    state = after(alternating([True, False, True]))
    heavy = SETTINGS.with_opponent({1: 6, 2: 3, 3: 1}, {"storm": 9, "anvil": 1})
    cells = [("storm", 1, LEFT), ("anvil", 3, RIGHT)]
    chances = cell_chances(state, "p1", ["storm", "anvil"], 100.0)
    asked = [Asked(options()[0], True)]
    stage = {1: 7 / 15, 2: 4 / 15, 3: 2 / 15, 4: 1 / 15, 5: 1 / 15}
    expected = [
        10 / 12 * stage[1] * 0.5 * (1 - chances[cells[0]]) ** 2 * 0.1,
        2 / 12 * stage[3] * 0.5 * (1 - chances[cells[1]]) ** 2,
    ]
    assert cell_weights(chances, cells, asked, heavy) == pytest.approx(expected)


def test_shares_are_smoothed_by_one_with_a_floor() -> None:
    assert shares({"a": 0, "b": 0}) == {"a": 0.5, "b": 0.5}
    found = shares({"a": 0, "b": 997})
    assert found["a"] == pytest.approx(0.03 / (0.03 + 998 / 999))


def test_what_he_does_not_know_is_asked_more() -> None:
    facts = [fact(True, at=20.0 * i, side=SIDES[i % 2], call="storm") for i in range(10)]
    facts += [fact(False, at=300.0 + i, side=SIDES[i % 2], call="anvil") for i in range(4)]
    state = after(facts)
    drawn = Counter(
        option.call
        for seed in range(200)
        if (option := next_rep(state, "p1", options(("storm", "anvil")), [], 400.0, SETTINGS, random.Random(seed)))
    )
    assert drawn["anvil"] > 3 * drawn["storm"]


def test_the_same_seed_asks_the_same_and_order_of_options_does_not_matter() -> None:
    state = after(alternating([True, False, True, True]))
    pool = options(CALLS)
    first = [next_rep(state, "p1", pool, [], 200.0, SETTINGS, random.Random(seed)) for seed in range(30)]
    again = [next_rep(state, "p1", pool[::-1], [], 200.0, SETTINGS, random.Random(seed)) for seed in range(30)]
    assert first == again
    assert len(set(first)) > 5


def test_nothing_left_to_ask() -> None:
    assert next_rep(after([]), "p1", [], [], 0.0, SETTINGS, random.Random(1)) is None
    only = options(guises=1)[:1]
    assert next_rep(after([]), "p1", only, [Asked(only[0], False)], 0.0, SETTINGS, random.Random(1)) is None


def checked(right: bool, facts: list[AnswerFact], now: float) -> tuple[MasteryState, list[Asked], float]:
    """A check session of one sort of answer."""
    state, asked = after(facts), []
    rng = random.Random(3)
    while (option := next_check_rep(state, "p1", "storm", options(), asked, now, SETTINGS, rng)) is not None:
        snap = f"{option.guise} {option.side}"
        state.update(
            AnswerFact("p1", "storm", option.stage, option.side, 6, right, now, kind=f"{len(asked)}", snap=snap)
        )
        asked.append(Asked(option, right))
        now += 20.0
    assert {one.option.side for one in asked[:2]} == set(SIDES)
    return state, asked, now


def test_a_check_session_ends_as_soon_as_he_cannot() -> None:
    state, asked, now = checked(False, [], 0.0)
    assert len(asked) == SETTINGS.rules.cannot_answers
    assert check_verdict(state, "p1", "storm", len(asked), now, SETTINGS) is State.CANNOT
    assert check_verdict(state, "p1", "storm", 0, now, SETTINGS) is State.CANNOT


def test_a_check_session_on_a_first_day_never_ends_with_can() -> None:
    state, asked, now = checked(True, [], 0.0)
    assert len(asked) == CHECK_MAX
    assert check_verdict(state, "p1", "storm", len(asked), now, SETTINGS) is State.NOT_PROVEN


def test_a_check_session_confirms_what_was_right_on_an_earlier_day() -> None:
    state, asked, now = checked(True, alternating([True] * 9), 2 * DAY_S)
    assert len(asked) < CHECK_MAX
    assert check_verdict(state, "p1", "storm", len(asked), now, SETTINGS) is State.CAN


@given(histories(max_size=20), st.lists(st.booleans(), min_size=CHECK_MAX, max_size=CHECK_MAX), st.integers(0, 999))
def test_a_check_session_takes_both_sides_and_never_the_same_picture(
    facts: list[AnswerFact], answers: list[bool], seed: int
) -> None:
    state, rng = after(facts), random.Random(seed)
    now = (state.last_at or 0.0) + 60.0
    asked: list[Asked] = []
    for right in answers:
        option = next_check_rep(state, "p1", "storm", options(), asked, now, SETTINGS, rng)
        if option is None:
            assert check_verdict(state, "p1", "storm", len(asked), now, SETTINGS) is not None
            break
        state.update(AnswerFact("p1", "storm", option.stage, option.side, 6, right, now))
        asked.append(Asked(option, right))
        sides = Counter(one.option.side for one in asked)
        assert abs(sides[LEFT] - sides[RIGHT]) <= 2
        assert len(asked) == 1 or min(sides[side] for side in SIDES) >= 1
    assert len({one.option.picture for one in asked}) == len(asked)


def test_a_check_session_asks_where_doubt_is_and_what_the_opponent_runs() -> None:
    facts = [fact(True, at=float(i), stage=i // 2 % 5 + 1, side=LEFT) for i in range(20)]
    first = next_check_rep(after(facts), "p1", "storm", options(), [], 50.0, SETTINGS, random.Random(1))
    assert first is not None
    assert first.side == RIGHT
    pulls = TeamSettings().with_opponent({3: 400})
    first = next_check_rep(after([]), "p1", "storm", options(), [], 50.0, pulls, random.Random(1))
    assert first is not None
    assert first.stage == 3


def test_a_rep_laid_out_in_advance_counts_as_asked() -> None:
    never = TeamSettings(rules=StateRules(can_at=2.0, cannot_at=-1.0))
    first = next_check_rep(after([]), "p1", "storm", options(), [], 0.0, never, random.Random(1))
    assert first is not None
    second = next_check_rep(
        after([]), "p1", "storm", options(), [Asked(first, right=True)], 0.0, never, random.Random(1)
    )
    assert second is not None
    assert (first.stage, second.stage) == (1, 2)
    assert {first.side, second.side} == set(SIDES)


@given(histories(max_size=20))
def test_a_check_session_laid_out_in_advance_spreads_over_sides_and_stages(facts: list[AnswerFact]) -> None:
    state = after(facts)
    never = TeamSettings(rules=StateRules(can_at=2.0, cannot_at=-1.0))
    asked: list[Asked] = []
    while len(asked) < CHECK_MAX:
        option = next_check_rep(
            state, "p1", "storm", options(guises=9), asked, state.last_at or 0.0, never, random.Random(len(asked))
        )
        assert option is not None
        asked.append(Asked(option, right=True))
    sides = Counter(one.option.side for one in asked)
    assert min(sides[side] for side in SIDES) >= 3
    assert max(Counter(one.option.cell for one in asked).values()) <= 2  # of ten questions, nine may be asked once
    assert len({one.option.stage for one in asked}) >= 3


def test_a_check_session_ends_undecided_at_nine() -> None:
    state = after([])
    assert check_verdict(state, "p1", "storm", CHECK_MAX - 1, 0.0, SETTINGS) is None
    assert check_verdict(state, "p1", "storm", CHECK_MAX, 0.0, SETTINGS) is State.NOT_PROVEN


def test_a_check_session_ends_when_no_picture_is_left() -> None:
    only = options(guises=1)[:1]
    assert (
        next_check_rep(after([]), "p1", "storm", only, [Asked(only[0], True)], 0.0, SETTINGS, random.Random(1)) is None
    )
    assert next_check_rep(after([]), "p1", "anvil", only, [], 0.0, SETTINGS, random.Random(1)) is None


def test_what_the_opponent_never_runs_is_still_asked_when_nothing_else_is_assigned() -> None:
    settings = TeamSettings(stage_mix={5: 1.0}, call_weights={"storm": 0.0, "anvil": 1.0})
    option = next_rep(after([]), "p1", options(), [], 0.0, settings, random.Random(1))
    assert option is not None
    assert option.stage == 1


def test_a_check_session_can_be_limited_to_taught_stages() -> None:
    settings = TeamSettings(taught=frozenset({1}))
    option = next_check_rep(
        after([]), "p1", "storm", options(), [], 0.0, settings, random.Random(1), opened_by_coach={1}
    )
    assert option is not None
    assert option.stage == 1
