"""How far the engine and the page solver, written from the design page alone, agree on the demo team's table.

Run: python -m tests.bench.page_agreement [N] [--random], for N situations of the table drawn at random (all without N),
or for N generated snaps that belong to no team. For each field it prints in how many situations the two agree, and the
first twenty kinds of disagreement with an example each. The suite holds a sample to it
(tests/page_solver/test_agreement.py). It asks the engine only through the functions behind the command line, for passes
through the command line itself.
"""

from __future__ import annotations

import argparse
import json
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from random import Random
from typing import Any

from typer.testing import CliRunner

from quizgen.content import load_team_dir
from quizgen.engine.report import check_situations, fit_report, situations
from quizgen.football.calling import call_sides
from quizgen.football.errors import NoRule
from quizgen.football.sides import Side
from quizgen.football.team import Situation, TeamBook, pass_situation
from server.commands.football import demo_team_dir
from server.commands.main import app
from tests.engine.generate import random_situations
from tests.page_solver.placing import NoAnswer
from tests.page_solver.protection import solve_pass
from tests.page_solver.verdict import Answer, Fit, solve

FIELDS = ("answered", "lanes", "x", "owners", "threat", "lost_to", "phase", "arrival", "sound", "free")
MOST_KINDS = 20
SEED = 11
PASSES = 60
RANDOM = 2_000


@dataclass
class Tally:
    """Counts for one field: situations that agree, and the disagreements by kind with an example of each."""

    compared: int = 0
    agreed: int = 0
    kinds: Counter[str] = field(default_factory=Counter)
    examples: dict[str, str] = field(default_factory=dict)

    def add(self, where: str, differences: list[str]) -> None:
        self.compared += 1
        self.agreed += not differences
        for kind in differences:
            self.kinds[kind] += 1
            self.examples.setdefault(kind, where)


def engine_answer(situation: Situation) -> dict[str, Any] | None:
    """The engine's report on one snap; None where it refuses."""
    try:
        return next((fit_report(answer) for answer in check_situations([situation])), None)
    except NoRule:
        return None


def page_answer(situation: Situation) -> Answer | str:
    """The page solver's answer, or why it has none."""
    try:
        return solve(situation)
    except NoAnswer as why:
        return str(why)


def where_is(situation: Situation) -> str:
    """The situation in words, for an example."""
    one = situation
    return f"{one.pressure.name} to {one.to.value}, {one.formation.name}, {one.play.name} to {one.play_to.value}"


def compare(situation: Situation, tallies: dict[str, Tally]) -> None:
    """Add one situation to the counts."""
    engine, page = engine_answer(situation), page_answer(situation)
    where = where_is(situation)
    if engine is None or isinstance(page, str):
        kind = []
        if engine is not None:
            kind = [f"{situation.play.name}: the page refuses ({page})"]
        elif not isinstance(page, str):
            kind = [f"{situation.play.name}: the engine refuses"]
        tallies["answered"].add(where, kind)
        return
    tallies["answered"].add(where, [])
    shape = list(shape_differences(engine, page))
    tallies["lanes"].add(where, shape)
    if shape:
        return
    tallies["x"].add(where, list(x_differences(engine, page)))
    names = [lane["name"] for lane in engine["lanes"]]
    by_position = {fit["position"]: fit for fit in engine["fits"]}
    pairs = [(by_position[fit.position], fit) for fit in page.fits]
    tallies["owners"].add(where, list(owner_differences(engine, page, situation)))
    for name, differ in (("threat", threat_differs), ("lost_to", lost_to_differs), ("arrival", arrival_differs)):
        found = (differ(theirs, ours, names) for theirs, ours in pairs if same_lane(theirs, ours, names))
        tallies[name].add(where, [one for one in found if one])
    tallies["phase"].add(where, [f"{situation.play.name}: {one}" for one in phase_differences(engine, page)])
    both = f"the engine says {engine['sound']}, the page {page.sound}"
    tallies["sound"].add(where, [] if engine["sound"] == page.sound else [both])


