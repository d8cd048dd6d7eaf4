"""The page solver against the page's own worked example, its laws, and published facts."""

from __future__ import annotations

import pytest

from quizgen.engine.report import situations
from quizgen.football.pressure import RunJob
from quizgen.football.scheme import Phase, ReadMan
from quizgen.football.sides import Side
from quizgen.football.team import Situation
from tests.page_solver import block_rows, count_rows, option_rows
from tests.page_solver.lanes import aim_lane
from tests.page_solver.placing import NoAnswer
from tests.page_solver.row import FIVE, FIVE_GUN, Row
from tests.page_solver.snaps import DEMO, offense, play, snap
from tests.page_solver.support import may_take
from tests.page_solver.timing import CANNOT, arrival_word
from tests.page_solver.verdict import Answer, solve

EVERY = 5
ROWS = (*block_rows.ROWS, *count_rows.ROWS, *option_rows.ROWS)


def holds(line: str, answer: Answer) -> bool:
    """Whether one expectation of a row holds (see the head of ``row``)."""
    words = line.split()
    if words == ["sound"]:
        return answer.sound
    if words[0] == "open":
        return len(answer.open) == int(words[1])
    if words[0] == "lanes":
        return sum(1 for lane in answer.lanes if lane.side and lane.side.value == words[1]) == int(words[2])
    if words[0] == "parts":
        name = f"{words[1]} {words[2]}"
        named = [lane for lane in answer.lanes if name in lane.name]
        return len(named) == int(words[3])
    man = next(one for one in answer.men if line.startswith(f"{one.position} "))
    fit, rest = answer.fit(man.position), line.removeprefix(f"{man.position} ")
    plain = {"is read": fit.is_read, "on the hip": fit.on_the_hip, "over the top": fit.over_the_top}
    if rest in plain:
        return plain[rest]
    what, value = rest.split(" ", 1)
    found = {
        "lane": fit.lane or "none",
        "side": fit.side or "none",
        "threat": " + ".join(fit.threat) or "nobody",
        "lost": fit.lost_to or "nowhere",
        "phase": fit.phase or "none",
        "owns": ", ".join(answer.lanes[index].name for index in man.lanes),
    }
    return found[what] == value


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.key)
def test_a_published_fact_holds(row: Row) -> None:
    answer = solve(
        snap(
            row.defenders,
            row.formation,
            row.scheme,
            row.play_to,
            rules=row.rules,
            exchanges=row.exchanges,
            concede=row.concede,
        )
    )
    failed = [line for line in row.expected.splitlines() if not holds(line, answer)]
    assert not failed, (row.source, failed, answer.fits)


def lane_left_edge(scheme: str, lane: str) -> float:
    """Where a lane begins on its inner side, for a 3-tech and a 5-tech on the right and a run to the right."""
    defenders = "Tackle, 3 right, rush right B\nEnd, 5 right, edge right C"
    answer = solve(snap(defenders, FIVE_GUN, play(scheme), Side.RIGHT))
    return next(one.x_from for one in answer.lanes if one.name == lane)


def test_a_gap_moves_with_the_near_shoulder_of_the_blocker() -> None:
    # source: American Football Monthly 5590, learning to read blocks (outside row F5).
    assert lane_left_edge("Guard kick", "right B") < lane_left_edge("Base", "right B")
    assert lane_left_edge("Outside zone", "right C") > lane_left_edge("Base", "right C")


def test_the_count_of_the_worked_example() -> None:
    # source: the design page, section 5: five linemen, the left guard pulls and kicks to our right.
    answer = solve(snap("End, 5 right, edge right C", FIVE, play("Guard kick"), Side.RIGHT))
    assert [lane.name for lane in answer.lanes] == [
        "left C",
        "left A/B",
        "right A",
        "right B",
        "right C inside the kick",
        "right C outside the kick",
    ]
    assert (answer.frontside[0], answer.backside[0]) == (4, 2)


def test_an_attached_blocker_adds_exactly_one_lane() -> None:
    # source: the design page, section 8, law 6.
    line = "Nose, 0, rush right A"
    counts = [len(solve(snap(line, offense("GT", right), play("Base"), Side.RIGHT)).lanes) for right in ("GT", "GTE")]
    assert counts == [6, 7]


def test_six_in_six_gaps_own_everything_without_a_puller() -> None:
    # source: the design page, section 8, law 6.
    row = next(one for one in ROWS if one.key == "W24")
    for scheme in ("Inside zone", "Outside zone", "Base", "Draw"):
        answer = solve(snap(row.defenders, FIVE_GUN, play(scheme), Side.RIGHT))
        assert [len(owners) for owners in answer.owners] == [1] * 6, scheme


def demo_snaps() -> list[tuple[Situation, Answer]]:
    """The demo team's table, every seventh snap of it: the page's formations, calls, runs and sides all come up."""
    found = []
    for one in list(situations(DEMO))[::7]:
        try:
            found.append((one, solve(one)))
        except NoAnswer:
            continue
    return found


@pytest.fixture(scope="module")
def demo() -> list[tuple[Situation, Answer]]:
    """Solved once for all laws."""
    return demo_snaps()


def words(one: Situation) -> str:
    """The snap in words."""
    names = (one.pressure.name, one.to.value, one.formation.name, one.play.name, one.play_to.value)
    return ", ".join(names)


def test_enough_of_the_table_is_answered(demo: list[tuple[Situation, Answer]]) -> None:
    seen = {one.play.name for one, _ in demo}
    assert seen == {scheme.name for scheme in DEMO.schemes}


