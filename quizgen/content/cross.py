"""Checks that the names in a team's files fit together. Works on rows whose own values are right; builds nothing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any
from zoneinfo import available_timezones

from quizgen.content.build import Built, rows_of
from quizgen.content.files import ReadFile
from quizgen.content.problems import Verbatim, Where, key_of, nearest, one_of
from quizgen.content.rows import PlayRow, PressureRow, TeamFile
from quizgen.content.rule_rows import FitRuleRow, OptionRuleRow, RulesFile
from quizgen.football.calling import call_sides, find_row, follow_check
from quizgen.football.coverage import COVERAGES
from quizgen.football.formation import Formation, Role
from quizgen.football.keys import slug
from quizgen.football.motion import EDGE_OWNER, MAN_COVERAGES, ZONE_COVERAGES
from quizgen.football.pressure import Pressure, RunJob
from quizgen.football.rules import LINEMAN_IN_B, READ_MAN, TeamRules
from quizgen.football.scheme import JOBS, LINE_GROUP, OPTION_PHASES, Job, Place
from quizgen.football.sides import Side

OWNER_JOBS = tuple(job.value for job in (RunJob.FORCE, RunJob.ALLEY, RunJob.FOLD, RunJob.FREE, RunJob.CUTBACK))
Files = Mapping[str, ReadFile]
NEVER_ON_LINE = (Role.QUARTERBACK, Role.FULLBACK, Role.TAILBACK, Role.SLOTBACK, Role.RECEIVER, Role.IN_MOTION)


@dataclass(frozen=True, slots=True)
class Known:
    """The names that other files may use; None where their file could not be read, so that nothing follows from it."""

    positions: tuple[str, ...] | None
    fronts: Mapping[str, tuple[str, ...]] | None
    options: tuple[str, ...]
    calls: tuple[str, ...] | None
    coverages: tuple[str, ...]


def known_names(files: Files, rules: TeamRules) -> Known:
    """The names the files define, those of wrong rows included."""
    fronts: dict[str, tuple[str, ...]] | None = None
    rows = _raw_rows(files, "fronts.toml", "front")
    if rows is not None:
        named = [row for row in rows if _is_named(row)]
        fronts = {row["name"]: _raw_names(row.get("spot"), "position") or () for row in named} or None
    positions = _raw_names(_raw_rows(files, "positions.toml", "position"), "name")
    calls = _raw_names(_raw_rows(files, "pressures.toml", "pressure"), "name")
    own = _raw_names(_raw_rows(files, "pressures.toml", "coverage"), "name") or ()
    return Known(positions, fronts, tuple(rules.options), calls, (*COVERAGES, *own))


def _raw_rows(files: Files, name: str, table: str) -> list[Any] | None:
    file = files.get(name)
    rows = file.raw.get(table) if file is not None else None
    return rows if isinstance(rows, list) else None


def _is_named(row: object) -> bool:
    return isinstance(row, dict) and isinstance(row.get("name"), str)


def _raw_names(rows: object, key: str) -> tuple[str, ...] | None:
    """The names in rows as read; None when there is none to be read."""
    if not isinstance(rows, list):
        return None
    return tuple(row[key] for row in rows if isinstance(row, dict) and isinstance(row.get(key), str)) or None


def check_all(files: Files, known: Known) -> None:
    """Note everything that does not fit together."""
    _check_twice(files)
    _check_keys(files)
    _check_team(files.get("team.toml"))
    _check_mirrors(files.get("positions.toml"), known)
    _check_rules(files.get("rules.toml"), known)
    _check_formations(files)
    _check_fronts(files.get("fronts.toml"), files.get("positions.toml"), known)
    for where, row in rows_of(files.get("pressures.toml"), "coverage"):
        if row.name.casefold() in COVERAGES:
            expected = "a name that no shipped coverage has"
            files["pressures.toml"].findings.add(key_of((*where, "name")), expected, row.name)
    for where, row in rows_of(files.get("pressures.toml"), "pressure"):
        _check_pressure(files["pressures.toml"], where, row, known)
    _check_checks(files.get("pressures.toml"), known)
    for where, row in rows_of(files.get("plays.toml"), "play"):
        _check_play(files["plays.toml"], where, row, known)
    for where, row in rows_of(files.get("plays.toml"), "protection"):
        _check_protection(files["plays.toml"], where, row)
    for where, row in rows_of(files.get("roster.toml"), "player"):
        for number, name in enumerate(row.positions):
            _refer(files["roster.toml"], (*where, "positions", number), name, known.positions, row.name)
    _check_opponents(files)
    _check_accepted(files)


def _check_opponents(files: Files) -> None:
    """One of them at most is the next. A play or a formation may be theirs alone: `check --against` names what of it
    has no row."""
    is_next: Where | None = None
    for where, row in rows_of(files.get("opponents.toml"), "opponent"):
        file = files["opponents.toml"]
        if row.next and is_next is not None:
            file.findings.add(key_of((*where, "next")), f"one next opponent: {key_of(is_next)} is it", True, row.name)
        is_next = is_next or ((*where, "next") if row.next else None)


def _check_accepted(files: Files) -> None:
    """What is accepted is of a call, a formation and a run of the team."""
    calls = _raw_names(_raw_rows(files, "pressures.toml", "pressure"), "name")
    plays = _raw_names(_raw_rows(files, "plays.toml", "play"), "name")
    formations = _raw_formations(files)
    for where, row in rows_of(files.get("accepted.toml"), "accepted"):
        for key, known in (("call", calls), ("formation", formations), ("play", plays)):
            if getattr(row, key) is not None:
                _refer(files["accepted.toml"], (*where, key), getattr(row, key), known)


def _raw_formations(files: Files) -> tuple[str, ...] | None:
    """The formations with their twins, as set and after each of their motions."""
    rows = _raw_rows(files, "formations.toml", "formation")
    names = _raw_names(rows, "name")
    if names is None or rows is None:
        return None
    moved = [
        f"{name}, {motion}"
        for row in filter(_is_named, rows)
        for name in (row["name"], row.get("mirror"))
        for motion in _raw_names(row.get("motion"), "name") or ()
        if isinstance(name, str)
    ]
    return (*names, *(_raw_names(rows, "mirror") or ()), *moved)


def _refer(file: ReadFile, where: Where, name: str, known: Iterable[str] | None, within: str = "") -> None:
    """Note a name that nothing has; says nothing when the names are not known."""
    if known is None:
        return
    names = tuple(known)
    if name not in names:
        file.findings.add(key_of(where), one_of(names, name), name, repr(within) if within else "")


# File, tables, key: no two rows of these tables may have the same value there, upper and lower case alike.
UNIQUE: tuple[tuple[str, tuple[str, ...], tuple[str, ...]], ...] = (
    ("positions.toml", ("position",), ("name",)),
    ("positions.toml", ("position",), ("label",)),
    ("fronts.toml", ("front",), ("name",)),
    ("pressures.toml", ("pressure",), ("name",)),
    ("pressures.toml", ("coverage",), ("name",)),
    ("formations.toml", ("formation",), ("name", "mirror")),
    ("plays.toml", ("play", "protection"), ("name",)),
    ("roster.toml", ("player",), ("number",)),
    ("opponents.toml", ("opponent",), ("name",)),
)


def _check_twice(files: Files) -> None:
    for name, tables, keys in UNIQUE:
        seen: dict[object, str] = {}
        for table in tables:
            for where, row in rows_of(files.get(name), table):
                for key in keys:
                    value = getattr(row, key)
                    if value is None:
                        continue
                    place = key_of((*where, key))
                    folded = value.casefold() if isinstance(value, str) else value
                    if folded in seen:
                        files[name].findings.add(place, f"a {key} of its own: {seen[folded]} has it too", value)
                    else:
                        seen[folded] = place


# File, tables, (name, key): nouns of these tables are told apart by their keys.
KEYED: tuple[tuple[str, tuple[str, ...], tuple[tuple[str, str], ...]], ...] = (
    ("positions.toml", ("position",), (("name", "key"),)),
    ("fronts.toml", ("front",), (("name", "key"),)),
    ("pressures.toml", ("pressure",), (("name", "key"),)),
    ("pressures.toml", ("coverage",), (("name", "key"),)),
    ("formations.toml", ("formation",), (("name", "key"), ("mirror", "mirror_key"))),
    ("plays.toml", ("play", "protection"), (("name", "key"),)),
    ("opponents.toml", ("opponent",), (("name", "key"),)),
)


def _check_keys(files: Files) -> None:
    """Every noun has a key of its own. A name that is there twice is not also reported as a key."""
    for name, tables, pairs in KEYED:
        seen: dict[str, tuple[str, str]] = {}
        for table in tables:
            for where, row in rows_of(files.get(name), table):
                for words, key in pairs:
                    _check_key(files[name], key_of((*where, key)), getattr(row, words), getattr(row, key), seen)


def _check_key(
    file: ReadFile, place: str, name: str | None, written: str | None, seen: dict[str, tuple[str, str]]
) -> None:
    if name is None:
        if written is not None:
            file.findings.add(place, "no such key without a 'mirror'", written)
        return
    own = written or slug(name)
    if not own:
        file.findings.add(place, "a key, since the name has no letters or digits to make one of", name)
    elif own in seen:
        other, there = seen[own]
        if other.casefold() != name.casefold():
            expected = f"a key of its own: {there} ({other!r}) has {own!r} too; write another one here"
            file.findings.add(place, expected, Verbatim(repr(own) if written else "nothing"), repr(name))
    else:
        seen[own] = (name, place)


def _check_team(file: ReadFile | None) -> None:
    if file is None or not isinstance(file.shape, TeamFile):
        return
    zones = available_timezones()  # empty on a machine that has no table of zones
    zone = file.shape.time_zone
    if zones and zone not in zones:
        file.findings.add("time_zone", f"a time zone such as 'America/Chicago'{nearest(zone, zones)}", zone)


def _check_mirrors(file: ReadFile | None, known: Known) -> None:
    mirrors = {row.name: row.mirrors for _, row in rows_of(file, "position")}
    for where, row in rows_of(file, "position"):
        assert file is not None
        key = (*where, "mirrors")
        if row.mirrors is None:
            continue
        if row.mirrors == row.name:
            file.findings.add(key_of(key), "another position than his own", row.mirrors)
        elif row.mirrors in mirrors and mirrors[row.mirrors] != row.name:
            found = mirrors[row.mirrors]
            expected = f"a position that mirrors {row.name!r} in turn"
            text = f"{row.mirrors!r}, which mirrors {found!r}" if found else f"{row.mirrors!r}, which mirrors nobody"
            file.findings.add(key_of(key), expected, Verbatim(text))
        else:
            _refer(file, key, row.mirrors, known.positions, row.name)


def _check_rules(file: ReadFile | None, known: Known) -> None:
    if file is None or not isinstance(file.shape, RulesFile):
        return
    for table in ("edge_by_position", "by_position"):
        for name in getattr(file.shape.rules, table):
            _refer(file, ("rules", table, name), name, known.positions)
    _check_short(file, ("rules",), "edge_by_position", file.shape.rules.edge_by_position, file.shape.rules.by_position)
    for option, row in file.shape.options.items():
        _check_owners(file, ("options", option), row, known)
    for where, row in rows_of(file, "motion"):
        if row.coverage is not None:
            families = (MAN_COVERAGES, ZONE_COVERAGES, *known.coverages)
            _refer(file, (*where, "coverage"), row.coverage, families)
        owners = (*OWNER_JOBS, EDGE_OWNER, *known.positions) if known.positions else None
        for number, name in enumerate(row.owner):
            _refer(file, (*where, "owner", number), name, owners)


def _check_formations(files: Files) -> None:
    """Motions: a name once in its formation and no formation's own, and plays that there are."""
    file = files.get("formations.toml")
    tables = [_raw_names(_raw_rows(files, "plays.toml", table), "name") or () for table in ("play", "protection")]
    known = [*tables[0], *tables[1]] or None  # without plays that could be read nothing follows from it
    names = {row.name.casefold() for _, row in rows_of(file, "formation")}
    for where, row in rows_of(file, "formation"):
        assert file is not None
        seen: set[str] = set()
        for number, motion in enumerate(row.motion):
            place = (*where, "motion", number)
            if motion.name.casefold() in seen:
                file.findings.add(key_of((*place, "name")), "each motion once in its formation", motion.name)
            if f"{row.name}, {motion.name}".casefold() in names:
                file.findings.add(key_of((*place, "name")), "a name that makes no other formation's", motion.name)
            seen.add(motion.name.casefold())
            for index, play in enumerate(motion.plays):
                _refer(file, (*place, "plays", index), play, known, motion.name)


