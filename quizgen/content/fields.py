"""What a coach may write as a value in TOML: names, words of a list, gaps, yards, seconds; the base of every row."""

from __future__ import annotations

import re
from calendar import monthrange
from typing import Annotated, Any, TypeVar

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, WithJsonSchema

from quizgen.football.coverage import RECEIVER_WORDS
from quizgen.football.facts import OF_A_SIDE, OF_THE_WHOLE, Fact
from quizgen.football.formation import Role
from quizgen.football.keys import LONGEST_KEY, slug
from quizgen.football.pressure import GoesTo
from quizgen.football.rules import PullSecond
from quizgen.football.scheme import Flow

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
RECEIVERS = f"one of {', '.join(RECEIVER_WORDS)}"
Receiver = Annotated[str, Field(pattern=rf"^(?:{'|'.join(RECEIVER_WORDS)})$", description=RECEIVERS)]
MAN_PATTERN = rf"^(?:{'|'.join((*RECEIVER_WORDS, 'quarterback'))})$"
BLOCKER_PATTERN = r"^(?:guard|tackle|end|wing)$"
OLD_OVER_THE_TOP = "read out"  # until November 2026; a file that still says so gets one line with the new word


def listed(value: Any) -> Any:
    """One word as a list of one."""
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


def check_label(value: str) -> str:
    """Refuse a label that no diagram can show."""
    if not value.isprintable() or value != value.strip():
        raise ValueError("one to three printable characters for the diagram, with no blank at either end")
    return value


def check_renamed(value: Any) -> Any:
    """Refuse the old word of a rule, with the new one."""
    if value == OLD_OVER_THE_TOP:
        raise ValueError(f"{PullSecond.OVER_THE_TOP.value!r}, as this is called now")
    return value


OneWho = Annotated[str, Field(pattern=WHO_PATTERN, description=WHO_WORDS)]
PullWord = Annotated[Word[PullSecond], BeforeValidator(check_renamed)]
WhoList = Annotated[
    list[OneWho],
    Field(min_length=1, max_length=8, description=f"whom, or a list tried in order: {WHO_WORDS}"),
    BeforeValidator(listed),
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
    BeforeValidator(listed),
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
FACTS = "|".join(re.escape(fact.value) for fact in Fact)
SIDED_FACTS = "|".join(re.escape(fact.value) for fact in OF_A_SIDE)
FACT_PATTERN = rf"^(?:(?:{SIDED_FACTS}) (?:to|away)|{FACTS})$"
FACT_TEXT = (
    f"a fact of their formation: one of {', '.join(fact.value for fact in OF_A_SIDE)}, alone or with 'to' or 'away'"
    f" behind it; or one of {', '.join(fact.value for fact in OF_THE_WHOLE)}"
)
FactList = Annotated[
    list[Annotated[str, Field(pattern=FACT_PATTERN, description=FACT_TEXT)]],
    Field(min_length=1, max_length=4, description=f"what must all hold: {FACT_TEXT}"),
    BeforeValidator(listed),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "string", "pattern": FACT_PATTERN},
                {"type": "array", "items": {"type": "string", "pattern": FACT_PATTERN}, "minItems": 1, "maxItems": 4},
            ],
            "description": f"what must all hold: {FACT_TEXT}",
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
