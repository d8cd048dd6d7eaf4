"""Rows -> nouns, one row at a time. What a noun refuses becomes a problem and the row is left out.

Knows how a coach writes each thing and nothing of how things fit together: names are compared in ``cross``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any, TypeVar

from quizgen.content.files import ReadFile
from quizgen.content.problems import Where
from quizgen.content.rows import (
    AdjustRow,
    BlockRow,
    CoverageRow,
    DropRow,
    FormationRow,
    FrontRow,
    MotionRow,
    OpponentRow,
    PlaceRow,
    PlayRow,
    PositionRow,
    PressureRow,
    ProtectionRow,
    RushRow,
    TeamFile,
)
from quizgen.content.rule_rows import FitRuleRow, OptionRuleRow, RulesFile, TimingRow
from quizgen.football.at_snap import at_snap
from quizgen.football.coverage import COVERAGES, Coverage
from quizgen.football.defense import Alignment, Front, Position, Shade, Spot, parse_technique
from quizgen.football.errors import FootballValueError
from quizgen.football.facts import parse_fact
from quizgen.football.formation import Formation, RuleBook
from quizgen.football.layout import lay_out
from quizgen.football.motion import FormationMotion, MotionRule
from quizgen.football.opponent import AcceptedLack, ChartedOpponent, OpponentRun
from quizgen.football.pressure import OUTERMOST, Adjustment, CallGap, Drop, Exchange, GoesTo, Pressure, Rush
from quizgen.football.rules import Changes, EdgeRule, Measures, OptionRule, Pace, TeamRules, Timing, Words
from quizgen.football.scheme import AttachedPass, JobRow, Option, Phase, Protection, Scheme, parse_who
from quizgen.football.sides import Letter, Toward

LINEMAN_DEPTH_YD = 1.0
BACKER_DEPTH_YD = 4.5  # as taught: 4.5 to 5 yards
FEET_IN_A_YARD = 3

RowT = TypeVar("RowT")
NounT = TypeVar("NounT")


@dataclass(frozen=True, slots=True)
class Built:
    """A noun and where its row stands in its file."""

    noun: Any
    row: Any
    where: Where


def call_gap(words: str) -> CallGap:
    """Read "to A" or "away edge"; the words have been checked."""
    toward, letter = words.split()
    return CallGap(Toward(toward), None if letter == OUTERMOST else Letter(letter))


def find_call_gap(words: str | None) -> CallGap | None:
    """The gap of those words, or None where there are none."""
    return call_gap(words) if words is not None else None


def rows_of(file: ReadFile | None, table: str) -> Iterator[tuple[Where, Any]]:
    """Every row of a table whose values were right, with its place."""
    if file is None or file.shape is None:
        return
    for number, row in enumerate(getattr(file.shape, table)):
        yield file.place(table, number), row


class _Inside:
    """The nouns of the tables inside one row, and those of them that were refused."""

    def __init__(self) -> None:
        self.refused: list[tuple[Where, FootballValueError]] = []

    def each(
        self, table: str, rows: Sequence[RowT], make: Callable[[RowT], NounT], within: Where = ()
    ) -> tuple[NounT, ...]:
        """The nouns of a table inside the row, or inside the part of it that ``within`` names; the refused ones are
        noted and left out."""
        made = []
        for number, row in enumerate(rows):
            try:
                made.append(make(row))
            except FootballValueError as error:
                self.refused.append(((*within, table, number), error))
        return tuple(made)

    def keyed(
        self, table: str, rows: Mapping[str, RowT], make: Callable[[RowT], NounT]
    ) -> tuple[tuple[str, NounT], ...]:
        """The nouns of a table of tables, by their names; the refused ones are noted and left out."""
        made = []
        for name, row in rows.items():
            try:
                made.append((name, make(row)))
            except FootballValueError as error:
                self.refused.append(((table, name), error))
        return tuple(made)

    def check(self) -> None:
        """Raises _Refused when a noun was left out: the row as a whole then makes no sense."""
        if self.refused:
            raise _Refused


class _Refused(Exception):
    """Nouns inside a row were refused."""


def _build(file: ReadFile | None, table: str, make: Callable[[Any, _Inside], Any]) -> list[Built]:
    """The nouns of one table; ``make`` gets a row and what collects the nouns inside it, and may raise."""
    built = []
    for where, row in rows_of(file, table):
        assert file is not None
        inside = _Inside()
        try:
            noun = make(row, inside)
            inside.check()
            built.append(Built(noun, row, where))
        except _Refused:
            for place, error in inside.refused:
                file.findings.add_value_error((*where, *place), error, repr(row.name))
        except FootballValueError as error:
            file.findings.add_value_error(where, error, repr(row.name))
    return built


def build_positions(file: ReadFile | None) -> list[Built]:
    """The positions."""

    def make(row: PositionRow, inside: _Inside) -> Position:
        return Position(row.name, row.label, row.group, row.player_class, row.mirrors, row.key or "")

    return _build(file, "position", make)


def build_fronts(file: ReadFile | None, rules: TeamRules) -> list[Built]:
    """The fronts, techniques read by the team's numbering."""

    def make(row: FrontRow, inside: _Inside) -> Front:
        spots = inside.each("spot", row.spot, lambda one: Spot(one.position, _alignment(one, rules), one.down))
        inside.check()
        return Front(row.name, spots, row.key or "")

    return _build(file, "front", make)


