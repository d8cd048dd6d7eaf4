"""The demo team holds what a coach should find in it, and its calls are gap sound where they are built to be.

Expected owners are worked out by hand from the calls; nothing here is copied from the engine.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import product

import pytest

from quizgen.engine.against import by_call, find_accepted, weigh
from quizgen.engine.alignment import line_up_call
from quizgen.engine.crossing import crossings
from quizgen.engine.protection import on_release, solve_pass
from quizgen.engine.report import situations
from quizgen.engine.shared_work import SharedWork
from quizgen.engine.verdict import RunAnswer, solve
from quizgen.football.calling import call_sides
from quizgen.football.coverage import COVERAGES
from quizgen.football.errors import CannotRun
from quizgen.football.formation import Formation, Role
from quizgen.football.pressure import Path, Pressure, RushPart
from quizgen.football.scheme import SchemeFamily, Slide
from quizgen.football.sides import Side
from quizgen.football.team import Situation, TeamBook, pass_situation, situation


def test_it_is_a_whole_team(demo: TeamBook) -> None:
    assert len(demo.roster) == 40
    assert len({entry.number for entry in demo.roster}) == 40
    manned = {position for entry in demo.roster for position in entry.positions}
    assert manned == {position.name for position in demo.positions}
    assert demo.words.gaps["A"] == "Ash"
    assert {front.down_count for front in demo.fronts} >= {3, 4}
    assert len(demo.fronts) >= 3
    assert len(demo.pressures) >= 10
    assert {len(call.rushes) for call in demo.pressures} == {3, 4, 5, 6}
    assert len([one for one in demo.formations if one.mirror_name]) >= 8
    assert len(demo.schemes) >= 20
    assert {scheme.family for scheme in demo.schemes} == set(SchemeFamily)
    assert {one.slide for one in demo.protections} == set(Slide)


def test_its_calls_use_every_coverage_and_every_path(demo: TeamBook) -> None:
    assert {call.coverage.name for call in demo.pressures} >= set(COVERAGES)
    rushes = [rush for call in demo.pressures for rush in call.rushes]
    assert {rush.path for rush in rushes} == set(Path)
    assert {rush.part for rush in rushes} == set(RushPart)
    assert any(call.conceded for call in demo.pressures)
    assert any(call.exchanges for call in demo.pressures)
    assert any(call.peel for call in demo.pressures)


def kinds_of(formation: Formation) -> set[str]:
    roles = [man.role for man in formation.players]
    attached = [man.role for man in formation.surface]
    backs = roles.count(Role.TAILBACK) + roles.count(Role.FULLBACK)
    kinds = {f"{backs} backs", f"{attached.count(Role.END)} ends"}
    if Role.WING in attached:
        kinds.add("wing")
    if attached.count(Role.TACKLE) > 2:
        kinds.add("unbalanced")
    return kinds


def test_its_formations_cover_what_opponents_line_up_in(demo: TeamBook) -> None:
    found = set().union(*(kinds_of(formation) for formation in demo.formations))
    assert found >= {"0 backs", "1 backs", "2 backs", "0 ends", "1 ends", "2 ends", "wing", "unbalanced"}


def test_every_twin_is_the_other_turned_round(demo: TeamBook) -> None:
    for one in demo.formations:
        twin = demo.formation(one.mirror_name)
        assert [(p.role, p.x, p.y) for p in twin.mirrored.players] == [(p.role, p.x, p.y) for p in one.players]


NO_END = ("Open I right", "Open I left", "Gun spread right", "Gun spread left")
SIX_MAN = ("Moraine", "Esker", "Serac", "Arete")


def gaps_against_five(call: Pressure) -> list[str]:
    """The gaps of a call's rushers when there are five linemen: beyond B there is only the outermost gap."""
    found = []
    for rush in call.rushes:
        letter = rush.gap.letter.value if rush.gap.letter and rush.gap.letter.value in "AB" else "edge"
        found.append(f"{rush.gap.toward.value} {letter}")
    return sorted(found)


@pytest.mark.parametrize("name", SIX_MAN)
def test_six_rushers_have_the_six_gaps_of_five_linemen(demo: TeamBook, name: str) -> None:
    assert gaps_against_five(demo.pressure(name)) == ["away A", "away B", "away edge", "to A", "to B", "to edge"]


def test_every_call_is_sound_against_plain_runs_without_a_tight_end(demo: TeamBook) -> None:
    """By construction: rushers and filling backers own the six gaps of five linemen, or the call concedes one."""
    for call, formation, play, to, play_to in product(demo.pressures, NO_END, ("Inside zone", "Base"), Side, Side):
        if to not in call_sides(call, demo.formation(formation)):
            continue
        answer = solve(situation(demo, call.name, to, formation, play, play_to))
        assert answer.sound, (call.name, to, formation, play, play_to)


def owners(demo: TeamBook, call: str, to: Side, formation: str, play: str, play_to: Side) -> dict[str, list[str]]:
    answer = solve(situation(demo, call, to, formation, play, play_to))
    return {lane.name: [fit.man.position for fit in answer.owners(i)] for i, lane in enumerate(answer.lanes)}


def test_moraine_second_man_goes_over_the_top_when_the_guard_on_the_call_side_pulls_away(demo: TeamBook) -> None:
    """Called to the left; our left guard pulls across and kicks on our right. Mike (first, in A) rides his hip; Will
    (second, in B) goes over the top and takes the lane inside the kick, which nobody has; Rake boxes the kick."""
    assert owners(demo, "Moraine", Side.LEFT, "Open I right", "Guard kick", Side.RIGHT) == {
        "left C": ["Pick"],
        "left A/B": ["Mike"],
        "right A": ["Nose"],
        "right B": ["Tamp"],
        "right C inside the kick": ["Will"],
        "right C outside the kick": ["Rake"],
    }


