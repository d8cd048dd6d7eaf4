"""Where wrong answers go: what counts as a confusion, what it is compared with, and how sure it is."""

from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom, false_discovery_control

from server.mastery.confusions import Answered, Certainty, Confusion, Scope, confusions, false_shares, tail
from server.mastery.values import LEFT, AnswerFact

WRONG = ("A", "C", "D", "strong A", "strong C")


def miss(player: str, chosen: str, *, call: str = "storm", relation: str = "", position: str = "Mike") -> AnswerFact:
    return AnswerFact(player, call, 2, LEFT, 6, chosen == "B", 1.0, chosen, "B", relation, position)


def team_spread(players: int = 20) -> list[AnswerFact]:
    """Each player chooses each wrong gap once, every time on a different call."""
    return [
        miss(f"t{i}", chosen, call=f"call {i}.{j}", position="other")
        for i in range(players)
        for j, chosen in enumerate(WRONG)
    ]


def of(found: list[Confusion], scope: Scope, who: str) -> list[Confusion]:
    return [c for c in found if c.scope is scope and c.who == who]


def test_a_habit_is_confirmed_with_its_counts() -> None:
    facts = [*team_spread(), *[miss("p1", "A")] * 5, miss("p1", "C"), miss("p1", "B")]
    (found,) = of(confusions(facts), Scope.PLAYER_CALL, "p1")
    assert found.certainty is Certainty.CONFIRMED
    assert (found.chosen, found.right_answer, found.count, found.misses, found.answered) == ("A", "B", 5, 6, 7)
    assert found.expected == pytest.approx((20 + 1) / (100 + 5))
    assert found.p_value == pytest.approx(5 * binom.sf(4, 6, 0.2))


def test_a_mistake_that_the_whole_team_makes_is_not_his() -> None:
    team = [miss(f"t{i}", "A", call=f"call {i}", position="other") for i in range(60)]
    facts = [*team, *[miss("p1", "A")] * 4, miss("p1", "C")]
    assert of(confusions(facts), Scope.PLAYER_CALL, "p1") == []


def test_his_own_misses_do_not_count_as_the_teams() -> None:
    facts = [*team_spread(4), *[miss("p1", "A", call=f"c{i}") for i in range(9) for _ in range(5)]]
    assert all(c.expected == pytest.approx(5 / 25) for c in of(confusions(facts), Scope.PLAYER_CALL, "p1"))


def test_three_of_three_is_only_possible_even_if_rare_and_four_can_be_confirmed() -> None:
    rare = [miss(f"t{i}", "C", call=f"call {i}", position="other") for i in range(300)]
    (found,) = of(confusions([*rare, *[miss("p1", "A")] * 3]), Scope.PLAYER_CALL, "p1")
    assert found.p_value < 1e-4
    assert (found.certainty, found.count, found.misses, found.false_share) == (Certainty.POSSIBLE, 3, 3, 1.0)
    (found,) = of(confusions([*rare, *[miss("p1", "A")] * 4]), Scope.PLAYER_CALL, "p1")
    assert found.certainty is Certainty.CONFIRMED


def test_three_of_three_elsewhere_change_no_verdict() -> None:
    habit = [*team_spread(), *[miss("p1", "A")] * 5, miss("p1", "C")]
    threes = [miss(f"n{i}", "strong C", call=f"n {i}", position="") for i in range(9) for _ in range(3)]
    alone = of(confusions(habit), Scope.PLAYER_CALL, "p1")[0]
    with_threes = of(confusions([*habit, *threes]), Scope.PLAYER_CALL, "p1")[0]
    assert with_threes.false_share <= alone.p_value * 1.5
    assert len(of(confusions([*habit, *threes]), Scope.PLAYER_CALL, "n1")) == 1


def test_two_are_never_a_confusion() -> None:
    assert confusions([*team_spread(), *[miss("p1", "A")] * 2]) == []


def test_pooled_by_relation_over_calls() -> None:
    others = [
        miss(f"t{i}", c, relation=r, call=f"call {i}", position="")
        for i in range(20)
        for c, r in (("A", "gap inside"), ("C", "gap outside"), ("strong B", "same gap, wrong side"))
    ]
    his = [miss("p1", "A", relation="gap inside", call=f"c{i}", position="") for i in range(7)]
    found = confusions([*others, *his])
    (one,) = of(found, Scope.PLAYER_RELATION, "p1")
    assert one.certainty is Certainty.CONFIRMED
    assert (one.chosen, one.count, one.misses) == ("gap inside", 7, 7)
    assert of(found, Scope.PLAYER_CALL, "p1") == []


def test_pooled_by_position_and_call() -> None:
    facts = [*team_spread(), *[miss(f"m{i}", "A", position="Mike") for i in range(7)]]
    (found,) = of(confusions(facts), Scope.POSITION_CALL, "Mike")
    assert found.certainty is Certainty.CONFIRMED
    assert (found.count, found.misses, found.people) == (7, 7, 7)
    assert of(confusions(facts), Scope.PLAYER_CALL, "m1") == []


def test_answers_without_what_was_chosen_are_left_out() -> None:
    assert confusions([AnswerFact("p1", "storm", 1, LEFT, 6, False, 0.0)] * 9) == []


def test_order_of_answers_does_not_matter() -> None:
    facts = [*team_spread(), *[miss("p1", "A")] * 5, *[miss("p2", "C")] * 4]
    assert confusions(facts) == confusions(facts[::-1])


def test_tail_never_passes_one() -> None:
    assert tail(3, 3, 1.0, 6) == 1.0


@given(st.lists(st.tuples(*(st.integers(0, 3) for _ in range(6))), max_size=120))
def test_wrong_answers_and_counts_of_all_answers_are_enough(rows: list[tuple[int, ...]]) -> None:
    answers = [
        AnswerFact(
            f"player {p}", f"call {c}", 1, LEFT, 4, chosen == right, float(at),
            chosen="ABCD"[chosen], right_answer="ABCD"[right], relation=f"way {abs(chosen - right)}",
            position=f"position {p % 2}",
        )
        for at, (p, c, right, chosen, _, _) in enumerate(rows)
    ]  # fmt: skip
    counts = Counter((a.player, a.position, a.call, a.right_answer) for a in answers)
    asked = [Answered(*what, count) for what, count in counts.items()]
    assert confusions([a for a in answers if not a.right], asked) == confusions(answers)


@given(st.lists(st.floats(1e-300, 1), max_size=30))
def test_shares_of_false_findings_are_those_of_scipy(p_values: list[float]) -> None:
    """source: SciPy, scipy.stats.false_discovery_control, method "bh"."""
    expected = false_discovery_control(p_values, method="bh") if p_values else []
    assert false_shares(p_values) == pytest.approx(list(expected), rel=1e-12)