def _check_short(
    file: ReadFile,
    where: Where,
    key: str,
    short: Mapping[str, object],
    rows: Mapping[str, FitRuleRow],
    within: str = "",
) -> None:
    """Note a man whose edge is said twice, in short and in his own rules."""
    for name in short:
        if name in rows and rows[name].edge is not None:
            file.findings.add(key_of((*where, key, name)), "his edge once: by_position has it too", name, within)


def _check_owners(file: ReadFile, where: Where, row: OptionRuleRow, known: Known, within: str = "") -> None:
    """The names of a rule for an option: positions, run jobs, the man read."""
    if known.positions is None:
        return
    words = (READ_MAN, *(job.value for job in RunJob), *known.positions)
    for phase in OPTION_PHASES:
        for number, name in enumerate(getattr(row, phase.value) or ()):
            _refer(file, (*where, phase.value, number), name, words, within)


def _check_fronts(file: ReadFile | None, positions: ReadFile | None, known: Known) -> None:
    mirrors = {row.name: row.mirrors for _, row in rows_of(positions, "position") if row.mirrors}
    for where, row in rows_of(file, "front"):
        assert file is not None
        names = [spot.position for spot in row.spot]
        for number, name in enumerate(names):
            _refer(file, (*where, "spot", number, "position"), name, known.positions, row.name)
            partner = mirrors.get(name)
            if partner and partner not in names:
                key = key_of((*where, "spot", number, "position"))
                file.findings.add(
                    key, f"{partner!r} in this front too, since he mirrors {name!r}", name, repr(row.name)
                )