def plain(blocker: str) -> str:
    """A blocker's name without what tells two of a kind on one side apart."""
    return blocker.replace("outer ", "")


def shape_differences(engine: dict[str, Any], page: Answer) -> Iterator[str]:
    """Lanes that are between other men."""
    theirs = [tuple(one and plain(one) for one in lane["between"]) for lane in engine["lanes"]]
    ours = [(lane.left.name if lane.left else None, lane.right.name if lane.right else None) for lane in page.lanes]
    if theirs != ours:
        yield f"between {theirs} against {ours}"


def x_differences(engine: dict[str, Any], page: Answer) -> Iterator[str]:
    """The first lane with another position."""
    for lane, mine in zip(engine["lanes"], page.lanes, strict=True):
        if any(abs(a - b) > 0.02 for a, b in zip(lane["x"], (mine.x_from, mine.x_to), strict=True)):
            jobs = sorted({one.job.value for one in (mine.left, mine.right) if one is not None})
            yield f"a lane lies elsewhere, between {' and '.join(jobs)}"
            return


def role_of(page: Answer, position: str) -> str:
    """A man's role and his job on this snap, so that similar disagreements fall together."""
    fit = page.fit(position)
    marks = [word for word, here in (("read", fit.is_read), ("over the top", fit.over_the_top)) if here]
    return " ".join([fit.job, *marks, *([fit.phase] if fit.phase else [])])


def owner_differences(engine: dict[str, Any], page: Answer, situation: Situation) -> Iterator[str]:
    """Men who own other lanes, by role."""
    theirs: dict[str, set[int]] = {}
    for index, lane in enumerate(engine["lanes"]):
        for position in lane["owners"]:
            theirs.setdefault(position, set()).add(index)
    ours: dict[str, set[int]] = {}
    for index, positions in enumerate(page.owners):
        for position in positions:
            ours.setdefault(position, set()).add(index)
    sign = situation.play_to.sign
    for position in sorted({*theirs, *ours}):
        a, b = theirs.get(position, set()), ours.get(position, set())
        if a == b:
            continue
        if not a or not b:
            kind = "only the page gives him a lane" if b else "only the engine gives him a lane"
        else:
            kind = "further to the play by the page" if sign * sum(b) > sign * sum(a) else "further back by the page"
        yield f"{role_of(page, position)}: {kind}"


def same_lane(theirs: dict[str, Any], ours: Fit, names: list[str]) -> bool:
    """Whether both put the man in one lane, so that threats can be compared."""
    lane = theirs["lane"] if theirs.get("owns", True) else None
    if lane is None or ours.lane_index is None:
        return False
    return names[ours.lane_index] == lane


def threat_differs(theirs: dict[str, Any], ours: Fit, _: list[str]) -> str | None:
    """A different blocker threatens the man."""
    if {plain(one) for one in theirs["threat"]} == set(ours.threat):
        return None
    kind = ours.threat_kind or "nobody"
    read = " (read man)" if ours.is_read else ""
    if not theirs["threat"]:
        return f"{ours.job}{read}: the engine nobody, the page {kind}"
    if not ours.threat:
        return f"{ours.job}{read}: the engine {len(theirs['threat'])} man, the page nobody"
    return f"{ours.job}{read}: another man ({kind} by the page)"


def lost_to_differs(theirs: dict[str, Any], ours: Fit, names: list[str]) -> str | None:
    """The same threat, but he ends up elsewhere when beaten."""
    if {plain(one) for one in theirs["threat"]} != set(ours.threat):
        return None
    mine = None if ours.lost_to_index is None else names[ours.lost_to_index]
    if theirs["lost_to"] == mine:
        return None
    where = "no lane" if mine is None else "a lane" if theirs["lost_to"] is None else "another lane"
    return f"{ours.job} {ours.threat_kind}: {where} by the page"


