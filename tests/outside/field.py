"""Builders for defenses, formations and plays, for tables from outside the project.

Every situation is called to the right, so "to" is right and "away" is left; sides in tables are the defense's. Men that
a source doesn't mention only cover and never fit.
"""

from __future__ import annotations

from dataclasses import replace

from quizgen.engine.verdict import RunAnswer, solve
from quizgen.football.coverage import COVERAGES
from quizgen.football.defense import Alignment, Front, Landmark, PlayerClass, Position, Shade, Spot, parse_technique
from quizgen.football.formation import Formation, OffensivePlayer, Role
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
from quizgen.football.rules import Changes, Numbering, OptionRule, TeamRules
from quizgen.football.scheme import Job, JobRow, Option, Phase, ReadMan, Scheme, SchemeFamily, parse_who
from quizgen.football.sides import Letter, Side, Toward
from quizgen.football.team import Situation

STEP_YD = 1.57
LINE_ROLES = {"G": Role.GUARD, "T": Role.TACKLE, "E": Role.END, "W": Role.WING}


def formation(left: str = "GT", right: str = "GT", *others: tuple[str, float, float]) -> Formation:
    """A formation from the center out ("GTE") and its other men as (role, x, y); a quarterback is added."""
    men = [OffensivePlayer("C", Role.CENTER, None, 0.0, 0.0, True, True, 0)]
    for side, letters in ((Side.LEFT, left), (Side.RIGHT, right)):
        for order, letter in enumerate(letters, 1):
            role = LINE_ROLES[letter]
            back = role is Role.WING
            key = side.value[0].upper() + letter
            men.append(
                OffensivePlayer(key, role, side, side.sign * STEP_YD * order, float(back), not back, True, order)
            )
    men.append(OffensivePlayer("QB", Role.QUARTERBACK, None, 0.0, 1.6, False, False))
    for index, (role_name, x, y) in enumerate(others):
        role = Role(role_name)
        beside = role in (Role.RECEIVER, Role.SLOTBACK, Role.WING)
        side_of = (Side.RIGHT if x > 0 else Side.LEFT) if beside else None
        men.append(OffensivePlayer(f"{role_name}{index}", role, side_of, x, y, y == 0, False))
    return Formation("table", tuple(men))


def call_gap(words: str) -> CallGap:
    """ "R B" or "L edge" as a call gap."""
    side, letter = words.split()
    toward = Toward.TO if side == "R" else Toward.AWAY
    return CallGap(toward, None if letter == "edge" else Letter(letter))


