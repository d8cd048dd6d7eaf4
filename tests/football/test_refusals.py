"""Values that no noun may have: each is refused, and the message names the field, what stands there and what was
expected."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from quizgen.football.coverage import COVERAGES, Coverage
from quizgen.football.defense import Alignment, Front, Landmark, Numbering, PlayerClass, Position, Spot, parse_technique
from quizgen.football.errors import FootballValueError
from quizgen.football.formation import Formation, OffensivePlayer, Role, RuleBook
from quizgen.football.layout import attached, lay_out
from quizgen.football.pressure import CallGap, CoverJob, Drop, Pressure, RunJob, Rush, RushPart
from quizgen.football.rules import Measures, OptionRule, Pace
from quizgen.football.scheme import (
    Job,
    JobRow,
    Option,
    Phase,
    Protection,
    ReadMan,
    Scheme,
    SchemeFamily,
    Slide,
    parse_who,
)
from quizgen.football.sides import Letter, Side, Toward
from tests.outside.field import formation, row

Build = Callable[[], object]
A_GAP = CallGap(Toward.TO, Letter.A)
MEN = formation().players
G, T, E, W = Role.GUARD, Role.TACKLE, Role.END, Role.WING


def eleven_spots(count: int = 11) -> tuple[Spot, ...]:
    return tuple(Spot(f"p{i}", Alignment(Landmark.MIDDLE, Toward.TO)) for i in range(count))


def call(
    rushers: int,
    deep: int,
    under: int,
    coverage: Coverage = COVERAGES["three deep, two under"],
    twice: str = "",
) -> Pressure:
    """A call of so many rushers, deep and under men; ``twice`` names a rusher who drops as well."""
    rushes = tuple(Rush(f"r{i}", A_GAP) for i in range(rushers))
    drops = [Drop(f"d{i}", CoverJob.DEEP_THIRD, RunJob.COVER) for i in range(deep)]
    drops += [Drop(twice or f"u{i}", CoverJob.HOOK, RunJob.COVER) for i in range(under)]
    return Pressure("call", "front", rushes, tuple(drops), coverage)


def men_without(role: Role, side: Side | None = None) -> tuple[OffensivePlayer, ...]:
    return tuple(p for p in MEN if not (p.role is role and (side is None or p.side is side)))


def man(key: str, role: Role, x: float, y: float, *, on_line: bool = False) -> OffensivePlayer:
    return OffensivePlayer(key, role, Side.RIGHT if x > 0 else Side.LEFT, x, y, on_line, False)


def spread(count: int, y: float) -> tuple[OffensivePlayer, ...]:
    """So many receivers a yard and a half apart on the right."""
    return tuple(man(f"WR{i}", Role.RECEIVER, 8 + 1.5 * i, y, on_line=y == 0) for i in range(count))


def laid_out(**changes: object) -> Formation:
    given: dict[str, object] = {"left": (G, T), "right": (G, T), "quarterback_yd": 1.5, **changes}
    return lay_out("set", **given)  # type: ignore[arg-type]


# What is built; the field that is named; a part of what was expected; what stands there.
REFUSED: dict[str, tuple[Build, str, str, object]] = {
    "position without a name": (
        lambda: Position("  ", "P", "line", PlayerClass.LINEMAN),
        "name",
        "a position name",
        "  ",
    ),
    "position without a label": (
        lambda: Position("Mike", "", "line", PlayerClass.BACKER),
        "label",
        "one to three characters",
        "",
    ),
    "label of four": (
        lambda: Position("Mike", "MIKE", "line", PlayerClass.BACKER),
        "label",
        "one to three characters",
        "MIKE",
    ),
    "depth on the ball": (
        lambda: Alignment(Landmark.MIDDLE, Toward.TO, depth_yd=0.2),
        "depth",
        "between 0.3 and 40",
        0.2,
    ),
    "depth in the end zone": (
        lambda: Alignment(Landmark.MIDDLE, Toward.TO, depth_yd=40.5),
        "depth",
        "between 0.3 and 40",
        40.5,
    ),
    "technique 11": (lambda: parse_technique("11", Numbering.ONE_TO_NINE), "technique", "one of 0, 1, 2i", "11"),
    "technique 4i by threes": (
        lambda: parse_technique("4i", Numbering.THREE_A_MAN),
        "technique",
        "one of 0, 1, 2, 3",
        "4i",
    ),
    "technique 00": (lambda: parse_technique("x0", Numbering.ONE_TO_NINE), "technique", "one of 0, 1, 2i", "x0"),
    "front of ten": (lambda: Front("ten", eleven_spots(10)), "spots", "eleven positions", 10),
    "front of twelve": (lambda: Front("twelve", eleven_spots(12)), "spots", "eleven positions", 12),
    "front with a man twice": (
        lambda: Front("twice", (*eleven_spots(10), eleven_spots(1)[0])),
        "spots",
        "each position once",
        "p0",
    ),
    "order 0": (lambda: Rush("r", A_GAP, 0), "order", "a number from 1 to 6", 0),
    "order 7": (lambda: Rush("r", A_GAP, 7), "order", "a number from 1 to 6", 7),
    "two-gapper with one gap": (
        lambda: Rush("nose", A_GAP, part=RushPart.TWO_GAP),
        "second_gap",
        "exactly when the part is 'two-gap'",
        "nose",
    ),
    "gap player with two gaps": (
        lambda: Rush("nose", A_GAP, second_gap=A_GAP),
        "second_gap",
        "exactly when the part is 'two-gap'",
        "nose",
    ),
    "fill without a gap": (
        lambda: Drop("Mike", CoverJob.HOOK, RunJob.FILL),
        "gap",
        "exactly when the run job is 'fill'",
        "Mike",
    ),
    "alley with a gap": (
        lambda: Drop("Mike", CoverJob.HOOK, RunJob.ALLEY, Toward.TO, A_GAP),
        "gap",
        "exactly when the run job is 'fill'",
        "Mike",
    ),
    "second gap alone": (
        lambda: Drop("Mike", CoverJob.HOOK, RunJob.FREE, second_gap=A_GAP),
        "second_gap",
        "a first gap before a second one",
        "Mike",
    ),
    "force on no side": (
        lambda: Drop("Rover", CoverJob.FLAT, RunJob.FORCE),
        "toward",
        "'to' or 'away' for the run job 'force'",
        "Rover",
    ),
    "alley on no side": (
        lambda: Drop("Rover", CoverJob.FLAT, RunJob.ALLEY),
        "toward",
        "'to' or 'away' for the run job 'alley'",
        "Rover",
    ),
    "fold on no side": (
        lambda: Drop("Rover", CoverJob.FLAT, RunJob.FOLD),
        "toward",
        "'to' or 'away' for the run job 'fold'",
        "Rover",
    ),
    "man on nobody": (
        lambda: Drop("Corner", CoverJob.MAN, RunJob.COVER),
        "man",
        "exactly when his coverage job is 'man'",
        "",
    ),
    "zone on a man": (
        lambda: Drop("Corner", CoverJob.FLAT, RunJob.COVER, man="back"),
        "man",
        "exactly when his coverage job is 'man'",
        "back",
    ),
    "call of ten": (lambda: call(5, 3, 2), "rush/drop", "eleven positions, each rushing or dropping", 10),
    "call with a man twice": (
        lambda: call(6, 3, 1, twice="r0"),
        "rush/drop",
        "each position once, rushing or dropping",
        "r0",
    ),
    "two deep for three": (
        lambda: call(6, 2, 3),
        "coverage",
        "3 deep for 'three deep, two under'",
        "2 deep",
    ),
    "three under for two": (
        lambda: call(5, 3, 3),
        "coverage",
        "2 under for 'three deep, two under'",
        "3 under",
    ),
    "twelve men": (
        lambda: Formation("twelve", (*MEN, *spread(6, 0.0))),
        "players",
        "no more than eleven men",
        12,
    ),
    "no center": (lambda: Formation("headless", men_without(Role.CENTER)), "players", "exactly one center", "headless"),
    "two centers": (
        lambda: Formation("two", (*MEN, man("C2", Role.CENTER, 8.0, 0.0, on_line=True))),
        "players",
        "exactly one center",
        "two",
    ),
    "no quarterback": (
        lambda: Formation("nobody", men_without(Role.QUARTERBACK)),
        "players",
        "exactly one quarterback to take the snap",
        "nobody",
    ),
    "two quarterbacks": (
        lambda: Formation("pair", (*MEN, man("Q2", Role.QUARTERBACK, 3.0, 4.0))),
        "players",
        "exactly one quarterback to take the snap",
        "pair",
    ),
    "no left guard": (
        lambda: Formation("gap", men_without(Role.GUARD, Side.LEFT)),
        "players",
        "a left guard on the line",
        "gap",
    ),
    "no right tackle": (
        lambda: Formation("gap", men_without(Role.TACKLE, Side.RIGHT)),
        "players",
        "a right tackle on the line",
        "gap",
    ),
    # 0.49 yd apart: closer than the half yard that a man takes up.
    "two men in one place": (
        lambda: Formation("crowd", (*MEN, man("TB", Role.TAILBACK, 3.0, 5.0), man("FB", Role.FULLBACK, 3.0, 5.49))),
        "players",
        "no two men in one place",
        "right tailback and right fullback",
    ),
    # The same with the right tackle between them as one reads across the field.
    "two men in one place with a third across from them": (
        lambda: Formation("crowd", (*MEN, man("TB", Role.TAILBACK, 3.0, 5.0), man("FB", Role.FULLBACK, 3.2, 5.2))),
        "players",
        "no two men in one place",
        "right tailback and right fullback",
    ),
    # Five on the line, the quarterback and four men behind it: five backs.
    "five backs": (
        lambda: Formation("backs", (*MEN, *spread(4, 1.0))),
        "players",
        "NFHS 7-2-5a: at least five on the line and no more than four backs",
        "5 backs",
    ),
    "five backs in college": (
        lambda: Formation("backs", (*MEN, *spread(4, 1.0)), RuleBook.COLLEGE),
        "players",
        "NCAA 7-1-4",
        "5 backs",
    ),
    # A tackle a yard off the line leaves four on it.
    "four on the line": (
        lambda: Formation(
            "off",
            tuple(replace(p, on_line=p.on_line and p.key != "RT") for p in MEN),
        ),
        "players",
        "at least five on the line",
        "4 on the line",
    ),
    "six on the line for professionals": (
        lambda: Formation("six", (*MEN, *spread(1, 0.0)), RuleBook.PROFESSIONAL),
        "players",
        "NFL 7-5: at least seven on the line",
        "6 on the line",
    ),
    "tackle inside the guard": (
        lambda: attached(Side.LEFT, (T, G), Measures()),
        "left",
        "guard, tackle, then ends and wings if any, from the center out",
        ["tackle", "guard"],
    ),
    "receiver in the line": (
        lambda: attached(Side.RIGHT, (G, T, Role.RECEIVER), Measures()),
        "right",
        "guard, tackle, then ends and wings if any",
        ["guard", "tackle", "receiver"],
    ),
    "six attached men": (
        lambda: attached(Side.RIGHT, (G, T, T, E, E, W), Measures()),
        "right",
        "at most 5 attached men a side",
        6,
    ),
    "quarterback too near": (
        lambda: laid_out(quarterback_yd=0.7),
        "quarterback",
        "a depth between 0.8 and 12 yards",
        0.7,
    ),
    "quarterback too deep": (
        lambda: laid_out(quarterback_yd=12.5),
        "quarterback",
        "a depth between 0.8 and 12 yards",
        12.5,
    ),
    "guard in the backfield": (
        lambda: laid_out(backs=[(G, 0.0, 5.0)]),
        "back",
        "one of tailback, fullback, slotback, wing",
        "guard",
    ),
    "back too deep": (
        lambda: laid_out(backs=[(Role.TAILBACK, 0.0, 13.0)]),
        "back",
        "a depth between 0.8 and 12 yards",
        13.0,
    ),
    "back too wide": (
        lambda: laid_out(backs=[(Role.TAILBACK, -25.5, 5.0)]),
        "back",
        "x within 25 yards of the center",
        -25.5,
    ),
    "receiver too tight": (
        lambda: laid_out(receivers=[(Side.LEFT, 0.9, True)]),
        "receiver",
        "a split between 1 and 25 yards",
        0.9,
    ),
    "receiver too wide": (
        lambda: laid_out(receivers=[(Side.LEFT, 25.5, True)]),
        "receiver",
        "a split between 1 and 25 yards",
        25.5,
    ),
    "phase twice in a rule": (
        lambda: OptionRule(Phase.DIVE, Phase.DIVE, Phase.PITCH),
        "options",
        "each phase once",
        ("dive", "dive", "pitch"),
    ),
    "reaction before the snap": (lambda: Pace(-0.1, 3.0), "reaction_s", "seconds between 0 and 3", -0.1),
    "reaction of a minute": (lambda: Pace(3.1, 3.0), "reaction_s", "seconds between 0 and 3", 3.1),
    "too slow": (lambda: Pace(0.3, 0.4), "speed_yd_s", "yards a second between 0.5 and 11", 0.4),
    "too fast": (lambda: Pace(0.3, 11.1), "speed_yd_s", "yards a second between 0.5 and 11", 11.1),
    "unknown man": (
        lambda: parse_who("back side libero"),
        "who",
        "one of line, center, guard",
        "back side libero",
    ),
    "row for nobody": (lambda: JobRow((), Job.BASE), "who", "at least one man", ()),
    "no phase": (lambda: Option("veer", ReadMan.BACK_EDGE, ()), "phases", "each phase once, at least one", []),
    "phase twice": (
        lambda: Option("veer", ReadMan.BACK_EDGE, (Phase.DIVE, Phase.DIVE)),
        "phases",
        "each phase once, at least one",
        ["dive", "dive"],
    ),
    "play without a line": (
        lambda: Scheme("half", SchemeFamily.BASE, (row("base", "play side line"), row("base", "center"))),
        "block",
        "a row for 'line', so that every lineman has a job",
        "half",
    ),
    "ball too soon": (
        lambda: Scheme("s", SchemeFamily.BASE, (row("base", "line"),), ball_s=0.4),
        "ball_s",
        "seconds between 0.5 and 6",
        0.4,
    ),
    "ball too late": (
        lambda: Scheme("s", SchemeFamily.BASE, (row("base", "line"),), ball_s=6.1),
        "ball_s",
        "seconds between 0.5 and 6",
        6.1,
    ),
    "in and out at once": (
        lambda: Protection("both", Slide.MAN, (parse_who("tailback"),), (parse_who("tailback"),)),
        "stay_in",
        "nobody who both stays in and releases",
        "both",
    ),
}


@pytest.mark.parametrize("name", REFUSED)
def test_refused_with_the_field_what_stands_there_and_what_was_expected(name: str) -> None:
    build, key, expected, found = REFUSED[name]
    with pytest.raises(FootballValueError) as caught:
        build()
    assert caught.value.key == key
    assert expected in caught.value.expected
    assert caught.value.found == found
    assert str(caught.value) == f"{key}: expected {caught.value.expected}, found {found!r}"


# The last value on the right side of each limit.
ALLOWED: dict[str, Build] = {
    "label of one": lambda: Position("Mike", "M", "line", PlayerClass.BACKER),
    "label of three": lambda: Position("Mike", "MIK", "line", PlayerClass.BACKER),
    "depth 0.3": lambda: Alignment(Landmark.MIDDLE, Toward.TO, depth_yd=0.3),
    "depth 40": lambda: Alignment(Landmark.MIDDLE, Toward.TO, depth_yd=40),
    "order 6": lambda: Rush("r", A_GAP, 6),
    "eleven men": lambda: Formation("eleven", (*MEN, *spread(5, 0.0))),
    "half a yard apart": lambda: Formation(
        "near", (*MEN, man("TB", Role.TAILBACK, 3.0, 5.0), man("FB", Role.FULLBACK, 3.0, 5.5))
    ),
    "four backs": lambda: Formation("backs", (*MEN, *spread(3, 1.0))),
    "seven on the line": lambda: Formation("seven", (*MEN, *spread(2, 0.0)), RuleBook.PROFESSIONAL),
    "five attached": lambda: attached(Side.RIGHT, (G, T, T, E, W), Measures()),
    "quarterback at 0.8": lambda: laid_out(quarterback_yd=0.8),
    "quarterback at 12": lambda: laid_out(quarterback_yd=12),
    "back at 25": lambda: laid_out(backs=[(Role.TAILBACK, 25, 5.0)]),
    "receiver at 1": lambda: laid_out(receivers=[(Side.LEFT, 1.0, True)]),
    "receiver at 25": lambda: laid_out(receivers=[(Side.LEFT, 25.0, True)]),
    "slowest and fastest": lambda: (Pace(0, 0.5), Pace(3, 11)),
    "ball from 0.5 to 6": lambda: [
        Scheme("s", SchemeFamily.BASE, (row("base", "line"),), ball_s=ball_s) for ball_s in (0.5, 6)
    ],
}


@pytest.mark.parametrize("name", ALLOWED)
def test_the_last_value_within_a_limit_is_allowed(name: str) -> None:
    assert ALLOWED[name]() is not None