def _check_pressure(file: ReadFile, where: Where, row: PressureRow, known: Known) -> None:
    jobs = [(("rush", i, "position"), one.position) for i, one in enumerate(row.rush)]
    jobs += [(("drop", i, "position"), one.position) for i, one in enumerate(row.drop)]
    _refer(file, (*where, "front"), row.front, known.fronts, row.name)
    _refer(file, (*where, "coverage"), row.coverage, known.coverages, row.name)
    for number, one in enumerate(row.adjust):
        if one.coverage is not None:
            _refer(file, (*where, "adjust", number, "coverage"), one.coverage, known.coverages, row.name)
    eleven = (known.fronts or {}).get(row.front) or known.positions
    for place, name in jobs:
        _refer(file, (*where, *place), name, eleven, row.name)
    names = [name for _, name in jobs]
    missing = [name for name in (known.fronts or {}).get(row.front, ()) if name not in names]
    if missing:
        expected = f"a job for each of the eleven of front {row.front!r}"
        file.findings.add(
            key_of((*where, "rush")), expected, Verbatim(f"none for {', '.join(missing)}"), repr(row.name)
        )
    _check_call_places(file, where, row, names, known)


def _check_checks(file: ReadFile | None, known: Known) -> None:
    """The calls that others check to: known, not the call itself, and with the same eleven on the field."""
    fronts = known.fronts or {}
    elevens = {row.name: frozenset(fronts.get(row.front, ())) for _, row in rows_of(file, "pressure")}
    for where, row in rows_of(file, "pressure"):
        assert file is not None
        for number, one in enumerate(row.adjust):
            key = (*where, "adjust", number, "check")
            if one.check is None:
                continue
            if one.check == row.name:
                file.findings.add(key_of(key), "another call", one.check, repr(row.name))
                continue
            _refer(file, key, one.check, known.calls, row.name)
            theirs, ours = elevens.get(one.check), elevens[row.name]
            if theirs and ours and theirs != ours:
                expected = (
                    f"a call with the same eleven, since nobody can be sent in after the break; {one.check!r} has"
                )
                missing = ", ".join(sorted(theirs - ours))
                file.findings.add(key_of(key), f"{expected} {missing}", one.check, repr(row.name))