def _alignment(row: PlaceRow, rules: TeamRules) -> Alignment:
    toward = row.side or Toward.TO
    if row.technique is None:
        assert row.on is not None
        assert row.depth is not None
        return Alignment(row.on, toward, row.shade or Shade.HEAD, row.out, row.depth)
    landmark, shade = parse_technique(row.technique, rules.numbering)
    is_backer = len(row.technique) > 1 and row.technique.endswith("0")
    depth = row.depth if row.depth is not None else BACKER_DEPTH_YD if is_backer else LINEMAN_DEPTH_YD
    return Alignment(landmark, toward, shade, row.out, depth)


def build_coverages(file: ReadFile | None) -> list[Built]:
    """The team's own coverage families."""

    def make(row: CoverageRow, inside: _Inside) -> Coverage:
        man = 0 if row.man is None and row.under is not None else row.man
        return Coverage(row.name, row.deep, row.under, man, tuple(row.whom), key=row.key or "")

    return _build(file, "coverage", make)


def build_pressures(file: ReadFile | None, rules: TeamRules, coverages: Iterable[Coverage]) -> list[Built]:
    """The calls; one whose coverage nothing has is left out, since ``cross`` notes the name."""
    known = {**COVERAGES, **{one.name: one for one in coverages}}

    def make(row: PressureRow, inside: _Inside) -> Pressure:
        if any(name is not None and name not in known for name in (row.coverage, *(a.coverage for a in row.adjust))):
            raise _Refused
        rushes = inside.each("rush", row.rush, _rush)
        drops = inside.each("drop", row.drop, _drop)
        align = inside.each("align", row.align, lambda one: (one.position, _alignment(one, rules)))
        show = inside.each("show", row.show, lambda one: (one.position, _alignment(one, rules)))
        adjust = tuple(_adjustment(number, one, rules, known, inside) for number, one in enumerate(row.adjust))
        inside.check()
        return Pressure(
            name=row.name,
            front=row.front,
            rushes=rushes,
            drops=drops,
            coverage=known[row.coverage],
            align=align,
            conceded=tuple(call_gap(words) for words in row.concede),
            exchanges=tuple(Exchange(one.first, one.second, one.blocker, tuple(one.when)) for one in row.exchange),
            rules=_changes(row.rules),
            by_position=tuple(_by_position(row.by_position, row.edge).items()),
            options=inside.keyed("options", row.options, _option_rule),
            peel=row.peel,
            read=tuple(row.read),
            key=row.key or "",
            show=show,
            adjust=tuple(one for one in adjust if one is not None),
            goes_to=tuple(one for one in row.to if one is not GoesTo.AS_CALLED),
        )

    return _build(file, "pressure", make)


def _changes(row: FitRuleRow) -> Changes:
    return tuple((name, value) for name, value in row if value is not None)


