"""The shape of every file in a team's folder, as a coach writes it: keys, words, ranges.

These models are the one place that says what TOML may hold; the published JSON Schemas are made from them. They check
each value by itself. Whether names fit together, and whether the football can be, is checked where nouns are built.
"""

from __future__ import annotations

from calendar import monthrange
from typing import Annotated, Any, TypeVar

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, WithJsonSchema, model_validator

from quizgen.football.defense import DEFENSE_SIZE, Landmark, Numbering, PlayerClass, Shade
from quizgen.football.formation import Role, RuleBook
from quizgen.football.keys import LONGEST_KEY, slug
from quizgen.football.pressure import Coverage, CoverJob, GoesTo, Path, RunJob, RushPart, Trigger
from quizgen.football.rules import (
    AwayRule,
    CrackRule,
    DownRule,
    EdgeRule,
    FlowRule,
    KickRule,
    LeadRule,
    PullFirst,
    PullOwnSide,
    PullSecond,
    ReadPlay,
)
from quizgen.football.scheme import Flow, Job, LeftFree, Phase, ReadMan, SchemeFamily, Slide
from quizgen.football.sides import Letter, Side, Toward

EnumT = TypeVar("EnumT")
Word = Annotated[EnumT, Field(strict=False)]
"""A word of a fixed list: strict in everything else, but TOML writes it as text."""


def _check_name(value: str) -> str:
    if not value.isprintable():  # a blank that is none, say, as word processors write it: no picture takes it
        raise ValueError("a name of printable characters and plain blanks")
    return value


NAME_PATTERN = r"^[^\s\x00-\x1f](?:[^\x00-\x1f]{0,58}[^\s\x00-\x1f])?$"
Name = Annotated[
    str,
    Field(pattern=NAME_PATTERN, description="a name of 1 to 60 characters on one line"),
    AfterValidator(_check_name),
]


def _check_key(value: str) -> str:
    if value != slug(value):
        raise ValueError(KEY_WORDS)
    return value


KEY_WORDS = "a key such as 'trips-right': small letters and digits, with - between words"
Key = Annotated[str, Field(min_length=1, max_length=LONGEST_KEY, description=KEY_WORDS), AfterValidator(_check_key)]
"""What a noun is known by for good: the slug of its first name. A renamed noun keeps it by writing it down."""
Text = Annotated[str, Field(max_length=2000, description="text of at most 2000 characters")]
GAP_PATTERN = r"^(to|away) ([A-F]|edge)$"
GAP_WORDS = "a gap on the call's side or away from it, such as 'to A', 'away C' or 'to edge' (the outermost)"
GapWord = Annotated[str, Field(pattern=GAP_PATTERN, description=GAP_WORDS)]

ROLES = "|".join(role.value for role in Role)
FLOWS = "|".join(flow.value for flow in Flow)
WHO_PATTERN = rf"^(?:(?:{FLOWS}) )?(?:line|{ROLES})$"
WHO_WORDS = f"'line' or one of {', '.join(role.value for role in Role)}, with 'play side' or 'back side' before it"
MAN_WORDS = ("number one", "number two", "number three", "end", "wing", "slotback", "fullback", "tailback")
MAN_PATTERN = rf"^(?:{'|'.join((*MAN_WORDS, 'quarterback'))})$"
BLOCKER_PATTERN = r"^(?:guard|tackle|end|wing)$"
OLD_OVER_THE_TOP = "read out"  # until November 2026; a file that still says so gets one line with the new word


def _listed(value: Any) -> Any:
    return [value] if isinstance(value, str) else value


def _number_as_text(value: Any) -> Any:
    return str(value) if type(value) is int else value


def _date_as_text(value: Any) -> Any:
    return value.isoformat() if hasattr(value, "isoformat") else value


def _check_date(value: str) -> str:
    year, month, day = (int(part) for part in value.split("-"))
    if value and not (year >= 2000 and 1 <= month <= 12 and 1 <= day <= monthrange(year, month)[1]):
        raise ValueError("a day of the calendar")
    return value


def _check_label(value: str) -> str:
    if not value.isprintable() or value != value.strip():
        raise ValueError("one to three printable characters for the diagram, with no blank at either end")
    return value


def _check_renamed(value: Any) -> Any:
    if value == OLD_OVER_THE_TOP:
        raise ValueError(f"{PullSecond.OVER_THE_TOP.value!r}, as this is called now")
    return value


