"""The shape of every file in a team's folder, as a coach writes it: keys, words, ranges.

These models are the one place that says what TOML may hold; the published JSON Schemas are made from them. They check
each value by itself. Whether names fit together, and whether the football can be, is checked where nouns are built.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import AfterValidator, Field, model_validator

from quizgen.content.fields import (
    BLOCKER_PATTERN,
    MAN_PATTERN,
    RECEIVERS,
    BallTime,
    Day,
    Depth,
    FactList,
    GapWord,
    GoesToList,
    Key,
    Name,
    OneWho,
    Receiver,
    Shape,
    Technique,
    Text,
    WhoList,
    Word,
    Yards,
    check_label,
)
from quizgen.content.rule_rows import FitRuleRow, OptionRuleRow, RulesFile
from quizgen.football.defense import DEFENSE_SIZE, Landmark, PlayerClass, Shade
from quizgen.football.formation import Role, RuleBook
from quizgen.football.motion import MotionKind
from quizgen.football.pressure import CoverJob, Path, RunJob, RushPart, Trigger
from quizgen.football.rules import (
    EdgeRule,
)
from quizgen.football.scheme import Flow, Job, LeftFree, Phase, ReadMan, SchemeFamily, Slide, ThrowZone
from quizgen.football.sides import Letter, Side, Toward


class TeamFile(Shape):
    """team.toml: who the team is."""

    name: Name
    school: Name | None = None
    time_zone: Annotated[str, Field(max_length=60, description="a time zone such as 'America/Chicago'")] = "UTC"
    season_end: Day | None = None
    rule_book: Word[RuleBook] = RuleBook.HIGH_SCHOOL
    about: dict[Name, Text] = {}


class PositionRow(Shape):
    """A position under the team's own name."""

    name: Name
    key: Key | None = None
    label: Annotated[
        str,
        Field(min_length=1, max_length=3, description="one to three characters for the diagram"),
        AfterValidator(check_label),
    ]
    group: Name
    player_class: Word[PlayerClass] = Field(alias="class")
    mirrors: Name | None = None


class PositionsFile(Shape):
    """positions.toml: the team's names for its men."""

    position: list[PositionRow] = Field(min_length=DEFENSE_SIZE)


class PlaceRow(Shape):
    """Where a man lines up: a technique and a side, or a landmark with shade, yards further out and depth."""

    position: Name
    technique: Technique | None = None
    on: Word[Landmark] | None = None
    shade: Word[Shade] | None = None
    side: Word[Toward] | None = None
    out: Yards = 0.0
    depth: Depth | None = None

    @model_validator(mode="after")
    def _one_way(self) -> PlaceRow:
        if (self.technique is None) == (self.on is None):
            raise ValueError("either 'technique' or 'on'")
        if self.technique is not None and self.shade is not None:
            raise ValueError("no 'shade' beside 'technique', which says it already")
        if self.on is not None and self.depth is None:
            raise ValueError("a 'depth' in yards beside 'on'")
        centered = self.on in (Landmark.CENTER, Landmark.MIDDLE) or self.technique == "0"
        if self.side is None and not (centered and self.shade in (None, Shade.HEAD) and self.out == 0):
            raise ValueError("a 'side': 'to' or 'away'")
        return self


class SpotRow(PlaceRow):
    """One position's place in a front."""

    down: bool = False


class FrontRow(Shape):
    """A front, written for a call to the right."""

    name: Name
    key: Key | None = None
    spot: list[SpotRow]


class FrontsFile(Shape):
    """fronts.toml: where all eleven line up."""

    front: list[FrontRow] = Field(min_length=1)


class RushRow(Shape):
    """One rusher."""

    position: Name
    gap: GapWord
    order: Annotated[int, Field(ge=1, le=6, description="a whole number from 1 (first through) to 6")] = 1
    path: Word[Path] = Path.STRAIGHT
    part: Word[RushPart] = RushPart.GAP
    second_gap: GapWord | None = None


