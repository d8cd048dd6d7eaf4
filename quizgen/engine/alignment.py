"""Where the eleven stand before the snap, and which gaps the call gives them. Knows no play."""

from __future__ import annotations

from dataclasses import dataclass, replace

from quizgen.football.defense import Alignment, Landmark, PlayerClass, Shade
from quizgen.football.formation import Formation, Role
from quizgen.football.pressure import CallGap, Drop, Part, Pressure, RunJob, Rush
from quizgen.football.rules import EdgeRule, Measures
from quizgen.football.sides import Gap, Side
from quizgen.football.team import Situation

LINE_ROLE = {Landmark.GUARD: Role.GUARD, Landmark.TACKLE: Role.TACKLE, Landmark.END: Role.END, Landmark.WING: Role.WING}
ABSENT_RECEIVER_YD = {Landmark.NUMBER_ONE: 6.0, Landmark.NUMBER_TWO: 4.0}


@dataclass(frozen=True, slots=True)
class Man:
    """A defender on the field with what the call asks of him; sides are absolute, ``gaps`` are his own before the
    snap."""

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
    edge: EdgeRule

    @property
    def mirrored(self) -> Man:
        """The same man turned round."""
        return replace(
            self,
            x=0.0 if self.x == 0 else -self.x,
            gaps=tuple(gap.mirrored for gap in self.gaps),
            side=self.side.other if self.side else None,
        )

    @property
    def order(self) -> int:
        """His order through the line; droppers count as 1."""
        return self.rush.order if self.rush else 1

    @property
    def is_first(self) -> bool:
        """A down lineman or a first rusher: he is through before anything moves behind him."""
        return self.down or (self.rush is not None and self.rush.order == 1)

    @property
    def two_gaps(self) -> bool:
        """Whether he owns two gaps by the call."""
        return len(self.gaps) > 1


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
    shade = alignment.shade.out_yd if alignment.shade is not Shade.HEAD else 0.0
    x = base + side.sign * (shade + alignment.out_yd)
    return x if x else 0.0


def own_gaps(pressure_gaps: tuple[CallGap | None, ...], to: Side, formation: Formation) -> tuple[Gap, ...]:
    """The gaps on the field that a call's gaps mean, each once."""
    gaps = [gap.gap(to, formation.outermost(gap.side(to))) for gap in pressure_gaps if gap is not None]
    return tuple(dict.fromkeys(gaps))


def line_up(situation: Situation) -> tuple[Man, ...]:
    """The eleven on the field from left to right, by the front, the call's own alignments and the formation."""
    return _line_up(situation, {p.name: p.mirrors for p in situation.positions})


def _line_up(s: Situation, mirrors: dict[str, str | None]) -> tuple[Man, ...]:
    align = dict(s.pressure.align)
    men = []
    for spot in s.front.spots:
        name = spot.position
        if s.to is Side.LEFT:
            name = mirrors.get(name) or name
        alignment = align.get(spot.position, spot.alignment)
        men.append(_man(s, spot.position, name, alignment, spot.down))
    return tuple(sorted(men, key=lambda man: (man.x, man.depth_yd)))


def _man(s: Situation, written_for: str, name: str, alignment: Alignment, down: bool) -> Man:
    pressure: Pressure = s.pressure
    position = next(p for p in s.positions if p.name == name)
    rush, drop = pressure.find_rush(written_for), pressure.find_drop(written_for)
    job = rush or drop
    assert job is not None  # a pressure covers its front's eleven: the content room checks it
    gaps = own_gaps((job.gap, job.second_gap), s.to, s.formation)
    toward = rush.gap.toward if rush else drop.toward if drop else None
    own_edge = pressure.edge_rule(written_for)
    edge = EdgeRule(own_edge) if own_edge else s.rules.edge_by_position.get(name, s.rules.edge)
    return Man(
        position.name,
        position.label,
        position.player_class,
        place(alignment, s.to, s.formation, s.rules.measures),
        alignment.depth_yd,
        down,
        rush,
        drop,
        gaps,
        toward.side(s.to) if toward else None,
        edge,
    )


def is_edge(man: Man, formation: Formation) -> bool:
    """Whether he is the rusher on the outermost gap of a side: the man a kick-out block is meant for."""
    if man.rush is None or man.rush.part is Part.TWO_GAP:
        return False
    return any(gap in (formation.outermost(Side.LEFT), formation.outermost(Side.RIGHT)) for gap in man.gaps)


def is_filler(man: Man) -> bool:
    """Whether he is a dropper with a gap of his own."""
    return man.drop is not None and man.drop.run is RunJob.FILL