class Defense:
    """Collects the men a source names; ``solve`` adds men who only cover, up to eleven."""

    def __init__(self, rules: TeamRules | None = None) -> None:
        self.rules = rules or TeamRules()
        self.positions: list[Position] = []
        self.spots: list[Spot] = []
        self.rushes: list[Rush] = []
        self.drops: list[Drop] = []
        self.exchanges: list[Exchange] = []
        self.conceded: list[CallGap] = []
        self.own_rules: list[tuple[str, Changes]] = []
        self.call_rules: Changes = ()
        self.call_options: list[tuple[str, OptionRule]] = []
        self.read: list[str] = []

    def down(self, name: str, technique: str, side: str, *gaps: str, **how: object) -> Defense:
        """A down lineman by technique and side ("L", "R") who rushes his gap or gaps."""
        landmark, shade = parse_technique(technique, Numbering.ONE_TO_NINE)
        self._spot(name, landmark, shade, side, 1.0, PlayerClass.LINEMAN, down=True)
        return self._rush(name, gaps, how)

    def rush(
        self, name: str, on: str, side: str, *gaps: str, depth: float = 4.5, out: float = 0.0, **how: object
    ) -> Defense:
        """A stand-up rusher over a landmark, or ``out`` yards outside it."""
        self._spot(name, Landmark(on), Shade.HEAD, side, depth, PlayerClass.BACKER, down=False, out=out)
        return self._rush(name, gaps, how)

    def fill(self, name: str, on: str, side: str, *gaps: str, depth: float = 4.5) -> Defense:
        """A second-level man with one or two gaps."""
        self._spot(name, Landmark(on), Shade.HEAD, side, depth, PlayerClass.BACKER, down=False)
        second = call_gap(gaps[1]) if len(gaps) > 1 else None
        toward = Toward.TO if side == "R" else Toward.AWAY
        self.drops.append(Drop(name, CoverJob.MAN, RunJob.FILL, toward, call_gap(gaps[0]), second, "back"))
        return self

    def support(self, name: str, job: RunJob, side: str, x: float, depth: float, cls: PlayerClass) -> Defense:
        """A man with a run job on a side, ``x`` yards out from the center on that side."""
        self.positions.append(Position(name, name[:3], "table", cls))
        toward = Toward.TO if side == "R" else Toward.AWAY
        self.spots.append(Spot(name, Alignment(Landmark.MIDDLE, toward, Shade.HEAD, x, depth)))
        self.drops.append(Drop(name, CoverJob.MAN, job, toward, man="receiver"))
        return self

    def _spot(
        self,
        name: str,
        landmark: Landmark,
        shade: Shade,
        side: str,
        depth: float,
        cls: PlayerClass,
        *,
        down: bool,
        out: float = 0.0,
    ) -> None:
        self.positions.append(Position(name, name[:3], "table", cls))
        toward = Toward.TO if side == "R" else Toward.AWAY
        self.spots.append(Spot(name, Alignment(landmark, toward, shade, out, depth), down))

    def _rush(self, name: str, gaps: tuple[str, ...], how: dict[str, object]) -> Defense:
        second = call_gap(gaps[1]) if len(gaps) > 1 else None
        part = RushPart.TWO_GAP if second else how.get("part", RushPart.GAP)
        order, path = how.get("order", 1), how.get("path", Path.STRAIGHT)
        assert isinstance(order, int)
        assert isinstance(path, Path)
        assert isinstance(part, RushPart)
        self.rushes.append(Rush(name, call_gap(gaps[0]), order, path, part, second))
        return self

    def pressure(self) -> tuple[Front, Pressure]:
        """The front and the call, with eleven men."""
        spots, drops = list(self.spots), list(self.drops)
        for number in range(11 - len(spots)):
            name = f"cover {number + 1}"
            spots.append(Spot(name, Alignment(Landmark.MIDDLE, Toward.TO, Shade.HEAD, 2.0 * number - 6, 14.0)))
            drops.append(Drop(name, CoverJob.MAN, RunJob.COVER, None, man="receiver"))
            self.positions.append(Position(name, f"C{number + 1}", "table", PlayerClass.CORNER))
        front = Front("table", tuple(spots))
        pressure = Pressure(
            "table",
            "table",
            tuple(self.rushes),
            tuple(drops),
            COVERAGES["man with none deep"],
            conceded=tuple(self.conceded),
            exchanges=tuple(self.exchanges),
            rules=self.call_rules,
            by_position=tuple(self.own_rules),
            options=tuple(self.call_options),
            read=tuple(self.read),
        )
        return front, pressure

    def against(self, offense: Formation, play: Scheme, to: Side) -> RunAnswer:
        """The engine's answer against a play to a side. Tables name blockers only, so the quarterback carries."""
        front, pressure = self.pressure()
        play = replace(play, carrier=Role.QUARTERBACK)
        return solve(Situation(self.rules, tuple(self.positions), front, pressure, Side.RIGHT, offense, play, to))


def owners(answer: RunAnswer) -> dict[str, list[str]]:
    """Lane name -> the names of its owners, sorted."""
    return {lane.name: sorted(f.man.position for f in answer.owners(i)) for i, lane in enumerate(answer.lanes)}


def row(job: str, *who: str, optional: bool = False) -> JobRow:
    """One row of a play."""
    return JobRow(tuple(parse_who(one) for one in who), Job(job), optional=optional)


BASE = Scheme("base", SchemeFamily.BASE, (row("base", "line"),))
ZONE = Scheme("inside zone", SchemeFamily.INSIDE_ZONE, (row("zone", "line"),))
LEAD_WEAK = Scheme("lead", SchemeFamily.LEAD, (row("base", "line"), row("lead to the aim", "fullback")), Letter.B)
POWER_ROWS = (
    row("down", "line"),
    row("back", "center"),
    row("pull and wrap", "back side guard"),
    row("hinge", "back side tackle"),
    row("base", "back side end", optional=True),
    row("kick", "fullback"),
)
POWER = Scheme("power", SchemeFamily.POWER, POWER_ROWS, Letter.C)
GUARD_KICK = Scheme(
    "guard kick",
    SchemeFamily.GUARD_KICK,
    (
        row("down", "line"),
        row("back", "center"),
        row("pull and kick", "back side guard"),
        row("hinge", "back side tackle"),
    ),
    Letter.C,
)


def option(name: str, read: ReadMan, *phases: Phase, aim: Letter = Letter.A) -> Scheme:
    """A run with a read man."""
    return Scheme(name, SchemeFamily.ZONE_READ, (row("zone", "line"),), aim, Option(name, read, phases))
