"""The men of a snap as a scene names and places them: ids, symbols, places before the snap and at the fit.

Must not know: questions, answers, tones.
"""

from __future__ import annotations

from quizgen.drawing.scene import Blocker, Defender, End, HeldBall, Key, Motion, Point, Span, Symbol, Track, TrackPhase
from quizgen.engine.alignment import Man
from quizgen.engine.lanes import Lane
from quizgen.engine.movement import BlockerMove
from quizgen.football.formation import Formation, OffensivePlayer, Role
from quizgen.football.motion import MotionKind
from quizgen.football.scheme import Intent, Place

STEP_YD = 0.15
BEHIND_YD = 1.3
SHORT_YD = 0.5
DRIVE_YD = 0.7
CLIMB_YD = 2.2
THROUGH_YD = 1.2
BEFORE_S = 1.2
RETURN_IN_YD = 2.0
RETURN_BACK_YD = 0.8
TRADE_Y_YD = 2.4
SHALLOW_Y_YD = 2.0
BEHIND_PASSER_YD = 2.3
BACK_LABELS = {Role.QUARTERBACK: "Q", Role.FULLBACK: "F", Role.TAILBACK: "T", Role.SLOTBACK: "S"}


class Cast:
    """Ids for everybody on the field, by their order from left to right, so that an id tells nothing."""

    def __init__(self, formation: Formation, men: tuple[Man, ...]) -> None:
        self.formation = formation
        self.men = men
        self._blockers = {player.key: f"o{number}" for number, player in enumerate(formation.players, 1)}
        self._defenders = {man.position: f"d{number}" for number, man in enumerate(men, 1)}

    def blocker_id(self, player: OffensivePlayer) -> str:
        """The id of an offensive man."""
        return self._blockers[player.key]

    def defender_id(self, position: str) -> str:
        """The id of a defender."""
        return self._defenders[position]

    def defenders(self, own: str) -> tuple[Defender, ...]:
        """The eleven before the snap, the player's own man marked."""
        return tuple(
            Defender(
                self.defender_id(man.position), man.stands[0], -man.stands[1], man.label, is_own=man.position == own
            )
            for man in self.men
        )

    def before(self, moves: tuple[BlockerMove, ...] = ()) -> tuple[Blocker, ...]:
        """The offense before the snap; of ``moves`` those who will pull are marked."""
        pulling = {m.player.key for m in moves if m.rule.pulls}
        return tuple(
            self._blocker(player, player.x, player.y, pulls=player.key in pulling) for player in self.formation.players
        )

    def ball(self, *holders: tuple[float, OffensivePlayer | None]) -> HeldBall:
        """The ball on the ground before the center, and who has it from when on; None: this formation has no such
        man."""
        rest = [(at_s, self.blocker_id(player)) for at_s, player in holders if player is not None]
        if rest and rest[0][0] == 0.0:
            return HeldBall(tuple(rest))
        return HeldBall(((0.0, self.blocker_id(self.formation.center)), *rest))

    def at_fit(self, moves: tuple[BlockerMove, ...]) -> tuple[Blocker, ...]:
        """The offense about to fit: sideways where each man gets to, but still off the defense, which has not moved;
        men without a job stand where they were."""
        places = {m.player.key: m for m in moves if m.rule.place is not Place.AWAY}
        blockers = []
        for player in self.formation.players:
            m = places.get(player.key)
            if m is None:
                blockers.append(self._blocker(player, player.x, player.y))
            else:
                was = Point(player.x, player.y)
                blockers.append(self._blocker(player, m.x_to, short_y(m), pulls=m.rule.pulls, was=was))
        return tuple(blockers)

    def _blocker(
        self, player: OffensivePlayer, x: float, y: float, *, pulls: bool = False, was: Point | None = None
    ) -> Blocker:
        symbol = Symbol.SQUARE if player.role is Role.CENTER else Symbol.CIRCLE
        label = BACK_LABELS.get(player.role, "G" if pulls and player.role is Role.GUARD else "")
        return Blocker(self.blocker_id(player), x, y, symbol, label, is_puller=pulls, was=was)

    def span(self, lane: Lane) -> Span:
        """A lane between its two blockers; open on a side where there is none."""
        left, right = (self.blocker_id(m.player) if m else None for m in (lane.left, lane.right))
        return Span.between(left, right)

    def block_tracks(self, moves: tuple[BlockerMove, ...]) -> tuple[Track, ...]:
        """The way of every blocker who goes somewhere: steps straight, pulls curved behind the line."""
        return tuple(self._block_track(m) for m in moves if goes_somewhere(m))

    def motion_tracks(self) -> tuple[Track, ...]:
        """The way of the man who moved before the snap, dashed, to where he is at the snap; none where nobody did."""
        points = motion_way(self.formation)
        if not points:
            return ()
        return (
            Track(
                f"in-{self._mover_id()}",
                points,
                TrackPhase.SECOND,
                End.ARROW,
                is_curved=len(points) > 2,
                of=self._mover_id(),
            ),
        )

    def _mover_id(self) -> str:
        assert self.formation.moved is not None  # somebody moved
        return self._blockers[self.formation.moved.key]

    def motions_before(self) -> tuple[Motion, ...]:
        """The same as movement, in the ``BEFORE_S`` seconds up to the snap; none where nobody moved."""
        points = motion_way(self.formation)
        steps = enumerate(points)
        keys = tuple(Key(BEFORE_S * number / (len(points) - 1), point.x, point.y) for number, point in steps)
        return (Motion(self._mover_id(), keys),) if points else ()

    def straight_tracks(self, moves: tuple[BlockerMove, ...]) -> tuple[Track, ...]:
        """The way of every lineman who goes straight ahead, as a scout team needs it: a block, or up to a backer."""
        return tuple(
            self._straight(m) for m in moves if m.in_line and not goes_somewhere(m) and m.rule.place is not Place.AWAY
        )

    def _straight(self, m: BlockerMove) -> Track:
        climbs = m.intent is Intent.NONE
        end = Point(m.player.x, m.player.y - (CLIMB_YD if climbs else DRIVE_YD))
        start = Point(m.player.x, m.player.y)
        return Track(f"to-{self.blocker_id(m.player)}", (start, end), end=End.ARROW if climbs else End.T, is_scout=True)

    def carrier_track(self, carrier: OffensivePlayer, aim_x: float) -> Track:
        """The way of the man who carries the ball, as a scout team needs it: through the gap that the play aims at."""
        points = (Point(carrier.x, carrier.y), Point(aim_x, -THROUGH_YD))
        return Track(f"to-{self.blocker_id(carrier)}", points, is_scout=True, is_ball=True)

    def _block_track(self, m: BlockerMove) -> Track:
        is_block = not m.in_line and m.intent not in (Intent.LEAD, Intent.NONE)
        man = self.blocker_id(m.player)
        return Track(f"to-{man}", self.way(m), end=End.T if is_block else End.PLAIN, is_curved=m.rule.pulls, of=man)

    def way(self, m: BlockerMove) -> tuple[Point, ...]:
        """A blocker's way in yards, up to the defense: straight, or dropping behind the line where he pulls, and behind
        a passer who stands there."""
        start, end = Point(m.player.x, m.player.y), Point(m.x_to, short_y(m))
        if not m.rule.pulls or start == end:
            return start, end
        passer = self.formation.find(Role.QUARTERBACK)
        is_round = passer is not None and passer.y < SHALLOW_Y_YD and (passer.x - start.x) * (passer.x - end.x) < 0
        behind = BEHIND_PASSER_YD if is_round else BEHIND_YD
        return (
            start,
            Point(m.player.x + 0.25 * m.dx, behind),
            Point(m.player.x + 0.8 * m.dx, behind * 0.8),
            end,
        )