def _by_position(rows: Mapping[str, FitRuleRow], edges: Mapping[str, EdgeRule]) -> dict[str, Changes]:
    """Each position's own rules; an edge said in short is one of them."""
    short = {name: {"edge": rule} for name, rule in edges.items()}
    names = dict.fromkeys((*rows, *edges))
    said = {name: dict(_changes(rows[name])) if name in rows else {} for name in names}
    found = {name: tuple({**short.get(name, {}), **said[name]}.items()) for name in names}
    return {name: changes for name, changes in found.items() if changes}


def _option_rule(row: OptionRuleRow) -> OptionRule:
    named = ((Phase.DIVE, row.dive), (Phase.QUARTERBACK, row.quarterback), (Phase.PITCH, row.pitch))
    owners = tuple((phase, tuple(names)) for phase, names in named if names)
    return OptionRule(row.read_man, row.scrape, row.force, owners, row.plays)


def _adjustment(
    number: int, row: AdjustRow, rules: TeamRules, known: Mapping[str, Coverage], inside: _Inside
) -> Adjustment | None:
    """The adjustment of a row; None where a noun in it was refused."""
    within: Where = ("adjust", number)
    align = inside.each("align", row.align, lambda one: (one.position, _alignment(one, rules)), within)
    rushes, drops = inside.each("rush", row.rush, _rush, within), inside.each("drop", row.drop, _drop, within)
    if (len(align), len(rushes), len(drops)) != (len(row.align), len(row.rush), len(row.drop)):
        return None
    against = tuple(parse_fact(words) for words in row.against)
    try:
        coverage = known[row.coverage] if row.coverage is not None else None
        return Adjustment(against, row.check or "", align, rushes, drops, coverage)
    except FootballValueError as error:
        inside.refused.append((within, error))
        return None


def _rush(row: RushRow) -> Rush:
    second = find_call_gap(row.second_gap)
    return Rush(row.position, call_gap(row.gap), row.order, row.path, row.part, second)


def _drop(row: DropRow) -> Drop:
    gap, second = find_call_gap(row.gap), find_call_gap(row.second_gap)
    return Drop(row.position, row.cover, row.run, row.side, gap, second, row.man or "")


def build_formations(file: ReadFile | None, rules: TeamRules) -> list[Built]:
    """The formations as written; their twins are added by ``with_twins``."""

    def make(row: FormationRow, inside: _Inside) -> Formation:
        formation = lay_out(
            row.name,
            row.left,
            row.right,
            quarterback_yd=row.quarterback,
            backs=[(back.role, back.x, back.y) for back in row.back],
            receivers=[(one.side, one.split, one.on_line) for one in row.receiver],
            measures=rules.measures,
            rule_book=rules.rule_book,
            mirror_name=row.mirror or "",
            key=row.key or "",
            mirror_key=row.mirror_key or "",
            motions=inside.each("motion", row.motion, _motion),
        )
        inside.check()
        # A motion that this formation can't make is refused here, not at the snap.
        inside.each("motion", formation.motions, lambda motion: at_snap(formation, motion, rules.measures))
        return formation

    return _build(file, "formation", make)


def _motion(row: MotionRow) -> FormationMotion:
    return FormationMotion(
        row.name, row.kind, row.who, row.to, row.split, row.attached, tuple(row.plays), row.key or ""
    )


def with_twins(formations: list[Built]) -> tuple[Formation, ...]:
    """The formations, each followed by its twin where it names one."""
    both = []
    for built in formations:
        both.append(built.noun)
        if built.noun.mirror_name:
            both.append(built.noun.mirrored)
    return tuple(both)


def build_schemes(file: ReadFile | None) -> list[Built]:
    """The runs."""

    def make(row: PlayRow, inside: _Inside) -> Scheme:
        option = None
        if row.option is not None:
            option = Option(row.option.name, row.option.read, tuple(row.option.phases))
        attached = AttachedPass(row.attached.zone, row.attached.side) if row.attached is not None else None
        aim = None if row.aim == OUTERMOST else Letter(row.aim)
        blocks = inside.each("block", row.block, _block)
        inside.check()
        return Scheme(row.name, row.family, blocks, aim, option, row.ball_s, row.carrier, row.key or "", attached)

    return _build(file, "play", make)