OneWho = Annotated[str, Field(pattern=WHO_PATTERN, description=WHO_WORDS)]
PullWord = Annotated[Word[PullSecond], BeforeValidator(_check_renamed)]
WhoList = Annotated[
    list[OneWho],
    Field(min_length=1, max_length=8, description=f"whom, or a list tried in order: {WHO_WORDS}"),
    BeforeValidator(_listed),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "string", "pattern": WHO_PATTERN},
                {"type": "array", "items": {"type": "string", "pattern": WHO_PATTERN}, "minItems": 1, "maxItems": 8},
            ],
            "description": f"whom, or a list tried in order: {WHO_WORDS}",
        }
    ),
]
GOES_TO_WORDS = [one.value for one in GoesTo]
GOES_TO_TEXT = f"one of {', '.join(GOES_TO_WORDS)}, or a list of them: the first that names a side holds"
GoesToList = Annotated[
    list[Word[GoesTo]],
    Field(max_length=len(GOES_TO_WORDS), description=GOES_TO_TEXT),
    BeforeValidator(_listed),
    WithJsonSchema(
        {
            "anyOf": [
                {"enum": GOES_TO_WORDS},
                {"type": "array", "items": {"enum": GOES_TO_WORDS}, "maxItems": len(GOES_TO_WORDS)},
            ],
            "description": GOES_TO_TEXT,
        }
    ),
]
TECHNIQUE_WORDS = "a technique of the team's numbering such as 3, '2i' or, at linebacker depth, 30"
Technique = Annotated[
    str,
    Field(min_length=1, max_length=3, description=TECHNIQUE_WORDS),
    BeforeValidator(_number_as_text),
    WithJsonSchema(
        {
            "anyOf": [{"type": "integer", "minimum": 0, "maximum": 90}, {"type": "string", "maxLength": 3}],
            "description": TECHNIQUE_WORDS,
        }
    ),
]
Day = Annotated[
    str,
    Field(pattern=r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$", description="a day such as '2027-11-13'"),
    AfterValidator(_check_date),
    BeforeValidator(_date_as_text),
]
Yards = Annotated[float, Field(ge=-30, le=30, description="yards between -30 and 30")]
Depth = Annotated[float, Field(ge=0.3, le=40, description="yards off the line between 0.3 and 40")]
Feet = Annotated[float, Field(ge=0, le=10, description="feet between 0 and 10")]
Speed = Annotated[float, Field(ge=0.5, le=11, description="yards a second between 0.5 and 11")]
Delay = Annotated[float, Field(ge=0, le=5, description="seconds between 0 and 5")]
BallTime = Annotated[float, Field(ge=0.5, le=6, description="seconds between 0.5 and 6")]


class Shape(BaseModel):
    """Base of every row: nothing unknown, nothing converted, nothing that is no number."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False)


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
        AfterValidator(_check_label),
    ]
    group: Name
    player_class: Word[PlayerClass] = Field(alias="class")
    mirrors: Name | None = None


class PositionsFile(Shape):
    """positions.toml: the team's names for its men."""

    position: list[PositionRow] = Field(min_length=DEFENSE_SIZE)


class FitRuleRow(Shape):
    """How a man plays what staffs teach differently: for the team, a call, a position, or a position in a call."""

    pull_first: Word[PullFirst] | None = None
    pull_second: PullWord | None = None
    pull_backer: PullWord | None = None
    pull_own_side: Word[PullOwnSide] | None = None
    flow: Word[FlowRule] | None = None
    down: Word[DownRule] | None = None
    edge: Word[EdgeRule] | None = None
    back_edge: Word[EdgeRule] | None = None
    kick: Word[KickRule] | None = None
    away: Word[AwayRule] | None = None
    lead: Word[LeadRule] | None = None
    trap: Word[LeadRule] | None = None
    crack: Word[CrackRule] | None = None


class RuleRow(FitRuleRow):
    """The team's answers to what staffs differ on; ``edge_by_position`` is short for an edge in ``by_position``."""

    by_position: dict[Name, FitRuleRow] = {}
    edge_by_position: dict[Name, Word[EdgeRule]] = {}
    numbering: Word[Numbering] | None = None


OWNER_WORDS = "positions or run jobs in an order of preference, such as ['Sam', 'force']"
Owners = Annotated[
    list[Name],
    Field(min_length=1, max_length=8, description=OWNER_WORDS),
    BeforeValidator(_listed),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "string", "pattern": NAME_PATTERN},
                {"type": "array", "items": {"type": "string", "pattern": NAME_PATTERN}, "minItems": 1, "maxItems": 8},
            ],
            "description": OWNER_WORDS,
        }
    ),
]


