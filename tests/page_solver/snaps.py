"""Builds one snap from a few words, for rows that come from outside the project.

The call always goes right, so "right" is its side. A defender is one line, ``name, where he stands, what he does``:
``"Tackle, 3 right, rush right B"``, ``"Mike, 20 right, fill right A"``, ``"Safety, x 6 depth 5, force right"``. A
technique number is the common one; ten times the number stands at 4.5 yd. Men whom a source does not name are added,
deep and wide, and only cover.
"""

from __future__ import annotations

from quizgen.content import load_team_dir
from quizgen.football.coverage import COVERAGES
from quizgen.football.defense import Alignment, Front, Landmark, PlayerClass, Position, Shade, Spot, parse_technique
from quizgen.football.formation import Formation, Role
from quizgen.football.layout import Back, Receiver, lay_out
from quizgen.football.pressure import (
    CallGap,
    CoverJob,
    Drop,
    Exchange,
    Path,
    Pressure,
    RunJob,
    Rush,
    RushPart,
)
from quizgen.football.rules import Numbering, TeamRules
from quizgen.football.scheme import Scheme
from quizgen.football.sides import Letter, Side, Toward
from quizgen.football.team import Situation
from server.commands.football import demo_team_dir

LETTER_ROLES = {"G": Role.GUARD, "T": Role.TACKLE, "E": Role.END, "W": Role.WING}
BACKER_DEPTH_YD = 4.5
PARTS = {
    "rush": RushPart.GAP,
    "slant": RushPart.GAP,
    "edge": RushPart.EDGE,
    "contain": RushPart.CONTAIN,
    "two-gap": RushPart.TWO_GAP,
}
I_BACKS: tuple[Back, ...] = ((Role.FULLBACK, 0.0, 4.2), (Role.TAILBACK, 0.0, 6.9))
GUN_BACK: tuple[Back, ...] = ((Role.TAILBACK, 1.6, 4.5),)
WIDE: tuple[Receiver, ...] = ((Side.LEFT, 12.0, True), (Side.RIGHT, 12.0, True))

DEMO = load_team_dir(demo_team_dir())


def play(name: str) -> Scheme:
    """A run of the demo team's opponents."""
    return next(one for one in DEMO.schemes if one.name == name)


def offense(left: str, right: str, *, gun: bool = False) -> Formation:
    """Attached men from the center out ("GTE") with two backs in an I, or one beside the quarterback."""
    return lay_out(
        f"{left[::-1]}C{right}",
        [LETTER_ROLES[letter] for letter in left],
        [LETTER_ROLES[letter] for letter in right],
        quarterback_yd=4.5 if gun else 1.6,
        backs=GUN_BACK if gun else I_BACKS,
        receivers=WIDE if gun or "E" not in left + right else WIDE[:1],
    )


def snap(
    defenders: str,
    formation: Formation,
    scheme: Scheme,
    play_to: Side,
    *,
    rules: TeamRules | None = None,
    exchanges: tuple[Exchange, ...] = (),
    concede: str = "",
) -> Situation:
    """The situation of those words; one defender a line."""
    lines = [line for line in defenders.strip().splitlines() if line.strip()]
    lines += [f"Spare {n}, x {20 + n} depth 14, cover" for n in range(1, 12 - len(lines))]
    positions, spots, rushes, drops = [], [], [], []
    for line in lines:
        name, where, does = (part.strip() for part in line.split(","))
        spot = parse_spot(name, where, does)
        spots.append(spot)
        positions.append(Position(name, name[:1], "table", class_of(spot)))
        part = parse_job(name, does)
        if isinstance(part, Rush):
            rushes.append(part)
        else:
            drops.append(part)
    pressure = Pressure(
        "table",
        "table",
        tuple(rushes),
        tuple(drops),
        COVERAGES["man with none deep"],
        exchanges=exchanges,
        conceded=(parse_gap(concede),) if concede else (),
    )
    return Situation(
        rules or TeamRules(),
        tuple(positions),
        Front("table", tuple(spots)),
        pressure,
        Side.RIGHT,
        formation,
        scheme,
        play_to,
    )


def parse_spot(name: str, where: str, does: str) -> Spot:
    """ "3 right", "20 left", "last right" (a yard wide of the last man) or "x -6 depth 5"."""
    words = where.split()
    if words[0] == "x":
        x, depth = float(words[1]), float(words[3])
        toward = Toward.TO if x >= 0 else Toward.AWAY
        return Spot(name, Alignment(Landmark.MIDDLE, toward, Shade.HEAD, abs(x), depth))
    toward = parse_side(words[-1]) if len(words) > 1 else Toward.TO
    if words[0] == "last":
        return Spot(name, Alignment(Landmark.LAST, toward, Shade.WIDE, 0.0, 1.0))
    landmark, shade = parse_technique(words[0], Numbering.ONE_TO_NINE)
    is_backer = len(words[0]) == 2 and words[0].endswith("0")
    alignment = Alignment(landmark, toward, shade, 0.0, BACKER_DEPTH_YD if is_backer else 1.0)
    return Spot(name, alignment, down=not is_backer and does.split()[0] in PARTS)


def class_of(spot: Spot) -> PlayerClass:
    """By where he stands, since the sources don't say."""
    if spot.down:
        return PlayerClass.LINEMAN
    if spot.alignment.depth_yd <= 2:
        return PlayerClass.EDGE
    return PlayerClass.BACKER if spot.alignment.depth_yd < 5 else PlayerClass.SAFETY


def parse_side(word: str) -> Toward:
    """The call goes right."""
    return Toward.TO if word == "right" else Toward.AWAY


def parse_gap(words: str) -> CallGap:
    """ "right B" or "left outermost"."""
    side, letter = words.split()
    return CallGap(parse_side(side), None if letter == "outermost" else Letter(letter))


def parse_job(name: str, does: str) -> Rush | Drop:
    """ "rush right B", "rush right B second", "two-gap left A right A", "fill left A", "force right", "cover" …"""
    words = does.split()
    gaps = [parse_gap(" ".join(words[i : i + 2])) for i in range(1, len(words) - 1, 2)]
    if words[0] in PARTS:
        order = 2 if words[-1] == "second" else 1
        second = gaps[1] if words[0] == "two-gap" else None
        path = Path.SLANT if words[0] == "slant" else Path.STRAIGHT
        return Rush(name, gaps[0], order, path, PARTS[words[0]], second)
    run = RunJob(words[0])
    if run is RunJob.FILL:
        return Drop(name, CoverJob.HOOK, run, parse_side(words[1]), gaps[0])
    return Drop(name, CoverJob.HOOK, run, parse_side(words[1]) if len(words) > 1 else None)
