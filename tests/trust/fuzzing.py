"""Randomly spoiled inputs, and the law for them: a documented refusal or a valid value, nothing else.

Each target is one of our parsers with samples that it accepts. A sample is cut, doubled, spliced with another, filled
with strings that have broken parsers before; the run's seed is printed, and the same seed makes the same inputs.
"""

import random
import re
import traceback
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any, TypeVar

from quizgen.football.errors import GapsoundError
from server.errors import Refusal, SettingProblem
from server.i18n.languages import language
from server.web.responses import clean

Input = TypeVar("Input", str, bytes)
NASTY = (
    *("", " ", "\n", "\r\n", "\t", "\x00", "\x1b[31m", "\ufeff", "\u202e", "\u0301", "\ud800", "\udfff", "\U0001f3c8"),
    *(
        '"',
        "'",
        '"""',
        "'''",
        "\\",
        "[",
        "]",
        "[[",
        "]]",
        "{",
        "}",
        "{0}",
        "{found}",
        "%s",
        "%00",
        "$(x)",
        ";",
        ",",
        "=",
    ),
    *(
        "nan",
        "-inf",
        "1e999",
        "-1",
        "0",
        "1_0",
        "٣",
        "9" * 400,
        "0x10",
        "1e-400",
        "true",
        "null",
        "2026-02-30",
        "24:00",
    ),
    *("../..", "/dev/null", "<script>", "a" * 3000, "[a]\na=1\n", "=1+1", "é", "ß", "ﬀ", "İ", "#", "\\ud800", "\\x00"),
)


def spoiled(chance: random.Random, sample: str, others: Sequence[str]) -> str:
    """A spoiled version of a sample."""
    text = sample
    for _ in range(chance.choice((1, 1, 1, 2, 3, 6))):
        at, end = sorted(chance.randint(0, len(text)) for _ in range(2))
        end = min(end, at + chance.choice((1, 3, 20, 400)))
        way = chance.randrange(8)
        if way == 0:
            text = text[:at] + text[end:]
        elif way == 1:
            text = text[:end] + text[at:end] * chance.choice((1, 1, 2, 50)) + text[end:]
        elif way == 2:
            text = text[:at] + chance.choice(NASTY) + text[at:]
        elif way == 3:
            text = text[:at] + chance.choice(NASTY) + text[end:]
        elif way == 4:
            other = chance.choice(others)
            text = text[:at] + other[chance.randint(0, len(other)) :]
        elif way == 5:
            text = re.sub(
                r"[\w.+-]+", lambda m: chance.choice(NASTY) if chance.random() < 0.2 else m[0], text, count=30
            )
        elif way == 6:
            lines = text.splitlines(keepends=True)
            chance.shuffle(lines)
            text = "".join(lines[: max(1, len(lines) - chance.randrange(3))])
        else:
            text = text[:at] + "".join(chr(chance.randrange(1, 0x300)) for _ in range(chance.randrange(6))) + text[end:]
    return text[:200_000]


def spoiled_bytes(chance: random.Random, sample: bytes) -> bytes:
    """A spoiled version of a sample in bytes."""
    raw = bytearray(sample)
    for _ in range(chance.choice((1, 1, 2, 5))):
        at, end = sorted(chance.randint(0, len(raw)) for _ in range(2))
        way = chance.randrange(4)
        if way == 0:
            del raw[at : min(end, at + chance.choice((1, 5, 500)))]
        elif way == 1 and raw:
            raw[min(at, len(raw) - 1)] ^= 1 << chance.randrange(8)
        elif way == 2:
            raw[at:at] = chance.randbytes(chance.choice((1, 4, 60)))
        else:
            raw[at:at] = raw[at : min(end, at + 200)]
    return bytes(raw)


@dataclass(frozen=True)
class Target:
    """A parser: ``make`` an input, ``parse`` it (raising a documented refusal, or checking the value)."""

    name: str
    share: int
    make: Callable[[random.Random], Any]
    parse: Callable[[Any], object]


@dataclass
class Tally:
    """The results for a target's inputs. ``wrong`` holds a description and the first input of each kind."""

    inputs: int = 0
    taken: int = 0
    refused: int = 0
    wrong: dict[str, str] = field(default_factory=dict)


def check_refusal(error: Exception) -> None:
    """Check that a refusal has a message in both languages, and that it can be sent."""
    lines = [error.message, *error.details] if isinstance(error, Refusal) else str(error).splitlines()
    assert lines, "a refusal that says nothing"
    assert lines[0].strip(), "a refusal that says nothing"
    for line in lines:
        for code in ("en", "es"):
            clean(language(code).translate(line)).encode()


def fuzz(target: Target, inputs: int, seed: int) -> Tally:
    """Give a parser that many inputs."""
    chance, tally = random.Random(f"{target.name}/{seed}"), Tally()
    for _ in range(inputs):
        one = target.make(chance)
        tally.inputs += 1
        try:
            try:
                target.parse(one)
                tally.taken += 1
            except (Refusal, SettingProblem, GapsoundError) as refusal:
                check_refusal(refusal)
                tally.refused += 1
        except Exception as error:
            last = next(
                f for f in reversed(traceback.extract_tb(error.__traceback__)) if "site-packages" not in f.filename
            )
            kind = f"{type(error).__name__} in {last.name}, line {last.lineno}: {str(error)[:120]!r}"
            tally.wrong.setdefault(re.sub(r"\d+", "9", kind), f"{kind}\n    {one!r:.1500}")
    return tally
