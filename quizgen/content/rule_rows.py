"""The shape of rules.toml, as a coach writes it; a call uses its parts too. See ``quizgen.content.rows``."""

from __future__ import annotations

from typing import Annotated

from pydantic import BeforeValidator, Field, WithJsonSchema

from quizgen.content.fields import (
    NAME_PATTERN,
    BallTime,
    Delay,
    Feet,
    Name,
    PullWord,
    Shape,
    Speed,
    Word,
    check_renamed,
    listed,
)
from quizgen.football.defense import Numbering, PlayerClass
from quizgen.football.motion import MotionAnswer, MotionKind
from quizgen.football.rules import (
    AttachedRule,
    AwayRule,
    CrackRule,
    DownRule,
    EdgeRule,
    FlowRule,
    KickRule,
    LeadRule,
    LooksRule,
    PullFirst,
    PullOwnSide,
    ReadPlay,
    SlantRule,
    SplitFlowRule,
)
from quizgen.football.scheme import Phase, SchemeFamily


class FitRuleRow(Shape):
    """How a man plays what staffs teach differently: for the team, a call, a position, or a position in a call."""

    pull_first: Word[PullFirst] | None = None
    pull_second: PullWord | None = None
    pull_backer: PullWord | None = None
    pull_own_side: Word[PullOwnSide] | None = None
    flow: Word[FlowRule] | None = None
    split_flow: Word[SplitFlowRule] | None = None
    slant: Word[SlantRule] | None = None
    down: Word[DownRule] | None = None
    looks: Word[LooksRule] | None = None
    edge: Word[EdgeRule] | None = None
    back_edge: Word[EdgeRule] | None = None
    kick: Word[KickRule] | None = None
    away: Word[AwayRule] | None = None
    lead: Word[LeadRule] | None = None
    trap: Word[LeadRule] | None = None
    crack: Word[CrackRule] | None = None
    attached: Word[AttachedRule] | None = None


class RuleRow(FitRuleRow):
    """The team's answers to what staffs differ on; ``edge_by_position`` is short for an edge in ``by_position``."""

    by_position: dict[Name, FitRuleRow] = {}
    edge_by_position: dict[Name, Word[EdgeRule]] = {}
    numbering: Word[Numbering] | None = None


OWNER_WORDS = "positions or run jobs in an order of preference, such as ['Sam', 'force']"
Owners = Annotated[
    list[Name],
    Field(min_length=1, max_length=8, description=OWNER_WORDS),
    BeforeValidator(listed),
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


class MotionRuleRow(Shape):
    """What the defense does when a man goes in motion, and who has him; the first row that fits counts.

    ``coverage`` is a family's name, 'man' or 'zone'; ``owner`` are run jobs, 'edge' or positions, tried in order.
    """

    kind: Word[MotionKind] | None = None
    coverage: Name | None = None
    answer: Word[MotionAnswer]
    owner: list[Name] = Field(default=[], max_length=8)


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
    terms: dict[Annotated[Name, BeforeValidator(check_renamed)], Name] = {}


class RulesFile(Shape):
    """rules.toml: team rules, measures, timing and words; all of it optional."""

    rules: RuleRow = RuleRow()
    options: dict[Name, OptionRuleRow] = {}
    motion: list[MotionRuleRow] = []
    measures: MeasureRow = MeasureRow()
    timing: TimingRow = TimingRow()
    words: WordsRow = WordsRow()