def arrival_differs(theirs: dict[str, Any], ours: Fit, _: list[str]) -> str | None:
    """A different word for when he arrives."""
    return None if theirs["arrival"] == ours.arrival else f"{ours.job}: {theirs['arrival']} against {ours.arrival}"


def phase_differences(engine: dict[str, Any], page: Answer) -> Iterator[str]:
    """Phases that another man has."""
    theirs = engine["phases"] or {}
    ours = {fit.phase: fit.position for fit in page.fits if fit.phase}
    for phase in sorted({*theirs, *ours}):
        owner = theirs.get(phase)
        if [owner] != [ours.get(phase)] and owner != [ours.get(phase)]:
            kinds = [role_of(page, owner) if isinstance(owner, str) else "nobody"]
            kinds.append(role_of(page, ours[phase]) if phase in ours else "nobody")
            yield f"{phase}: {kinds[0]} against {kinds[1]}"


def compare_passes(team: TeamBook, tally: Tally) -> None:
    """Who comes free on passes, from the engine's command line; moving pockets are left out."""
    every = [
        (call.name, to, formation.name, protection, turn_to)
        for call in team.pressures
        for formation in team.formations
        for to in call_sides(call, formation)
        for protection in team.protections
        for turn_to in Side
    ]
    for call, to, formation, protection, turn_to in Random(SEED).sample(every, PASSES):
        try:
            page = solve_pass(pass_situation(team, call, to, formation, protection.name, turn_to))
        except NoAnswer:
            continue
        asked = ["fit", "--call", call, "--to", to.value, "--formation", formation]
        asked += ["--play", protection.name, "--play-to", turn_to.value, "--json"]
        said = CliRunner().invoke(app, asked)
        free = sorted(json.loads(said.stdout)["free"]) if said.exit_code == 0 else None
        same = free == sorted(page.free)
        where = f"{call} to {to.value}, {formation}, {protection.name} to {turn_to.value}"
        tally.add(where, [] if same else [f"{protection.slide.value}: {free} against {sorted(page.free)}"])


def report(tallies: dict[str, Tally]) -> None:
    """Print the counts, then the kinds of disagreement by field."""
    for name, tally in tallies.items():
        share = tally.agreed / tally.compared if tally.compared else 1.0
        print(f"{name:10} {tally.agreed:6} of {tally.compared:6} situations agree ({share:.1%})")
    for name, tally in tallies.items():
        if not tally.kinds:
            continue
        print(f"\n{name}: {len(tally.kinds)} kinds of disagreement, the first {MOST_KINDS}")
        for kind, count in tally.kinds.most_common(MOST_KINDS):
            print(f"  {count:6}  {kind}\n          {tally.examples[kind]}")


def compare_team(team: TeamBook, *, every: int = 1, most: int | None = None) -> dict[str, Tally]:
    """Each N-th situation of a team, or that many drawn ones, and some passes."""
    # That solver knows nothing of attached passes.
    found = [s for s in situations(team) if s.play.attached is None][::every]
    if most is not None:
        found = Random(SEED).sample(found, min(len(found), most))
    tallies = compare_all(found)
    compare_passes(team, tallies["free"])
    return tallies


def compare_all(found: Iterable[Situation]) -> dict[str, Tally]:
    """Each of these situations."""
    tallies = {name: Tally() for name in FIELDS}
    for situation in found:
        compare(situation, tallies)
    return tallies


def main() -> None:
    """Compare N situations, or all of them."""
    parser = argparse.ArgumentParser()
    parser.add_argument("count", nargs="?", type=int)
    parser.add_argument("--random", action="store_true")
    chosen = parser.parse_args()
    if chosen.random:
        tallies = compare_all(random_situations(SEED, chosen.count or RANDOM))
    else:
        tallies = compare_team(load_team_dir(demo_team_dir()), most=chosen.count)
    print("agreement counts only snaps that both answer with the same lanes\n")
    report(tallies)


if __name__ == "__main__":
    main()