def check_circles(file: ReadFile | None, calls: Iterable[Built], formations: Iterable[Formation]) -> None:
    """Note checks that lead back to where they began, against a formation that the team meets."""
    built = {one.noun.name: one for one in calls}
    met = tuple(formations)
    for one in built.values():
        circle = next((f for f in met for to in call_sides(one.noun, f) if _comes_back(one.noun, to, f, built)), None)
        if circle is not None:
            assert file is not None  # it has been built
            number = next(n for n, row in enumerate(one.noun.adjust) if row.check)
            key = key_of((*one.where, "adjust", number, "check"))
            expected = f"checks that don't lead back to {one.noun.name!r}, as they do against {circle.name!r}"
            file.findings.add(key, expected, one.noun.adjust[number].check, repr(one.noun.name))


def _comes_back(call: Pressure, to: Side, formation: Formation, built: Mapping[str, Built]) -> bool:
    """Whether following the checks of a call against a formation leads to the call again."""
    now, side, seen = call, to, set[str]()
    while now.name not in seen:
        seen.add(now.name)
        number = find_row(now, side, formation)
        name = now.adjust[number].check if number is not None else ""
        if name not in built or name == now.name:  # noted already
            return False
        now, side = follow_check(name, side, formation, lambda wanted: built[wanted].noun)
    return now is call


