"""Families of like calls, for mastery: calls that ask much the same of a position.

Two calls are alike for a position when in at least half of the cells, stage by side, his gap is mostly the same. Must
not know: players, answers given, words.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping
from types import MappingProxyType

from quizgen.engine.fits import Fit
from quizgen.football.sides import Side
from quizgen.reps.catalogue import Catalogue, setup_stage
from quizgen.reps.ids import Setup
from quizgen.reps.mixing import mixed
from quizgen.reps.rep import Stage
from quizgen.reps.snap import PassSnap, Snap

SETUPS_A_CELL = 12
ALIKE_SHARE = 0.5

Cell = tuple[Stage, Side]
# What a position has to do, by what the offense shows (formation, play, its side).
Jobs = dict[Hashable, Hashable]


def families(catalogue: Catalogue) -> Mapping[str, Mapping[str, str]]:
    """The family of every call for every position, all by their keys: {position: {call: family}}.

    A family is named after the first of its calls by key, and every call in it is like that one. In each cell the
    same few plays and formations are looked at for all calls (``SETUPS_A_CELL``, less where fewer can be run); setups
    that the engine has no rule for are left out.
    """
    jobs = _jobs(catalogue)
    team = catalogue.team
    found = {}
    for position in team.positions:
        calls = sorted({call for call, name in jobs if name == position.name})
        found[position.key] = MappingProxyType(_grouped(calls, {c: jobs[c, position.name] for c in calls}))
    return MappingProxyType(found)


def _grouped(calls: Iterable[str], cells: Mapping[str, Mapping[Cell, Jobs]]) -> dict[str, str]:
    """Each call with the first call that it is like, itself where it is like none before it."""
    family: dict[str, str] = {}
    for call in calls:
        heads = [head for head in dict.fromkeys(family.values()) if are_alike(cells[head], cells[call])]
        family[call] = heads[0] if heads else call
    return family


def are_alike(first: Mapping[Cell, Jobs], second: Mapping[Cell, Jobs]) -> bool:
    """Whether in at least half of the cells that both have the job is the same in at least half of what both meet."""
    shared = [cell for cell in first if cell in second and first[cell].keys() & second[cell].keys()]
    alike = sum(_is_same(first[cell], second[cell]) for cell in shared)
    return bool(shared) and alike >= ALIKE_SHARE * len(shared)


def _is_same(first: Jobs, second: Jobs) -> bool:
    both = first.keys() & second.keys()
    return sum(first[key] == second[key] for key in both) >= ALIKE_SHARE * len(both)


def _jobs(catalogue: Catalogue) -> dict[tuple[str, str], dict[Cell, Jobs]]:
    """{(call's key, position's name): {cell: jobs}} over the same sample of offenses for every call."""
    wanted = _sample(catalogue)
    found: dict[tuple[str, str], dict[Cell, Jobs]] = {}
    for setup in catalogue.setups.values():
        if _offense(setup) not in wanted:
            continue
        snap = catalogue.find_listed(setup)
        if snap is None:
            continue
        for position, job in _by_position(snap):
            cells = found.setdefault((setup.pressure.key, position), {})
            cells.setdefault((setup_stage(setup), setup.to), {})[_offense(setup)] = job
    return found


def _offense(setup: Setup) -> tuple[str, str, str]:
    play, to = setup.play.key if setup.play else "", setup.play_to.value if setup.play_to else ""
    return setup.formation.key, play, to


def _sample(catalogue: Catalogue) -> set[tuple[str, str, str]]:
    """The first few offenses of each stage, in the catalogue's mixed order, that a call to the right can meet."""
    chosen: dict[Stage, list[tuple[str, str, str]]] = {stage: [] for stage in Stage}
    right = sorted((s for s in catalogue.setups.values() if s.to is Side.RIGHT), key=lambda s: s.pressure.key)
    by_offense = {_offense(setup): setup for setup in reversed(right)}  # of each offense the first call's by key
    for setup in mixed(by_offense.values()):
        row = chosen[setup_stage(setup)]
        if len(row) < SETUPS_A_CELL and catalogue.find_listed(setup) is not None:
            row.append(_offense(setup))
    return {offense for row in chosen.values() for offense in row}


def _by_position(snap: Snap | PassSnap) -> list[tuple[str, Hashable]]:
    if isinstance(snap, PassSnap):
        return [
            (man.position, man.gaps if man.rush else (man.drop.cover, man.side) if man.drop else ())
            for man in snap.answer.men
        ]
    return [(fit.man.position, _job(snap, fit)) for fit in snap.answer.fits]


def _job(snap: Snap, fit: Fit) -> Hashable:
    if fit.owns:
        return tuple(sorted(snap.answer.lanes[index].name for index in fit.lanes))
    return fit.job
