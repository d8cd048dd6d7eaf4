"""The offense before the snap: who stands where, and whether the rules of the game allow it.

Knows no play. A formation is absolute: its left and right are the defense's.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import combinations
from math import hypot

from quizgen.football.errors import FootballValueError
from quizgen.football.keys import slug
from quizgen.football.motion import FormationMotion
from quizgen.football.sides import LETTERS, Gap, Side
from quizgen.football.terms import Term

SAME_PLACE_YD = 0.5


class Role(Term):
    """What an offensive player is, as blocking rules name him."""

    CENTER = "center", "the man over the ball"
    GUARD = "guard", "next to the center"
    TACKLE = "tackle", "next to the guard"
    END = "end", "attached on the line outside the tackle"
    WING = "wing", "an attached man off the line, outside the end or tackle"
    QUARTERBACK = "quarterback", "the back who takes the snap"
    FULLBACK = "fullback", "the back nearer to the line, who often leads"
    TAILBACK = "tailback", "the deepest back, who usually carries the ball"
    SLOTBACK = "slotback", "a back near the end of the line who may carry the ball"
    RECEIVER = "receiver", "a man split wide"
    IN_MOTION = "man in motion", "a man in jet or orbit motion, whatever he was before it"

    @property
    def is_interior(self) -> bool:
        """Center, guard or tackle: always part of the line."""
        return self in (Role.CENTER, Role.GUARD, Role.TACKLE)


class RuleBook(Term):
    """Whose rules decide what is a legal formation."""

    HIGH_SCHOOL = "high school", "formations must be legal by the high-school rules"
    COLLEGE = "college", "formations must be legal by the college rules"
    PROFESSIONAL = "professional", "formations must be legal by the professional rules"


@dataclass(frozen=True, slots=True)
class FormationRule:
    """How many men must be on the line and how many may be behind it; None where the book sets no such number."""

    min_on_line: int | None
    max_backs: int | None
    source: str


# source: NFHS football rules 2-14-1 and 7-2-5a (since 2019); NCAA football rule 7-1-4; NFL rule 7-5 (from memory).
FORMATION_RULES: dict[RuleBook, FormationRule] = {
    RuleBook.HIGH_SCHOOL: FormationRule(5, 4, "NFHS 7-2-5a: at least five on the line and no more than four backs"),
    RuleBook.COLLEGE: FormationRule(5, 4, "NCAA 7-1-4: at least five on the line and no more than four backs"),
    RuleBook.PROFESSIONAL: FormationRule(7, None, "NFL 7-5: at least seven on the line"),
}
MAX_PLAYERS = 11


@dataclass(frozen=True, slots=True)
class OffensivePlayer:
    """One man of the offense. ``attached`` men are part of the surface that makes the gaps; ``side`` is None on the
    center and on backs who belong to no side. ``order`` counts attached men outward from the center (0)."""

    key: str
    role: Role
    side: Side | None
    x: float
    y: float
    on_line: bool
    attached: bool
    order: int = 0
    _twin: OffensivePlayer | None = field(default=None, init=False, repr=False, compare=False)

    @property
    def word(self) -> str:
        """The man in words: side and role ("right guard")."""
        sided = self.side is not None and self.role not in (Role.CENTER, Role.IN_MOTION)
        return f"{self.side.value} {self.role.value}" if self.side and sided else self.role.value

    @property
    def mirrored(self) -> OffensivePlayer:
        """The same man on the other side; made once."""
        if self._twin is not None:
            return self._twin
        key = _turned_key(self.key) if self.side and self.attached and self.role is not Role.CENTER else self.key
        side = self.side.other if self.side else None
        x = 0.0 if self.x == 0 else -self.x
        twin = OffensivePlayer(key, self.role, side, x, self.y, self.on_line, self.attached, self.order)
        object.__setattr__(twin, "_twin", self)
        object.__setattr__(self, "_twin", twin)
        return twin


def _turned_key(key: str) -> str:
    """The key of an attached man on the other side ("LT" -> "RT"); other keys name no side."""
    return ("L" if key[0] == "R" else "R") + key[1:] if key[:1] in ("L", "R") else key


@dataclass(frozen=True, slots=True)
class Moved:
    """What happened before the snap: the motion, the ``key`` that the man has now, where he started, and the formation
    as it was set."""

    motion: FormationMotion
    key: str
    x: float
    y: float
    before: Formation

    @property
    def mirrored(self) -> Moved:
        """The same turned round."""
        return Moved(
            self.motion.mirrored, _turned_key(self.key), 0.0 if self.x == 0 else -self.x, self.y, self.before.mirrored
        )


@dataclass(frozen=True, slots=True)
class Formation:
    """Up to eleven men of the offense, checked against a rule book. From left to right: ``surface``, the attached
    men, and ``gaps``, the gaps before the snap, one more than they are. ``motions`` are those that may come from it,
    ``moved`` the one that this formation comes from (None: it is as it was set).

    Raises:
        FootballValueError: naming the rule that the formation breaks.
    """

    name: str
    players: tuple[OffensivePlayer, ...]
    rule_book: RuleBook = RuleBook.HIGH_SCHOOL
    mirror_name: str = ""
    key: str = ""
    mirror_key: str = ""
    motions: tuple[FormationMotion, ...] = ()
    moved: Moved | None = None
    surface: tuple[OffensivePlayer, ...] = field(init=False, repr=False, compare=False)
    center: OffensivePlayer = field(init=False, repr=False, compare=False)
    gaps: tuple[Gap, ...] = field(init=False, repr=False, compare=False)
    sides: tuple[tuple[OffensivePlayer, ...], ...] = field(init=False, repr=False, compare=False)
    _twin: Formation | None = field(default=None, init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "key", self.key or slug(self.name))
        object.__setattr__(self, "mirror_key", self.mirror_key or slug(self.mirror_name))
        ordered = tuple(sorted(self.players, key=lambda p: (p.x, p.y)))
        object.__setattr__(self, "players", ordered)
        object.__setattr__(self, "surface", tuple(p for p in ordered if p.attached))
        self._check_men()
        self._check_rule_book()
        object.__setattr__(self, "center", next(p for p in self.surface if p.role is Role.CENTER))
        sides = ([p for p in self.surface if p.order and p.side is side] for side in Side)
        object.__setattr__(self, "sides", tuple(tuple(sorted(men, key=lambda p: p.order)) for men in sides))
        left, right = (len(men) for men in self.sides)
        gaps = [Gap(Side.LEFT, LETTERS[i]) for i in range(left, -1, -1)]
        gaps += [Gap(Side.RIGHT, LETTERS[i]) for i in range(right + 1)]
        object.__setattr__(self, "gaps", tuple(gaps))

    def _check_men(self) -> None:
        if len(self.players) > MAX_PLAYERS:
            raise FootballValueError(
                "players", len(self.players), "no more than eleven men (NFHS 1-1, NCAA 1-1, NFL 5-1)"
            )
        if sum(p.role is Role.CENTER for p in self.players) != 1:
            raise FootballValueError("players", self.name, "exactly one center")
        if sum(p.role is Role.QUARTERBACK for p in self.players) != 1:
            raise FootballValueError("players", self.name, "exactly one quarterback to take the snap")
        for side in Side:
            for role in (Role.GUARD, Role.TACKLE):
                if not any(p.role is role and p.side is side for p in self.surface):
                    raise FootballValueError("players", self.name, f"a {side.value} {role.value} on the line")
        for first, second in combinations(self.players, 2):
            if hypot(first.x - second.x, first.y - second.y) < SAME_PLACE_YD:
                raise FootballValueError("players", f"{first.word} and {second.word}", "no two men in one place")

    def _check_rule_book(self) -> None:
        rule = FORMATION_RULES[self.rule_book]
        on_line = sum(p.on_line for p in self.players)
        backs = len(self.players) - on_line
        if rule.min_on_line is not None and on_line < rule.min_on_line:
            raise FootballValueError("players", f"{on_line} on the line", f"a legal formation ({rule.source})")
        if rule.max_backs is not None and backs > rule.max_backs:
            raise FootballValueError("players", f"{backs} backs", f"a legal formation ({rule.source})")

    @property
    def mirrored(self) -> Formation:
        """The same formation turned round, under its mirror name where it has one; made once."""
        if self._twin is not None:
            return self._twin
        name = self.mirror_name or self.name
        players = tuple(p.mirrored for p in self.players)
        twin = Formation(
            name,
            players,
            self.rule_book,
            self.name,
            self.mirror_key or self.key,
            self.key,
            tuple(motion.mirrored for motion in self.motions),
            self.moved.mirrored if self.moved else None,
        )
        object.__setattr__(twin, "_twin", self)
        object.__setattr__(self, "_twin", twin)
        return twin

    def outermost(self, side: Side) -> Gap:
        """The gap outside the last attached man on ``side``."""
        return self.gaps[0] if side is Side.LEFT else self.gaps[-1]

    def on_side(self, side: Side) -> tuple[OffensivePlayer, ...]:
        """Attached men on ``side`` from the inside out, the center left out."""
        return self.sides[0] if side is Side.LEFT else self.sides[1]

    def find(self, role: Role, side: Side | None = None) -> OffensivePlayer | None:
        """The first man of that role (on that side, where one is given), or None."""
        found = [p for p in self.players if p.role is role and (side is None or p.side is side)]
        return min(found, key=lambda p: (p.order, abs(p.x), p.x)) if found else None

    def receivers(self, side: Side) -> tuple[OffensivePlayer, ...]:
        """Eligible men on ``side`` counted from the sideline in: number one first. A tailback or fullback counts when
        he lines up outside the last attached man."""
        eligible = (Role.RECEIVER, Role.END, Role.WING, Role.SLOTBACK, Role.IN_MOTION)
        last_yd = max((abs(p.x) for p in self.on_side(side)), default=0.0)
        men = [
            p
            for p in self.players
            if p.x * side.sign > 0
            and (p.role in eligible or (p.role in (Role.TAILBACK, Role.FULLBACK) and abs(p.x) > last_yd))
        ]
        return tuple(sorted(men, key=lambda p: -abs(p.x)))
