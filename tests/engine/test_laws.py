"""The laws that hold for every snap, over generated defenses, formations and plays.

Each law is held to 1,000 solved snaps from a seed that changes with every run, and to some that Hypothesis draws and
can make small. What a law says is in tests/engine/laws.py. The long form, 10,000 snaps for every night:
`python -m tests.bench.laws 10000`.
"""

import os
import random
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache
from itertools import chain, count, permutations

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from quizgen.engine.report import situations as situations_of
from quizgen.engine.verdict import RunAnswer, solve
from quizgen.football.errors import FootballValueError, NoRule
from quizgen.football.formation import Formation, Role
from quizgen.football.pressure import CallGap, Path, RushPart
from quizgen.football.scheme import JOBS, Place, Scheme
from quizgen.football.sides import Letter, Toward
from quizgen.football.team import Situation
from tests.engine import laws
from tests.engine.generate import any_situation, random_situations, situations
from tests.engine.plays import PLAYS
from tests.harness.long_form import length
from tests.harness.seed import run_seed
from tests.page_solver.snaps import DEMO

pytestmark = pytest.mark.xdist_group("laws")  # one worker solves the pool for all of them
SEED = run_seed()
COUNT = int(os.environ.get("GAPSOUND_TEST_LAWS", "1000"))
SNAPS = COUNT * 5 // 3  # the rules cover about six in ten
ZONES = tuple(p for p in PLAYS if all(row.job in laws.ZONE_JOBS or row.optional for row in p.rows))
GAP_PLAYS = tuple(p for p in PLAYS if p.pulls)
OPTIONS = tuple(p for p in PLAYS if p.option)
STEADY = tuple(p for p in PLAYS if all(row.who[0].role is None or row.optional for row in p.rows) and not p.pulls)
PATHS = tuple(Path)
Law = Callable[[RunAnswer], list[str] | None]


def find_solved(s: Situation) -> RunAnswer | None:
    """The engine's answer, None where it has no rule."""
    try:
        return solve(s)
    except NoRule:
        return None


@cache
def snaps() -> tuple[Situation, ...]:
    """Enough snaps for ``COUNT`` that the rules cover."""
    return tuple(random_situations(SEED, SNAPS))


def draw(plays: tuple[Scheme, ...]) -> Iterator[RunAnswer]:
    """Solved snaps without end on the given plays, another play for each snap every time round."""
    for turn in count():
        for number, s in enumerate(snaps()):
            answer = find_solved(replace(s, play=plays[(number + turn) % len(plays)]))
            if answer is not None:
                yield answer


@cache
def pool() -> tuple[RunAnswer, ...]:
    """Solved snaps that several laws share, each on its own play."""
    return tuple(answer for s in snaps() if (answer := find_solved(s)))


def covered() -> Iterator[RunAnswer]:
    """The pool, and more on other plays where it does not reach."""
    return chain(pool(), draw(PLAYS))


def hold(law: Law, answers: Iterator[RunAnswer]) -> None:
    """Hold a law to ``COUNT`` snaps to which it applies."""
    held = 0
    for answer in answers:
        problems = law(answer)
        assert not problems, f"seed {SEED}, after {held} snaps: {problems}\n{answer.situation}"
        held += problems is not None
        if held == COUNT:
            break
    print(f"seed {SEED}: {law.__name__} held for {held} snaps")
    assert held == COUNT


def all_stay(answer: RunAnswer) -> RunAnswer | None:
    """The same snap with every man told to stay; None where nobody then stands where the dive hits."""
    return find_solved(replace(answer.situation, rules=answer.situation.rules.all_stay))


def one_more_law(answer: RunAnswer) -> list[str] | None:
    """See laws; None where the engine refuses the snap with one man more."""
    try:
        return laws.one_more_law(answer)
    except NoRule:
        return None


def one_more_steady(answer: RunAnswer) -> list[str] | None:
    """The same law on a play that asks for no particular man on the line."""
    steady = find_solved(replace(answer.situation, play=STEADY[len(answer.lanes) % len(STEADY)]))
    return one_more_law(steady) if steady else None


def new_names(answer: RunAnswer) -> list[str]:
    """See laws; the new names come from the same seed every time."""
    return laws.names_law(answer, SEED)


@pytest.mark.slow
def test_law_1_mirror() -> None:
    hold(laws.mirror_law, covered())


@pytest.mark.slow
def test_law_2_one_lane_more_than_blockers() -> None:
    hold(laws.lane_count_law, covered())


@pytest.mark.slow
def test_law_3_soundness_is_a_matching() -> None:
    hold(laws.soundness_law, covered())


@pytest.mark.parametrize("plays", [ZONES, GAP_PLAYS], ids=["zone flow", "pullers"])
@pytest.mark.slow
def test_law_4_no_blocker_lost_or_made(plays: tuple[Scheme, ...]) -> None:
    hold(laws.blockers_law, draw(plays))


@pytest.mark.slow
def test_law_5_nobody_crosses_the_center_when_told_to_stay() -> None:
    hold(laws.center_law, (stay for answer in covered() if (stay := all_stay(answer))))