class DropRow(Shape):
    """One man who does not rush."""

    position: Name
    cover: Word[CoverJob]
    run: Word[RunJob]
    side: Word[Toward] | None = None
    gap: GapWord | None = None
    second_gap: GapWord | None = None
    man: Annotated[str, Field(pattern=MAN_PATTERN, description=f"{RECEIVERS}, quarterback")] | None = None


class ExchangeRow(Shape):
    """Two men who trade gaps when a blocker does one of these things."""

    first: Name
    second: Name
    blocker: Annotated[str, Field(pattern=BLOCKER_PATTERN, description="one of guard, tackle, end, wing")]
    when: list[Word[Trigger]] = Field(min_length=1)


class AdjustRow(Shape):
    """What a call changes against a formation: it checks to another call, or men line up elsewhere or have another job.

    The first row that holds counts.
    """

    against: FactList
    check: Name | None = None
    align: list[PlaceRow] = []
    rush: list[RushRow] = []
    drop: list[DropRow] = []
    coverage: Name | None = None

    @model_validator(mode="after")
    def _one_way(self) -> AdjustRow:
        changes = bool(self.align or self.rush or self.drop or self.coverage)
        if (self.check is not None) == changes:
            raise ValueError("either a 'check' or what changes: 'align', 'rush', 'drop'")
        return self


class PressureRow(Shape):
    """A call, written for the side it goes to; ``edge`` is short for an edge in ``by_position``."""

    name: Name
    key: Key | None = None
    front: Name
    to: GoesToList = []
    coverage: Name
    rush: list[RushRow]
    drop: list[DropRow] = []
    align: list[PlaceRow] = []
    show: list[PlaceRow] = []
    adjust: list[AdjustRow] = []
    exchange: list[ExchangeRow] = []
    concede: list[GapWord] = []
    edge: dict[Name, Word[EdgeRule]] = {}
    rules: FitRuleRow = FitRuleRow()
    by_position: dict[Name, FitRuleRow] = {}
    options: dict[Name, OptionRuleRow] = {}
    peel: bool = False
    read: Annotated[
        list[Name],
        Field(
            max_length=11, description="positions whom an option reads on the edge, where the look alone does not say"
        ),
    ] = []


Count = Annotated[int, Field(ge=0, le=9, description="how many men, from 0 to 9")]


class CoverageRow(Shape):
    """A coverage family of the team's own: how many men are deep, under and in man, and whom somebody must have.

    Left out, ``man`` is 0 beside ``under``, and otherwise a number that is left out counts nothing: the rest.
    """

    name: Name
    key: Key | None = None
    deep: Count
    under: Count | None = None
    man: Count | None = None
    whom: list[Receiver] = []


class PressuresFile(Shape):
    """pressures.toml: the calls, and coverages of the team's own."""

    coverage: list[CoverageRow] = []
    pressure: list[PressureRow] = Field(min_length=1)


class BackRow(Shape):
    """A back and where he stands."""

    role: Word[Role]
    x: Yards
    y: Annotated[float, Field(ge=0.5, le=15, description="yards behind the line between 0.5 and 15")]


class ReceiverRow(Shape):
    """A split man: yards outside the last attached man of his side, on the line or off it."""

    side: Word[Side]
    split: Annotated[float, Field(ge=0, le=40, description="yards outside the last attached man")]
    on_line: bool


class MotionRow(Shape):
    """One man's motion from this formation: who, which way, to which side (ours), and the plays that go with it.

    ``split`` and ``attached`` say where a short motion stops.
    """

    name: Name
    key: Key | None = None
    kind: Word[MotionKind]
    who: Receiver
    to: Word[Side]
    split: Annotated[float, Field(ge=1, le=25, description="yards outside the last attached man, 1 to 25")] | None = (
        None
    )
    attached: bool = False
    plays: list[Name] = []


class FormationRow(Shape):
    """A formation, left and right as the defense sees them; attached men from the center out."""

    name: Name
    key: Key | None = None
    mirror: Name | None = None
    mirror_key: Key | None = None
    left: list[Word[Role]]
    right: list[Word[Role]]
    quarterback: Annotated[float, Field(ge=0.5, le=15, description="his yards behind the line")] = 1.5
    back: list[BackRow] = []
    receiver: list[ReceiverRow] = []
    motion: list[MotionRow] = []


