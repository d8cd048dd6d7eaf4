"""Where the eleven stand before the snap, and which gaps the call gives them. Knows no play.

Line-up. A front is written for a call to the right; a call to the left turns it round. A position that names a
`mirrors` partner trades jobs with him when the call goes left; all others flip with the call. Landmark absent: END or
WING = where he would stand (one or two end splits outside the last attached man; WING is one step outside an END who
is there); number one / number two absent = 6 yd / 4 yd outside the last attached man. A gap letter beyond the
formation's last gap, and the word `edge`, mean the outermost gap. A man who shows stands there until the snap and plays
from his spot: an option finds its read man by where men stand, everything else goes by the spots.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from quizgen.engine.motion import answer_motion
from quizgen.football.defense import Alignment, Front, Landmark, PlayerClass, Position, Spot
from quizgen.football.errors import NoRule
from quizgen.football.formation import Formation, Role
from quizgen.football.pressure import CallGap, Drop, Pressure, RunJob, Rush, RushPart
from quizgen.football.rules import FitRules, Measures, TeamRules
from quizgen.football.sides import Gap, Side, Toward
from quizgen.football.team import Situation

LINE_ROLE = {Landmark.GUARD: Role.GUARD, Landmark.TACKLE: Role.TACKLE, Landmark.END: Role.END, Landmark.WING: Role.WING}
ABSENT_RECEIVER_YD = {Landmark.NUMBER_ONE: 6.0, Landmark.NUMBER_TWO: 4.0}


@dataclass(frozen=True, slots=True)
class Man:
    """A defender on the field with what the call asks of him; sides are absolute, ``gaps`` are his own before the snap;
    ``rules`` are the team's with what his position and the call have of their own; ``replaces`` names the cracked force
    man whose job he has taken over; ``shows`` is where he stands until the snap (x and depth in yards), when that is
    not where he plays from; ``takes_motion`` says that he went with the man in motion or came down for him."""

    position: str
    label: str
    player_class: PlayerClass
    x: float
    depth_yd: float
    down: bool
    rush: Rush | None
    drop: Drop | None
    gaps: tuple[Gap, ...]
    side: Side | None
    rules: FitRules
    replaces: str | None = None
    shows: tuple[float, float] | None = None
    takes_motion: bool = False
    _twin: Man | None = field(default=None, init=False, repr=False, compare=False)

    @property
    def mirrored(self) -> Man:
        """The same man turned round; made once."""
        if self._twin is not None:
            return self._twin
        twin = Man(
            self.position,
            self.label,
            self.player_class,
            0.0 if self.x == 0 else -self.x,
            self.depth_yd,
            self.down,
            self.rush,
            self.drop,
            tuple(gap.mirrored for gap in self.gaps),
            self.side.other if self.side else None,
            self.rules,
            self.replaces,
            (0.0 if self.shows[0] == 0 else -self.shows[0], self.shows[1]) if self.shows else None,
            self.takes_motion,
        )
        object.__setattr__(twin, "_twin", self)
        object.__setattr__(self, "_twin", twin)
        return twin

    @property
    def stands(self) -> tuple[float, float]:
        """Where he is at the snap: x and depth in yards."""
        return self.shows or (self.x, self.depth_yd)

    @property
    def order(self) -> int:
        """His order through the line; droppers count as 1."""
        return self.rush.order if self.rush else 1

    @property
    def drop_toward(self) -> Toward | None:
        """The side of his drop as the call names it; None for a rusher or a man in the middle."""
        return self.drop.toward if self.drop else None

    @property
    def is_first(self) -> bool:
        """A down lineman or a first rusher: he is through before anything moves behind him."""
        return self.down or (self.rush is not None and self.rush.order == 1)


def landmark_x(landmark: Landmark, side: Side, formation: Formation, measures: Measures) -> float:
    """The ``x`` in yards of a landmark on ``side``; an end or wing who isn't there gives the place where he would
    stand."""
    if landmark in (Landmark.CENTER, Landmark.MIDDLE):
        return 0.0
    last = formation.on_side(side)[-1]
    if landmark is Landmark.LAST:
        return last.x
    if landmark in ABSENT_RECEIVER_YD:
        men = formation.receivers(side)
        index = 0 if landmark is Landmark.NUMBER_ONE else 1
        return men[index].x if len(men) > index else last.x + side.sign * ABSENT_RECEIVER_YD[landmark]
    role = LINE_ROLE[landmark]
    man = next((p for p in formation.on_side(side) if p.role is role), None)
    if man is not None:
        return man.x
    steps = 1 if landmark is Landmark.END or any(p.role is Role.END for p in formation.on_side(side)) else 2
    return last.x + side.sign * steps * measures.pitch_yd(Role.END)


def place(alignment: Alignment, to: Side, formation: Formation, measures: Measures) -> float:
    """The ``x`` in yards of an alignment for a call to ``to``."""
    side = alignment.toward.side(to)
    base = landmark_x(alignment.landmark, side, formation, measures)
    return base + side.sign * (alignment.shade.out_yd + alignment.out_yd)


def own_gaps(pressure_gaps: tuple[CallGap | None, ...], to: Side, formation: Formation) -> tuple[Gap, ...]:
    """The gaps on the field that a call's gaps mean, each once."""
    gaps = [gap.gap(formation.outermost(gap.side(to))) for gap in pressure_gaps if gap is not None]
    return tuple(dict.fromkeys(gaps))