@pytest.mark.slow
def test_law_6_one_blocker_more_is_one_lane_more() -> None:
    hold(one_more_law, draw(STEADY))


@pytest.mark.slow
def test_law_7_each_phase_has_one_owner() -> None:
    hold(laws.phases_law, draw(OPTIONS))


@pytest.mark.slow
def test_law_9_nobody_is_sent_across_a_teammate() -> None:
    hold(laws.ways_law, draw(OPTIONS))


@pytest.mark.slow
def test_law_9_support_never_crosses() -> None:
    hold(laws.support_ways_law, iter(pool()))


@pytest.mark.slow
def test_law_10_one_blocker_one_man_and_none_for_the_man_read() -> None:
    hold(laws.one_blocker_law, draw(OPTIONS))


@pytest.mark.slow
def test_law_11_nobody_is_idle_beside_an_open_lane() -> None:
    hold(laws.idle_law, covered())


@pytest.mark.slow
def test_law_12_one_man_has_one_answer() -> None:
    hold(laws.one_answer_law, draw(OPTIONS))


@pytest.mark.slow
def test_law_13_the_dives_owner_is_where_it_hits() -> None:
    hold(laws.dive_law, draw(OPTIONS))


@pytest.mark.slow
def test_law_14_beaten_he_is_never_in_the_lane_he_lost() -> None:
    hold(laws.beaten_law, iter(pool()))


@pytest.mark.slow
def test_a_hinge_moves_no_boundary_far_and_washes_nobody() -> None:
    hold(laws.hinge_law, draw(GAP_PLAYS))


@pytest.mark.slow
def test_law_8_neither_names_nor_order_matter() -> None:
    hold(new_names, covered())


SIX_GAPS = tuple(CallGap(toward, letter) for toward in Toward for letter in (Letter.A, Letter.B, Letter.C))
SIX_ORDERS = tuple(permutations(range(6)))
IN_LINE = tuple(p for p in STEADY if all(JOBS[row.job].place is Place.LINE for row in p.rows) and not p.option)
FIVE = (Role.CENTER, Role.GUARD, Role.TACKLE)


def six_man_pressures() -> Iterator[Situation]:
    """Six rushers, a gap each, in any order and by any path, against five linemen on plays in which nobody pulls and
    nobody arrives."""
    choose = random.Random(SEED).choice
    while True:
        try:
            s = any_situation(choose)
            players = tuple(p for p in s.formation.players if not p.attached or p.role in FIVE)
            formation = Formation("five", players, s.formation.rule_book)
        except FootballValueError:
            continue
        if len(s.pressure.rushes) != len(SIX_GAPS):
            continue
        order = choose(SIX_ORDERS)
        rushes = tuple(
            replace(
                rush, gap=SIX_GAPS[k], part=choose((RushPart.GAP, RushPart.EDGE)), second_gap=None, path=choose(PATHS)
            )
            for rush, k in zip(s.pressure.rushes, order, strict=True)
        )
        pressure = replace(s.pressure, rushes=rushes, exchanges=())
        yield replace(s, formation=formation, play=choose(IN_LINE), pressure=pressure)


def owns_six(answer: RunAnswer) -> list[str]:
    """Six lanes, each with exactly one of the six rushers."""
    owned = sorted(i for fit in answer.fits if fit.man.rush for i in fit.lanes)
    return [] if owned == list(range(6)) == list(range(len(answer.lanes))) else [f"the rushers own {owned}"]


@pytest.mark.slow
def test_law_6_six_rushers_own_six_gaps() -> None:
    hold(owns_six, (answer for s in six_man_pressures() if (answer := find_solved(s))))


def center_when_all_stay(answer: RunAnswer) -> list[str] | None:
    """The law about the center on the same snap with every man told to stay."""
    stay = all_stay(answer)
    return laws.center_law(stay) if stay else None


SMALL = (
    laws.mirror_law,
    laws.lane_count_law,
    laws.soundness_law,
    laws.blockers_law,
    center_when_all_stay,
    one_more_steady,
    laws.phases_law,
    laws.ways_law,
    laws.support_ways_law,
    laws.one_blocker_law,
    laws.beaten_law,
    laws.hinge_law,
    laws.idle_law,
    laws.one_answer_law,
    laws.dive_law,
    new_names,
)


@settings(max_examples=length(40, 100), suppress_health_check=[HealthCheck.large_base_example, HealthCheck.too_slow])
@given(s=situations())
def test_laws_on_snaps_that_shrink(s: Situation) -> None:
    """All laws on the same snaps: to draw one takes far longer than to hold it to a law."""
    answer = find_solved(s)
    assume(answer is not None)
    assert {law.__name__: problems for law in SMALL if (problems := law(answer))} == {}


@settings(max_examples=100, deadline=None)
@given(s=st.sampled_from(tuple(situations_of(DEMO))))
def test_laws_on_the_demo(s: Situation) -> None:
    """The same laws on the demo team's table."""
    answer = find_solved(s)
    assume(answer is not None)
    assert {law.__name__: problems for law in SMALL if (problems := law(answer))} == {}