class FormationsFile(Shape):
    """formations.toml: the sets the offense lines up in."""

    formation: list[FormationRow] = Field(min_length=1)


class BlockRow(Shape):
    """Who does which job; the more particular row overrules the more general."""

    who: WhoList
    job: Word[Job]
    past: Word[Role] | None = None
    optional: bool = False
    gap: Word[Letter] | None = None


class OptionRow(Shape):
    """Whom the quarterback reads, and the phases the play has."""

    name: Name
    read: Word[ReadMan]
    phases: list[Word[Phase]] = Field(min_length=1)


class AttachedRow(Shape):
    """The pass attached to a run: where it is thrown, on which side of the run."""

    zone: Word[ThrowZone]
    side: Word[Flow]


AIM_WORDS = "a gap's letter, or 'edge'"


class PlayRow(Shape):
    """A run, written for the side it goes to."""

    name: Name
    key: Key | None = None
    family: Word[SchemeFamily]
    aim: Annotated[str, Field(pattern=r"^(?:[A-F]|edge)$", description=AIM_WORDS)]
    block: list[BlockRow] = Field(min_length=1)
    option: OptionRow | None = None
    attached: AttachedRow | None = None
    ball_s: BallTime | None = None
    carrier: Word[Role] = Role.TAILBACK


class ProtectionRow(Shape):
    """A pass protection; the play's side is the one the center turns to."""

    name: Name
    key: Key | None = None
    slide: Word[Slide]
    stay_in: list[OneWho] = []
    release: list[OneWho] = []
    free: Word[LeftFree] = LeftFree.WIDEST


class PlaysFile(Shape):
    """plays.toml: runs and pass protections."""

    play: list[PlayRow] = Field(min_length=1)
    protection: list[ProtectionRow] = []


class PlayerRow(Shape):
    """A player: number, first name or nickname, positions; nothing else."""

    number: Annotated[int, Field(ge=0, le=99, description="a whole number from 0 to 99")]
    name: Name
    positions: list[Name] = Field(min_length=1, max_length=6)


class RosterFile(Shape):
    """roster.toml: the players."""

    player: list[PlayerRow] = []


class OpponentRunRow(Shape):
    """How often an opponent runs a play; a play or formation that the team does not have stands under his own word."""

    play: Name
    count: Annotated[float, Field(gt=0, le=100_000, description="how often: a number above 0 and up to 100000")]
    formation: Name | None = None
    to: Word[Side] | None = None


class OpponentRow(Shape):
    """An opponent and what he runs; one of them may be the next one."""

    name: Name
    key: Key | None = None
    next: bool = False
    run: list[OpponentRunRow] = []


class OpponentsFile(Shape):
    """opponents.toml: what the opponents run."""

    opponent: list[OpponentRow] = []


class AcceptedRow(Shape):
    """A lack of a call that the staff lives with, and why; what is left out means any."""

    call: Name
    to: Word[Side] | None = None
    formation: Name | None = None
    play: Name | None = None
    play_to: Word[Side] | None = None
    why: Annotated[Text, Field(min_length=1, description="why the staff lives with it")]
    lack: Annotated[str, Field(pattern="^[0-9a-f]{12}$", description="12 of 0-9 and a-f")] | None = None


class AcceptedFile(Shape):
    """accepted.toml: what is short and stays so."""

    accepted: list[AcceptedRow] = []


FILES: dict[str, type[Shape]] = {
    "team.toml": TeamFile,
    "positions.toml": PositionsFile,
    "rules.toml": RulesFile,
    "fronts.toml": FrontsFile,
    "pressures.toml": PressuresFile,
    "formations.toml": FormationsFile,
    "plays.toml": PlaysFile,
    "roster.toml": RosterFile,
    "opponents.toml": OpponentsFile,
    "accepted.toml": AcceptedFile,
}
REQUIRED = ("team.toml", "positions.toml", "fronts.toml", "pressures.toml", "formations.toml", "plays.toml")