def motion_way(formation: Formation) -> tuple[Point, ...]:
    """The way of the man who moved before the snap, in yards; empty where nobody did. A return goes in and comes back,
    an orbit and a trade go round behind the others."""
    moved = formation.moved
    if moved is None:
        return ()
    kind = moved.motion.kind
    man = next(player for player in formation.players if player.key == moved.key)
    start, end = Point(moved.x, moved.y), Point(man.x, man.y)
    if kind is MotionKind.RETURN:
        inner = formation.on_side(moved.motion.to)[-1].x + moved.motion.to.sign * RETURN_IN_YD
        return start, Point(inner, end.y + RETURN_BACK_YD), end
    if kind is MotionKind.TRADE:
        return start, Point(start.x, TRADE_Y_YD), Point(end.x, TRADE_Y_YD), end
    if kind is MotionKind.ORBIT:
        return start, Point((start.x + end.x) / 2, end.y), end
    return start, end


def short_y(m: BlockerMove) -> float:
    """How deep a blocker is just before he fits: linemen on their line, men who arrive a step behind it."""
    return m.player.y if m.in_line else SHORT_YD


def goes_somewhere(m: BlockerMove) -> bool:
    """Whether a blocker's way is worth a line: he steps sideways or arrives from somewhere else."""
    if m.rule.place is Place.AWAY:
        return False
    return not m.in_line or abs(m.dx) >= STEP_YD
