"""Where all eleven defenders stand before the snap, and what the call asks of each.

Part of the page solver: written from the design page alone (sections 1 to 3), for tests only, slow and plain.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from quizgen.football.defense import Alignment, Landmark, PlayerClass
from quizgen.football.formation import Formation, Role
from quizgen.football.pressure import CallGap, Drop, RunJob, Rush, RushPart
from quizgen.football.sides import Gap, Side
from quizgen.football.team import Situation

HALF_MAN_YD = 0.45
ABSENT_NUMBER_ONE_YD = 6.0
ABSENT_NUMBER_TWO_YD = 4.0


class NoAnswer(Exception):
    """The page has no rule for this situation (section 6: "there is no rule, and that is said")."""


@dataclass
class Man:
    """One defender: where he stands, his job in the call, and what the other modules work out for him."""

    position: str
    row: str
    """The position whose row of the call he plays: another one when a corner trades jobs with his partner."""
    x: float
    depth: float
    down: bool
    player_class: PlayerClass
    rush: Rush | None
    drop: Drop | None
    run_job: RunJob | None
    side: Side | None
    """Side of his drop; None for a rusher and for a man of the middle."""
    gaps: list[int] = field(default_factory=list)
    """His gaps before the snap as indexes into the formation's gaps; none for support."""
    exchanged: bool = False
    lanes: list[int] = field(default_factory=list)
    fitted: str = ""
    """How he came to stand beside men who arrive in his gap: box, spill, inside or outside."""
    phase: str | None = None
    is_read: bool = False
    barred: frozenset[int] = frozenset()
    """Lanes that support may not give him: those inside the read man, for a man with a phase."""
    over_the_top: bool = False
    supports: bool = False
    """He fills a leftover lane: none of his own before support."""
    shows: tuple[float, float] | None = None
    """Where he stands at the snap, x and depth, when he plays from another place."""

    @property
    def stands_x(self) -> float:
        return self.x if self.shows is None else self.shows[0]

    @property
    def stands_depth(self) -> float:
        return self.depth if self.shows is None else self.shows[1]

    @property
    def order(self) -> int:
        return self.rush.order if self.rush else 1

    @property
    def owns_gap(self) -> bool:
        return bool(self.gaps)

    @property
    def two_gap(self) -> bool:
        return len(self.gaps) > 1


def place_defense(situation: Situation) -> list[Man]:
    """Section 3: front, alignment of all eleven and each one's part, turned to the side of the call."""
    pressure = situation.pressure
    overridden, shown = dict(pressure.align), dict(pressure.show)
    men = []
    for position in situation.positions:
        row = row_name(situation, position.name)
        rush, drop = pressure.find_rush(row), pressure.find_drop(row)
        if rush is None and drop is None:
            continue
        spot = situation.front.spot(row)
        alignment = overridden.get(row, spot.alignment)
        man = Man(
            position=position.name,
            row=row,
            x=place_x(alignment, situation),
            depth=alignment.depth_yd,
            down=spot.down,
            player_class=position.player_class,
            rush=rush,
            drop=drop,
            run_job=drop.run if drop else None,
            side=drop.toward.side(situation.to) if drop and drop.toward else None,
        )
        if row in shown:
            man.shows = place_x(shown[row], situation), shown[row].depth_yd
        man.gaps = [gap_index(one, situation) for one in called_gaps(rush, drop)]
        men.append(man)
    return men


def row_name(situation: Situation, name: str) -> str:
    """A position that names a partner trades jobs with him when the call goes left; the others flip with the call."""
    if situation.to is Side.RIGHT:
        return name
    position = next(one for one in situation.positions if one.name == name)
    return position.mirrors or name


def called_gaps(rush: Rush | None, drop: Drop | None) -> list[CallGap]:
    """The gaps that the call gives a man: one, two for a two-gap player, none for a man who only supports."""
    part = rush or drop
    if part is None or part.gap is None:
        return []
    return [part.gap] if part.second_gap is None else [part.gap, part.second_gap]


def gap_index(call_gap: CallGap, situation: Situation) -> int:
    """Index of that gap in the formation, left to right; a letter past the last gap means the last one (section 2)."""
    formation = situation.formation
    side = call_gap.side(situation.to)
    wanted = call_gap.gap(formation.outermost(side))
    return formation.gaps.index(Gap(wanted.side, wanted.letter))


def place_x(alignment: Alignment, situation: Situation) -> float:
    """Section 2: alignment by technique gives an x. Shades and extra yards count outward from the landmark."""
    side = alignment.toward.side(situation.to)
    outward = landmark_yd(alignment.landmark, side, situation) + alignment.shade.out_yd + alignment.out_yd
    return side.sign * outward


def landmark_yd(landmark: Landmark, side: Side, situation: Situation) -> float:
    """Yards from the center outward to that landmark on that side."""
    formation = situation.formation
    last = last_attached_yd(formation, side)
    end_pitch = situation.rules.measures.pitch_yd(Role.END)
    if landmark in (Landmark.CENTER, Landmark.MIDDLE):
        return 0.0
    if landmark is Landmark.LAST:
        return last
    if landmark in (Landmark.NUMBER_ONE, Landmark.NUMBER_TWO):
        number = 0 if landmark is Landmark.NUMBER_ONE else 1
        receivers = formation.receivers(side)
        if len(receivers) > number:
            return side.sign * receivers[number].x
        return last + (ABSENT_NUMBER_ONE_YD if number == 0 else ABSENT_NUMBER_TWO_YD)
    man = next((one for one in formation.on_side(side) if one.role is Role(landmark.value)), None)
    if man is not None:
        return side.sign * man.x
    if landmark is Landmark.END:
        return last + end_pitch
    has_end = any(one.role is Role.END for one in formation.on_side(side))
    return last + end_pitch * (1 if has_end else 2)


def last_attached_yd(formation: Formation, side: Side) -> float:
    """Yards from the center to the last attached man on that side."""
    return max(side.sign * man.x for man in (*formation.on_side(side), formation.center))


def gap_side(formation: Formation, gap: int) -> Side:
    """The side of a gap before the snap."""
    return formation.gaps[gap].side


def is_outermost(formation: Formation, gap: int) -> bool:
    """Whether the gap lies outside the last attached man."""
    return gap in (0, len(formation.gaps) - 1)


def job_word(man: Man) -> str:
    """His job as the interface names it (section 9): a rusher's part, a dropper's run job."""
    if man.rush is not None:
        return man.rush.part.value
    return man.run_job.value if man.run_job else ""


def is_edge(man: Man) -> bool:
    """Whether the call makes him an edge or a contain man."""
    return man.rush is not None and man.rush.part in (RushPart.EDGE, RushPart.CONTAIN)
