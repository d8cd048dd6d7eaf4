"""A small team written by hand: two calls from one even front, two formations, runs of every stage, protections."""

from __future__ import annotations

from dataclasses import replace

from quizgen.football.coverage import COVERAGES
from quizgen.football.defense import Alignment, Front, Landmark, PlayerClass, Position, Shade, Spot
from quizgen.football.formation import Formation, OffensivePlayer, Role
from quizgen.football.pressure import (
    CallGap,
    CoverJob,
    Drop,
    Path,
    Pressure,
    RunJob,
    Rush,
    RushPart,
)
from quizgen.football.rules import TeamRules
from quizgen.football.scheme import (
    OPTION_PHASES,
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
from quizgen.football.team import TeamBook

PITCH_YD = 1.57
TO, AWAY = Toward.TO, Toward.AWAY
LINE_ROLES = (Role.GUARD, Role.TACKLE, Role.END)


def _line(left: int, right: int) -> list[OffensivePlayer]:
    men = [OffensivePlayer("C", Role.CENTER, None, 0.0, 0.0, True, True, 0)]
    for side, count in ((Side.LEFT, left), (Side.RIGHT, right)):
        for order, role in enumerate(LINE_ROLES[:count], 1):
            key = ("L" if side is Side.LEFT else "R") + role.value[0].upper()
            men.append(OffensivePlayer(key, role, side, side.sign * PITCH_YD * order, 0.0, True, True, order))
    return men


def _back(key: str, role: Role, y: float) -> OffensivePlayer:
    return OffensivePlayer(key, role, None, 0.0, y, False, False)


def _receiver(key: str, side: Side, x: float, y: float) -> OffensivePlayer:
    return OffensivePlayer(key, Role.RECEIVER, side, x, y, y == 0.0, False)


BACKS = [
    _back("QB", Role.QUARTERBACK, 1.5),
    _back("TB", Role.TAILBACK, 6.9),
    _back("FB", Role.FULLBACK, 4.5),
]
WIDE = [_receiver("X", Side.LEFT, -18.0, 0.0), _receiver("Z", Side.RIGHT, 18.0, 0.0)]
# Even: the same on both sides, so that turned round it is itself but for the slot receiver.
EVEN = Formation("Even", (*_line(2, 2), *BACKS, *WIDE, _receiver("H", Side.LEFT, -9.0, 1.0)))
EVEN_TWIN = Formation("Even twin", tuple(p.mirrored for p in EVEN.players), mirror_name="Even")
TIGHT = Formation(
    "Tight right",
    (*_line(2, 3), *BACKS, WIDE[0], _receiver("Z", Side.RIGHT, 18.0, 1.0)),
    mirror_name="Tight left",
)
TIGHT_LEFT = TIGHT.mirrored


def _spot(
    position: str,
    landmark: Landmark,
    toward: Toward,
    shade: Shade = Shade.HEAD,
    depth_yd: float = 1.0,
    out_yd: float = 0.0,
    *,
    down: bool = False,
) -> Spot:
    return Spot(position, Alignment(landmark, toward, shade, out_yd, depth_yd), down)


FRONT = Front(
    "Even",
    (
        _spot("End", Landmark.TACKLE, TO, Shade.OUTSIDE, down=True),
        _spot("Tackle", Landmark.GUARD, TO, Shade.OUTSIDE, down=True),
        _spot("Nose", Landmark.CENTER, AWAY, Shade.OUTSIDE, down=True),
        _spot("Rush", Landmark.TACKLE, AWAY, Shade.OUTSIDE, down=True),
        _spot("Mike", Landmark.GUARD, TO, depth_yd=4.5),
        _spot("Will", Landmark.GUARD, AWAY, depth_yd=4.5),
        _spot("Sam", Landmark.LAST, TO, depth_yd=5.0, out_yd=3.0),
        _spot("Dime", Landmark.LAST, AWAY, depth_yd=5.0, out_yd=3.0),
        _spot("Free", Landmark.MIDDLE, TO, depth_yd=11.0),
        _spot("Corner to", Landmark.NUMBER_ONE, TO, depth_yd=7.0),
        _spot("Corner off", Landmark.NUMBER_ONE, AWAY, depth_yd=7.0),
    ),
)
POSITIONS = tuple(
    Position(name, label, group, player_class)
    for name, label, group, player_class in (
        ("End", "E", "Line", PlayerClass.EDGE),
        ("Tackle", "T", "Line", PlayerClass.LINEMAN),
        ("Nose", "N", "Line", PlayerClass.LINEMAN),
        ("Rush", "R", "Line", PlayerClass.EDGE),
        ("Mike", "M", "Backers", PlayerClass.BACKER),
        ("Will", "W", "Backers", PlayerClass.BACKER),
        ("Sam", "S", "Backers", PlayerClass.SAFETY),
        ("Dime", "D", "Backers", PlayerClass.SAFETY),
        ("Free", "F", "Backs", PlayerClass.SAFETY),
        ("Corner to", "CT", "Backs", PlayerClass.CORNER),
        ("Corner off", "CO", "Backs", PlayerClass.CORNER),
    )
)


def gap(toward: Toward, letter: str | None) -> CallGap:
    return CallGap(toward, Letter(letter) if letter else None)


# Six rush, one a gap: both ends on the edges, tackle and nose in the B gaps, the backers in the A gaps, Will first.
STRAIGHT = Pressure(
    "Anvil",
    "Even",
    (
        Rush("End", gap(TO, None), part=RushPart.EDGE),
        Rush("Tackle", gap(TO, "B")),
        Rush("Nose", gap(AWAY, "B"), path=Path.SLANT),
        Rush("Rush", gap(AWAY, None), part=RushPart.EDGE),
        Rush("Will", gap(AWAY, "A"), 1),
        Rush("Mike", gap(TO, "A"), 2),
    ),
    (
        Drop("Sam", CoverJob.FLAT, RunJob.FORCE, TO),
        Drop("Dime", CoverJob.FLAT, RunJob.FORCE, AWAY),
        Drop("Free", CoverJob.DEEP_THIRD, RunJob.COVER),
        Drop("Corner to", CoverJob.DEEP_THIRD, RunJob.COVER, TO),
        Drop("Corner off", CoverJob.DEEP_THIRD, RunJob.COVER, AWAY),
    ),
    COVERAGES["three deep, two under"],
    read=("End", "Rush"),
)
# The same with the backers crossing: Will first to the A gap on the call's side, Mike off his hip to the other.
CROSS = replace(
    STRAIGHT,
    name="Hammer",
    key="hammer",
    rushes=(
        *STRAIGHT.rushes[:4],
        Rush("Will", gap(TO, "A"), 1, Path.CROSS),
        Rush("Mike", gap(AWAY, "A"), 2, Path.CROSS),
    ),
)


def row(job: Job, *who: str, optional: bool = False) -> JobRow:
    return JobRow(tuple(parse_who(one) for one in who), job, optional=optional)


INSIDE_ZONE = Scheme("Inside zone", SchemeFamily.INSIDE_ZONE, (row(Job.ZONE, "line"),))
BASE = Scheme("Base", SchemeFamily.BASE, (row(Job.BASE, "line"),))
LEAD = Scheme("Lead", SchemeFamily.LEAD, (row(Job.BASE, "line"), row(Job.LEAD, "fullback")))
GUARD_KICK = Scheme(
    "Guard kick",
    SchemeFamily.GUARD_KICK,
    (
        row(Job.DOWN, "line"),
        row(Job.BACK, "center"),
        row(Job.PULL_KICK, "back side guard"),
        row(Job.HINGE, "back side tackle"),
        row(Job.CUTOFF, "back side end", optional=True),
    ),
    Letter.C,
)
POWER = Scheme(
    "Power",
    SchemeFamily.POWER,
    (
        row(Job.DOWN, "line"),
        row(Job.BACK, "center"),
        row(Job.PULL_WRAP, "back side guard"),
        row(Job.HINGE, "back side tackle"),
        row(Job.KICK, "fullback"),
        row(Job.CUTOFF, "back side end", optional=True),
    ),
    Letter.C,
)
ZONE_READ = Scheme(
    "Zone read",
    SchemeFamily.ZONE_READ,
    (row(Job.ZONE, "line"),),
    option=Option("zone read", ReadMan.BACK_EDGE, (Phase.DIVE, Phase.QUARTERBACK)),
)
VEER = Scheme(
    "Veer",
    SchemeFamily.VEER,
    (row(Job.DOWN, "line"), row(Job.BASE, "center"), row(Job.ZONE, "back side line")),
    aim=Letter.B,
    option=Option("veer", ReadMan.FIRST_OUTSIDE_B, OPTION_PHASES),
)
RUNS = (INSIDE_ZONE, BASE, LEAD, GUARD_KICK, POWER, ZONE_READ, VEER)
PROTECTIONS = (
    Protection("Half slide", Slide.HALF),
    Protection("Full slide", Slide.FULL),
    Protection("Big on big", Slide.MAN, (parse_who("fullback"),)),
)


def small_team(rules: TeamRules | None = None) -> TeamBook:
    """The team, with other rules where they are given."""
    return TeamBook(
        "Small",
        POSITIONS,
        (FRONT,),
        (STRAIGHT, CROSS),
        (EVEN, EVEN_TWIN, TIGHT, TIGHT_LEFT),
        RUNS,
        PROTECTIONS,
        rules or TeamRules(),
    )