def _block(row: BlockRow) -> JobRow:
    return JobRow(tuple(parse_who(one) for one in row.who), row.job, row.past, row.optional, row.gap)


def build_protections(file: ReadFile | None) -> list[Built]:
    """The pass protections."""

    def make(row: ProtectionRow, inside: _Inside) -> Protection:
        stay, release = (tuple(parse_who(one) for one in words) for words in (row.stay_in, row.release))
        return Protection(row.name, row.slide, stay, release, row.free, row.key or "")

    return _build(file, "protection", make)


def build_opponents(file: ReadFile | None) -> tuple[ChartedOpponent, ...]:
    """The opponents."""

    def make(row: OpponentRow, inside: _Inside) -> ChartedOpponent:
        runs = inside.each("run", row.run, lambda one: OpponentRun(one.play, one.count, one.formation or "", one.to))
        return ChartedOpponent(row.name, runs, row.next, row.key or "")

    return tuple(one.noun for one in _build(file, "opponent", make))


def build_accepted(file: ReadFile | None) -> tuple[AcceptedLack, ...]:
    """What the staff lives with."""
    return tuple(
        AcceptedLack(row.call, row.why, row.to, row.formation or "", row.play or "", row.play_to, row.lack or "")
        for _, row in rows_of(file, "accepted")
    )


def build_rules(rules_file: ReadFile | None, team_file: ReadFile | None) -> TeamRules:
    """The team's rules; what is not said, or was wrong, keeps its default."""
    book = team_file.shape.rule_book if team_file and isinstance(team_file.shape, TeamFile) else RuleBook.HIGH_SCHOOL
    base = replace(TeamRules(), rule_book=book)
    shape = rules_file.shape if rules_file else None
    if not isinstance(shape, RulesFile):
        return base
    said = {name: value for name, value in shape.rules if value is not None and name != "edge_by_position"}
    said["by_position"] = MappingProxyType(_by_position(shape.rules.by_position, shape.rules.edge_by_position))
    if shape.motion:
        said["motion"] = tuple(
            MotionRule(row.answer, row.kind, row.coverage or "", tuple(row.owner)) for row in shape.motion
        )
    if shape.options:
        said["options"] = MappingProxyType({**base.options, **_options(rules_file, shape)})
    measures = {
        name.replace("_ft", "_yd"): value / (FEET_IN_A_YARD if name.endswith("_ft") else 1)
        for name, value in shape.measures
        if value is not None
    }
    return replace(base, **said, measures=replace(Measures(), **measures), timing=_timing(rules_file, shape.timing))


def _options(file: ReadFile | None, shape: RulesFile) -> dict[str, OptionRule]:
    assert file is not None
    found = {}
    for name, row in shape.options.items():
        try:
            found[name] = _option_rule(row)
        except FootballValueError as error:
            file.findings.add_value_error(("options", name), error, "")
    return found


def _timing(file: ReadFile | None, row: TimingRow) -> Timing:
    assert file is not None
    base = Timing()
    said: dict[str, Any] = {name: value for name, value in row if value is not None}
    for name, default in (("read", base.read), ("rush", base.rush)):
        if name in said:
            own = {kind: Pace(pace.reaction_s, pace.speed_yd_s) for kind, pace in said[name].items()}
            said[name] = MappingProxyType({**default, **own})
    if "ball_s" in said:
        said["ball_s"] = MappingProxyType({**base.ball_s, **said["ball_s"]})
    timing = replace(base, **said)
    if timing.never_after_s < timing.late_after_s:
        expected = f"at least late_after_s ({timing.late_after_s:g})"
        file.findings.add("timing.never_after_s", expected, timing.never_after_s)
    return timing


def build_words(file: ReadFile | None) -> Words:
    """The team's own words."""
    if file is None or not isinstance(file.shape, RulesFile):
        return Words()
    words = file.shape.words
    gaps: Mapping[str, str] = {letter: word for letter, word in words.gaps if word is not None}
    return Words(MappingProxyType(dict(gaps)), MappingProxyType(dict(words.terms)))