def line_up(s: Situation) -> tuple[Man, ...]:
    """The eleven on the field from left to right, by the front, the call's own alignments and the formation."""
    return line_up_call(s.rules, s.positions, s.front, s.pressure, s.to, s.formation)


def line_up_call(
    rules: TeamRules, positions: tuple[Position, ...], front: Front, pressure: Pressure, to: Side, formation: Formation
) -> tuple[Man, ...]:
    """The eleven of a call on the field from left to right. A position that names its mirror trades jobs with it when
    the call goes to the left; all others flip with the call.

    Raises:
        NoRule: two men line up in one place, or nobody can answer a motion as the rules say.
    """
    by_name = {position.name: position for position in positions}
    align, show = dict(pressure.align), dict(pressure.show)
    men = []
    for spot in front.spots:
        name = spot.position
        if to is Side.LEFT:
            name = by_name[name].mirrors or name
        alignment = align.get(spot.position, spot.alignment)
        x = place(alignment, to, formation, rules.measures)
        man = _man(rules, pressure, to, formation, spot, by_name[name], x, alignment.depth_yd)
        shown = show.get(spot.position)
        if shown is not None:
            man = replace(man, shows=(place(shown, to, formation, rules.measures), shown.depth_yd))
        men.append(man)
    if formation.moved is not None:
        before = line_up_call(rules, positions, front, pressure, to, formation.moved.before)
        men = answer_motion(rules, pressure, to, formation, men, before)
    men.sort(key=lambda man: (man.x, man.depth_yd))
    _check_places(pressure, formation, men, [(man.x, man.depth_yd) for man in men])
    _check_places(pressure, formation, men, [man.stands for man in men])
    return tuple(men)


def _check_places(pressure: Pressure, formation: Formation, men: list[Man], places: list[tuple[float, float]]) -> None:
    taken: dict[tuple[float, float], str] = {}
    for man, spot in zip(men, places, strict=True):
        other = taken.setdefault(spot, man.position)
        if other != man.position:
            missing = f"{other} and {man.position} line up in one place against {formation.name!r}"
            raise NoRule(pressure.name, pressure.front, "any play", missing)


def _man(
    rules: TeamRules,
    pressure: Pressure,
    to: Side,
    formation: Formation,
    spot: Spot,
    position: Position,
    x: float,
    depth_yd: float,
) -> Man:
    rush, drop = pressure.find_rush(spot.position), pressure.find_drop(spot.position)
    job = rush or drop
    assert job is not None  # a pressure covers its front's eleven: the content room checks it
    toward = job.gap.toward if isinstance(job, Rush) else job.toward
    return Man(
        position=position.name,
        label=position.label,
        player_class=position.player_class,
        x=x,
        depth_yd=depth_yd,
        down=spot.down,
        rush=rush,
        drop=drop,
        gaps=own_gaps((job.gap, job.second_gap), to, formation),
        side=toward.side(to) if toward else None,
        rules=rules.for_man(position.name, pressure.rules, pressure.changes(spot.position)),
    )


def spot_x(formation: Formation, gap: Gap) -> float:
    """Where a gap's middle was before the snap; a yard outside the last man for the outermost. In yards."""
    men = formation.on_side(gap.side)
    index = gap.letter.index
    inside = men[index - 1].x if index else formation.center.x
    return (inside + men[index].x) / 2 if index < len(men) else inside + gap.side.sign * 1.0


def is_edge(man: Man, formation: Formation, gaps: tuple[Gap, ...] | None = None) -> bool:
    """Whether he is the rusher on the outermost gap of a side, the man a kick-out block is meant for; by ``gaps``
    where he has exchanged his own."""
    if man.rush is None or man.rush.part is RushPart.TWO_GAP:
        return False
    return any(gap in (formation.outermost(Side.LEFT), formation.outermost(Side.RIGHT)) for gap in gaps or man.gaps)


def written_name(man: Man) -> str:
    """The position whose job he does, as the call is written."""
    job = man.rush or man.drop
    assert job is not None  # a man who does not rush drops
    return job.position


def is_filler(man: Man) -> bool:
    """Whether he is a dropper with a gap of his own."""
    return man.drop is not None and man.drop.run is RunJob.FILL