def test_moraine_needs_its_force_man_when_the_guard_comes_to_the_call(demo: TeamBook) -> None:
    """Called to the left, guard pulling from our right to our left: Nose and Tamp are both left in one merged lane.
    Pick boxes the kick, so Sam, who is force, comes inside him."""
    found = owners(demo, "Moraine", Side.LEFT, "Open I right", "Guard kick", Side.LEFT)
    assert found["right A/B"] == ["Tamp", "Nose"] or found["right A/B"] == ["Nose", "Tamp"]
    assert found["left C inside the kick"] == ["Sam"]


def test_moraine_mike_hits_a_first_and_will_comes_behind_him(demo: TeamBook) -> None:
    call = demo.pressures[0]
    assert call.name == "Moraine"
    for to, formation in product(Side, demo.formations):
        men = line_up_call(demo.rules, demo.positions, demo.front(call.front), call, to, formation)
        (crossing,) = crossings(men, formation, demo.rules.timing)
        assert (crossing.first, crossing.second, crossing.works) == ("Mike", "Will", True)


def test_no_call_makes_its_rushers_collide(demo: TeamBook) -> None:
    for call, to, formation in product(demo.pressures, Side, demo.formations):
        men = line_up_call(demo.rules, demo.positions, demo.front(call.front), call, to, formation)
        assert [c.sentence for c in crossings(men, formation, demo.rules.timing) if not c.works] == []


def test_varve_spills_power_to_the_force_man(demo: TeamBook) -> None:
    """Two backs, tight end on our right, power to our left: the end spills inside the kick, Mike (whose guard pulled)
    goes over the top inside the wrap, force has the bounce."""
    found = owners(demo, "Varve", Side.RIGHT, "Tight I right", "Power", Side.LEFT)
    assert found["left C between the wrap and the kick"] == ["Rake"]
    assert found["left C inside the wrap"] == ["Mike"]
    assert found["left C outside the kick"] == ["Kite"]


# What the staff asks of a call: of a hundred snaps of the next opponent, and of the whole table.
OF_HIS_SNAPS = 85
OF_THE_TABLE = 70


@pytest.fixture(scope="module")
def shared_work() -> SharedWork:
    """Line-ups and surfaces for all tests of figures, since every call meets the same offenses."""
    return SharedWork()


def solved(wanted: Iterable[Situation], shared: SharedWork) -> list[RunAnswer]:
    """The answers, but for formations that lack a man the play needs; NoRule is raised."""
    found = []
    for one in wanted:
        try:
            found.append(solve(one, shared))
        except CannotRun:
            continue
    return found


CALLS = (
    "Moraine",
    "Esker",
    "Drumlin",
    "Scree",
    "Kettle",
    "Cirque",
    "Kame",
    "Serac",
    "Arete",
    "Varve",
    "Erratic",
    "Tarn",
)


@pytest.mark.parametrize("name", CALLS)
def test_a_call_is_sound_on_85_of_a_hundred_snaps_of_the_next_opponent(
    demo: TeamBook, shared_work: SharedWork, name: str
) -> None:
    """His list is a hundred without the passes; what the staff accepts is short all the same."""
    opponent = demo.opponent("Pine Hollow")
    his = {run.play for run in opponent.runs}
    wanted = (one for one in situations(demo, call=name) if one.play.name in his)
    rows, left = weigh(solved(wanted, shared_work), opponent, demo.accepted)
    assert [run.play for run in left] == ["Six-man slide"]
    [call] = by_call(rows)
    assert call.call == name
    assert sum(row.weight for row in rows) == pytest.approx(100)
    assert call.sound >= OF_HIS_SNAPS, call.short


@pytest.mark.parametrize("name", CALLS)
def test_a_call_is_sound_on_70_of_a_hundred_situations_of_the_table(
    demo: TeamBook, shared_work: SharedWork, name: str
) -> None:
    """Only as called to the right: every formation has a twin, so the calls to the left are the same turned round."""
    wanted = (one for one in situations(demo, call=name) if one.called[1] is Side.RIGHT)
    answers = solved(wanted, shared_work)
    assert len(answers) > 300
    assert 100 * sum(answer.sound for answer in answers) / len(answers) >= OF_THE_TABLE


def test_what_the_staff_accepts_is_still_short(demo: TeamBook, shared_work: SharedWork) -> None:
    """A row that no situation needs any more is taken out of the file."""
    for lack in demo.accepted:
        answers = solved(situations(demo, call=lack.call, play=lack.play), shared_work)
        assert any(find_accepted((lack,), answer) for answer in answers), lack


def test_every_pass_of_the_demo_has_an_answer_and_somebody_for_the_back(demo: TeamBook) -> None:
    solved = 0
    for call, one, formation in product(demo.pressures, demo.protections, demo.formations[::2]):
        to = call_sides(call, formation)[-1]
        try:
            answer = solve_pass(pass_situation(demo, call.name, to, formation.name, one.name, Side.LEFT))
        except CannotRun:
            continue
        solved += 1
        for man, side in product(formation.players, Side):
            if man.role in (Role.TAILBACK, Role.FULLBACK):
                takers = [r for r in on_release(answer, man, side).values() if r.value == "take the back"]
                assert len(takers) == 1, (call.name, one.name, formation.name)
    assert solved > 400