def _check_call_places(file: ReadFile, where: Where, row: PressureRow, names: list[str], known: Known) -> None:
    """The parts of a call that speak of its own men: alignments, edges, exchanges."""
    for table, places in (("align", row.align), ("show", row.show)):
        for number, one in enumerate(places):
            _refer(file, (*where, table, number, "position"), one.position, names, row.name)
        for name, count in Counter(one.position for one in places).items():
            if count > 1:
                file.findings.add(key_of((*where, table)), "each position once", name, repr(row.name))
    for number, name in enumerate(row.read):
        _refer(file, (*where, "read", number), name, names, row.name)
    owners = [*(rush.position for rush in row.rush), *(drop.position for drop in row.drop if drop.gap)]
    for name in row.edge:
        _refer(file, (*where, "edge", name), name, owners, row.name)
    for name in row.by_position:
        _refer(file, (*where, "by_position", name), name, names, row.name)
    _check_short(file, where, "edge", row.edge, row.by_position, repr(row.name))
    for option, rule in row.options.items():
        plain = option.removesuffix(LINEMAN_IN_B)
        _refer(
            file, (*where, "options", option), plain, [n for n in known.options if n != plain + LINEMAN_IN_B], row.name
        )
        _check_owners(file, (*where, "options", option), rule, known, row.name)
    _check_exchanges(file, where, row, names, owners)


def _check_exchanges(file: ReadFile, where: Where, row: PressureRow, names: list[str], owners: list[str]) -> None:
    for number, trade in enumerate(row.exchange):
        for key, name in (("first", trade.first), ("second", trade.second)):
            place = (*where, "exchange", number, key)
            if name in names and name not in owners:
                file.findings.add(key_of(place), "a man with a gap of his own", name, repr(row.name))
            else:
                _refer(file, place, name, names, row.name)
        if trade.first == trade.second:
            place = (*where, "exchange", number, "second")
            file.findings.add(key_of(place), "another man than the first", trade.second, repr(row.name))


def _check_play(file: ReadFile, where: Where, row: PlayRow, known: Known) -> None:
    if row.option is not None:
        names = [name for name in known.options if not name.endswith(LINEMAN_IN_B)]
        if row.option.name not in names:
            expected = f"an option that rules.toml has a rule for: {one_of(names, row.option.name)}"
            file.findings.add(key_of((*where, "option", "name")), expected, row.option.name, repr(row.name))
    for number, block in enumerate(row.block):
        place = (*where, "block", number)
        is_on_line = JOBS[block.job].place is Place.LINE
        for words in block.who:
            role = words.removeprefix("play side ").removeprefix("back side ")
            fits = _fits(role, is_on_line)
            if fits:
                file.findings.add(key_of((*place, "job")), fits, block.job, repr(row.name))
        if block.past is not None and block.job is not Job.PULL_TRAP:
            expected = f"no such key beside another job than {Job.PULL_TRAP.value!r}"
            file.findings.add(key_of((*place, "past")), expected, block.past, repr(row.name))


def _fits(role: str, is_on_line: bool) -> str:
    """What job such a man could have, when his own is not one of these; nothing when it is."""
    if role == LINE_GROUP and not is_on_line:
        return f"a job on the line for 'line': {_jobs(lambda place: place is Place.LINE)}"
    if role != LINE_GROUP and Role(role) in NEVER_ON_LINE and is_on_line:
        return f"a job for a man behind or outside the line: {_jobs(lambda place: place is not Place.LINE)}"
    return ""


def _jobs(is_meant: Callable[[Place], bool]) -> str:
    return ", ".join(job.value for job, rule in JOBS.items() if is_meant(rule.place))


def _check_protection(file: ReadFile, where: Where, row: Any) -> None:
    for key in ("stay_in", "release"):
        for number, words in enumerate(getattr(row, key)):
            if words.endswith(LINE_GROUP):
                place = key_of((*where, key, number))
                file.findings.add(place, "one man: the five linemen always stay in", words, repr(row.name))