class OptionRuleRow(Shape):
    """Who takes which phase of an option; the owners of a phase may be named, in an order of preference."""

    read_man: Word[Phase]
    scrape: Word[Phase]
    force: Word[Phase]
    dive: Owners | None = None
    quarterback: Owners | None = None
    pitch: Owners | None = None
    plays: Word[ReadPlay] = ReadPlay.FAST


class MeasureRow(Shape):
    """Splits in feet and the width of a man in yards."""

    guard_split_ft: Feet | None = None
    tackle_split_ft: Feet | None = None
    end_split_ft: Feet | None = None
    man_width_yd: Annotated[float, Field(ge=0.5, le=1.5, description="yards between 0.5 and 1.5")] | None = None


class PaceRow(Shape):
    """How long a man takes to react, and his speed after that."""

    reaction_s: Annotated[float, Field(ge=0, le=3, description="seconds between 0 and 3")]
    speed_yd_s: Speed


class TimingRow(Shape):
    """Times in seconds and speeds in yards a second; what is left out keeps its default."""

    read: dict[Word[PlayerClass], PaceRow] | None = None
    rush: dict[Word[PlayerClass], PaceRow] | None = None
    ball_s: dict[Word[SchemeFamily], BallTime] | None = None
    order_delay_s: Delay | None = None
    ball_lateral_yd_s: Speed | None = None
    puller_yd_s: Speed | None = None
    line_move_s: Delay | None = None
    late_after_s: Delay | None = None
    never_after_s: Delay | None = None
    cross_clearance_s: Delay | None = None


class GapWords(Shape):
    """What the team calls each gap."""

    A: Name | None = None
    B: Name | None = None
    C: Name | None = None
    D: Name | None = None
    E: Name | None = None
    F: Name | None = None


class WordsRow(Shape):
    """The team's own words."""

    gaps: GapWords = GapWords()
    terms: dict[Annotated[Name, BeforeValidator(_check_renamed)], Name] = {}


class RulesFile(Shape):
    """rules.toml: team rules, measures, timing and words; all of it optional."""

    rules: RuleRow = RuleRow()
    options: dict[Name, OptionRuleRow] = {}
    measures: MeasureRow = MeasureRow()
    timing: TimingRow = TimingRow()
    words: WordsRow = WordsRow()


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
    man: (
        Annotated[str, Field(pattern=MAN_PATTERN, description=f"one of {', '.join(MAN_WORDS)}, quarterback")] | None
    ) = None


class ExchangeRow(Shape):
    """Two men who trade gaps when a blocker does one of these things."""

    first: Name
    second: Name
    blocker: Annotated[str, Field(pattern=BLOCKER_PATTERN, description="one of guard, tackle, end, wing")]
    when: list[Word[Trigger]] = Field(min_length=1)


class PressureRow(Shape):
    """A call, written for the side it goes to; ``edge`` is short for an edge in ``by_position``."""

    name: Name
    key: Key | None = None
    front: Name
    to: GoesToList = []
    coverage: Word[Coverage]
    rush: list[RushRow]
    drop: list[DropRow] = []
    align: list[PlaceRow] = []
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


class PressuresFile(Shape):
    """pressures.toml: the calls."""

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


AIM_WORDS = "a gap's letter, or 'edge'"


class PlayRow(Shape):
    """A run, written for the side it goes to."""

    name: Name
    key: Key | None = None
    family: Word[SchemeFamily]
    aim: Annotated[str, Field(pattern=r"^(?:[A-F]|edge)$", description=AIM_WORDS)]
    block: list[BlockRow] = Field(min_length=1)
    option: OptionRow | None = None
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


FILES: dict[str, type[Shape]] = {
    "team.toml": TeamFile,
    "positions.toml": PositionsFile,
    "rules.toml": RulesFile,
    "fronts.toml": FrontsFile,
    "pressures.toml": PressuresFile,
    "formations.toml": FormationsFile,
    "plays.toml": PlaysFile,
    "roster.toml": RosterFile,
}
REQUIRED = ("team.toml", "positions.toml", "fronts.toml", "pressures.toml", "formations.toml", "plays.toml")