def test_lanes_are_blockers_at_the_surface_and_one(demo: list[tuple[Situation, Answer]]) -> None:
    # source: the design page, section 8, law 2.
    for one, answer in demo:
        assert len(answer.lanes) == len(answer.blockers) + 1, words(one)
        assert len(one.formation.gaps) == len(one.formation.surface) + 1, words(one)


def test_nobody_is_sent_across_a_teammate(demo: list[tuple[Situation, Answer]]) -> None:
    """Rushers keep the order of their gaps unless they go over the top; support never crosses support."""
    # source: the design page, section 8, law 9.
    for one, answer in demo:
        rushers = [man for man in answer.men if man.rush and len(man.lanes) == 1 and not man.over_the_top]
        for first in rushers:
            for second in rushers:
                if first.gaps[0] < second.gaps[0] and not (first.is_read or second.is_read):
                    assert first.lanes[0] <= second.lanes[0], words(one)
        support = [man for man in answer.men if man.supports]
        for first in support:
            for second in support:
                assert (first.x - second.x) * (first.lanes[0] - second.lanes[0]) >= 0, words(one)


def test_a_read_man_trades_only_with_a_neighbour(demo: list[tuple[Situation, Answer]]) -> None:
    """Between the lane he had and the lane he has, no teammate owns one."""
    # source: the design page, section 8, law 9, and section 6, options.
    traded = 0
    for one, answer in demo:
        read = next((man for man in answer.men if man.traded_with), None)
        if read is None:
            continue
        traded += 1
        had = next(lane.index for lane in answer.lanes if read.gaps[0] in lane.gaps)
        between = range(min(had, read.lanes[0]) + 1, max(had, read.lanes[0]))
        assert not any(lane in between for man in answer.men for lane in man.lanes), words(one)
    assert traded > 20


def test_one_blocker_threatens_one_man_and_nobody_the_read_man(demo: list[tuple[Situation, Answer]]) -> None:
    # source: the design page, section 8, law 10.
    for one, answer in demo:
        hit = [threat.blocker.man.key for threats in answer.threats.values() for threat in threats]
        assert len(hit) == len(set(hit)), words(one)
        assert not any(answer.threats[man.position] for man in answer.men if man.is_read), words(one)


def test_nobody_is_idle_beside_an_open_lane(demo: list[tuple[Situation, Answer]]) -> None:
    """Unless two men of support would have to cross (a question to the page)."""
    # source: the design page, section 8, law 11.
    for one, answer in demo:
        exempt = {*answer.conceded, answer.scraper_left}
        opened = [lane for lane in answer.lanes if lane.name in answer.open and lane.name not in exempt]
        idle = [man for man in answer.men if not man.lanes and man.phase is None and man.run_job is not RunJob.COVER]
        placed = [man for man in answer.men if man.supports]
        for lane in opened:
            for man in idle:
                if not may_take(one, man, lane, set()) or would_cross(man.x, lane.index, placed):
                    continue
                assert arrival_word(one, man, lane, list(answer.lanes)) == CANNOT, (words(one), man.position, lane.name)


def would_cross(x: float, lane: int, placed: list) -> bool:
    """Whether a man from ``x`` in that lane would cross a man of support."""
    return any((x - other.x) * (lane - other.lanes[0]) < 0 for other in placed)


def test_one_lane_and_one_phase_a_man(demo: list[tuple[Situation, Answer]]) -> None:
    """His row, the table of owners and the list of phases say the same."""
    # source: the design page, section 8, laws 7 and 12.
    for one, answer in demo:
        for man in answer.men:
            fit = answer.fit(man.position)
            owned = [index for index, owners in enumerate(answer.owners) if man.position in owners]
            assert owned == (sorted(man.lanes) if fit.arrival != CANNOT else []), words(one)
            assert fit.lane_index in (man.lanes or [None]), words(one)
        phases = [fit.phase for fit in answer.fits if fit.phase]
        wanted = [phase.value for phase in one.play.option.phases] if one.play.option else []
        assert sorted(phases) == sorted(wanted), words(one)


def test_the_owner_of_the_dive_stands_where_it_hits(demo: list[tuple[Situation, Answer]]) -> None:
    """Except a man read on the back side, who closes on it from where he is."""
    # source: the design page, section 8, law 13.
    seen = 0
    for one, answer in demo:
        for man in answer.men:
            option = one.play.option
            if man.phase == Phase.DIVE.value and not (man.is_read and option and option.read is ReadMan.BACK_EDGE):
                seen += 1
                aim = aim_lane(one, list(answer.lanes)).index
                assert {aim, aim + one.play_to.sign} & set(man.lanes), words(one)
    assert seen > 50


def test_beaten_he_is_never_in_the_lane_that_he_lost(demo: list[tuple[Situation, Answer]]) -> None:
    # source: the design page, section 8, law 14.
    for one, answer in demo:
        for fit in answer.fits:
            assert fit.lost_to_index is None or fit.lost_to_index != fit.lane_index, words(one)


def test_left_and_right_are_alike(demo: list[tuple[Situation, Answer]]) -> None:
    # source: the design page, section 8, law 1. Corners trade jobs, so they are compared by their row of the call.
    for one, answer in demo[::EVERY]:
        turned = Situation(
            one.rules,
            one.positions,
            one.front,
            one.pressure,
            one.to.other,
            one.formation.mirrored,
            one.play,
            one.play_to.other,
        )
        mirrored = solve(turned)
        last = len(answer.lanes) - 1
        there = {man.row: (sorted(last - lane for lane in man.lanes), man.phase) for man in mirrored.men}
        here = {man.row: (sorted(man.lanes), man.phase) for man in answer.men}
        assert here == there, words(one)
