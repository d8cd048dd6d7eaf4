"""A team's files in, a Team out, or every problem at once. Knows no football: it puts the steps in order."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType

from quizgen.content.build import (
    build_accepted,
    build_coverages,
    build_formations,
    build_fronts,
    build_opponents,
    build_positions,
    build_pressures,
    build_protections,
    build_rules,
    build_schemes,
    build_words,
    rows_of,
    with_twins,
)
from quizgen.content.cross import check_all, check_circles, known_names
from quizgen.content.files import ReadFile, read_files, read_folder
from quizgen.content.problems import Findings
from quizgen.content.rows import TeamFile
from quizgen.football.errors import ContentProblems
from quizgen.football.team import TeamBook, TeamPlayer


def load_team(files: Mapping[str, str]) -> TeamBook:
    """The team of these files (file name -> TOML text).

    Raises:
        ContentProblems: everything that is wrong with them, in the order of the files.
    """
    return _load(files, [])


def load_team_dir(path: Path) -> TeamBook:
    """The team of a folder of TOML files.

    Raises:
        ContentProblems: everything that is wrong with them, files that cannot be read included.
    """
    texts, unreadable = read_folder(path)
    return _load(texts, unreadable)


def read_team_dir(path: Path) -> dict[str, str]:
    """The TOML files of a folder as text, by file name.

    Raises:
        ContentProblems: no such folder, or a file that is too large, not text, or can't be read.
    """
    texts, unreadable = read_folder(path)
    _raise(unreadable)
    return texts


def _load(texts: Mapping[str, str], unreadable: list[Findings]) -> TeamBook:
    if unreadable and not texts:
        _raise(unreadable)
    files, loose = read_files(texts, {note.file for note in unreadable})
    team = _build(files)
    _raise([*unreadable, *loose, *(file.findings for file in files.values())])
    assert team is not None  # without a problem every file has a shape
    return team


def _raise(findings: list[Findings]) -> None:
    problems = [problem for note in findings for problem in note.all()]
    if problems:
        raise ContentProblems(tuple(problems))


def _build(files: Mapping[str, ReadFile]) -> TeamBook | None:
    """The team; every problem on the way is noted in the files. None when there is no team file."""
    rules_file, plays_file = files.get("rules.toml"), files.get("plays.toml")
    rules = build_rules(rules_file, files.get("team.toml"))
    positions = build_positions(files.get("positions.toml"))
    fronts = build_fronts(files.get("fronts.toml"), rules)
    pressures_file = files.get("pressures.toml")
    coverages = tuple(one.noun for one in build_coverages(pressures_file))
    pressures = build_pressures(pressures_file, rules, coverages)
    formations = build_formations(files.get("formations.toml"), rules)
    schemes, protections = build_schemes(plays_file), build_protections(plays_file)
    words = build_words(rules_file)
    check_all(files, known_names(files, rules))
    check_circles(files.get("pressures.toml"), pressures, with_twins(formations))
    about_file = files.get("team.toml")
    shape = about_file.shape if about_file else None
    if not isinstance(shape, TeamFile):
        return None
    about = {"school": shape.school, **shape.about} if shape.school else dict(shape.about)
    return TeamBook(
        name=shape.name,
        positions=tuple(one.noun for one in positions),
        fronts=tuple(one.noun for one in fronts),
        pressures=tuple(one.noun for one in pressures),
        coverages=coverages,
        formations=with_twins(formations),
        schemes=tuple(one.noun for one in schemes),
        protections=tuple(one.noun for one in protections),
        rules=rules,
        words=words,
        roster=_roster(files.get("roster.toml")),
        time_zone=shape.time_zone,
        season_end=shape.season_end or "",
        about=MappingProxyType(about),
        opponents=build_opponents(files.get("opponents.toml")),
        accepted=build_accepted(files.get("accepted.toml")),
    )


def _roster(file: ReadFile | None) -> tuple[TeamPlayer, ...]:
    return tuple(TeamPlayer(row.number, row.name, tuple(row.positions)) for _, row in rows_of(file, "player"))
