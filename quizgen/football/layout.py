"""Turns a coach's words for a set ("guard, tackle, end, wing" from the center out) into a formation in yards.

Knows splits and roles; knows no file and no play. A coach counts men from the center out and splits from the last man
in; everything else here follows from the team's measures.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from quizgen.football.errors import FootballValueError
from quizgen.football.formation import Formation, OffensivePlayer, Role, RuleBook
from quizgen.football.motion import FormationMotion
from quizgen.football.rules import Measures
from quizgen.football.sides import Side

WING_DEPTH_YD = 1.0
OFF_LINE_YD = 1.0
MAX_SPLIT_YD = 25.0
MAX_DEPTH_YD = 12.0
MIN_BACK_DEPTH_YD = 0.8
MAX_ATTACHED = 5

LINE_ORDER = (Role.GUARD, Role.TACKLE, Role.END, Role.WING)
BACK_ROLES = (Role.TAILBACK, Role.FULLBACK, Role.SLOTBACK, Role.WING)
BACK_KEYS = {Role.TAILBACK: "TB", Role.FULLBACK: "FB", Role.SLOTBACK: "SB", Role.WING: "WB"}

Back = tuple[Role, float, float]
Receiver = tuple[Side, float, bool]


def lay_out(
    name: str,
    left: Sequence[Role],
    right: Sequence[Role],
    *,
    quarterback_yd: float,
    backs: Iterable[Back] = (),
    receivers: Iterable[Receiver] = (),
    measures: Measures | None = None,
    rule_book: RuleBook = RuleBook.HIGH_SCHOOL,
    mirror_name: str = "",
    key: str = "",
    mirror_key: str = "",
    motions: Iterable[FormationMotion] = (),
) -> Formation:
    """The formation of those words.

    ``left`` and ``right`` are the attached men from the center out; a wing is attached but a yard off the line, so a
    back by the rules of the game; a second tackle makes the line unbalanced. ``quarterback_yd`` is his depth,
    ``backs`` are (role, x, y) in yards, ``receivers`` (side, yards outside the last attached man, on the line or not).

    Raises:
        FootballValueError: words that make no line, a man out of bounds, or a rule of the game that is broken.

    >>> spread = lay_out("spread", (Role.GUARD, Role.TACKLE), (Role.GUARD, Role.TACKLE, Role.END), quarterback_yd=4.5,
    ...                  receivers=[(Side.LEFT, 10.0, True), (Side.RIGHT, 8.0, False)])
    >>> [gap.name for gap in spread.gaps][-1]
    'right D'
    """
    used = measures or Measures()
    line = (_center(), *attached(Side.LEFT, left, used), *attached(Side.RIGHT, right, used))
    _check_depth("quarterback", quarterback_yd)
    passer = OffensivePlayer("QB", Role.QUARTERBACK, None, 0.0, quarterback_yd, False, False)
    behind = [_back(role, x, y) for role, x, y in backs]
    wide = [_receiver(number, one, line) for number, one in enumerate(receivers, 1)]
    return Formation(
        name, _with_own_keys((*line, passer, *behind, *wide)), rule_book, mirror_name, key, mirror_key, tuple(motions)
    )


def attached(side: Side, roles: Sequence[Role], measures: Measures) -> tuple[OffensivePlayer, ...]:
    """The attached men of one side from the center out, keyed by side and role ("RE", "LW").

    Raises:
        FootballValueError: roles that are not guards, tackles, ends, wings in that order, or too many of them.
    """
    key = side.value
    places = [LINE_ORDER.index(role) if role in LINE_ORDER else -1 for role in roles]
    if -1 in places or places != sorted(places):
        expected = "guard, tackle, then ends and wings if any, from the center out"
        raise FootballValueError(key, [role.value for role in roles], expected)
    if len(roles) > MAX_ATTACHED:
        raise FootballValueError(key, len(roles), f"at most {MAX_ATTACHED} attached men a side")
    men = []
    x = 0.0
    for order, role in enumerate(roles, 1):
        x += measures.pitch_yd(role)
        on_line = role is not Role.WING
        y = 0.0 if on_line else WING_DEPTH_YD
        name = side.value[0].upper() + role.value[0].upper()
        men.append(OffensivePlayer(name, role, side, side.sign * x, y, on_line, True, order))
    return tuple(men)


def last_x(side: Side, line: Iterable[OffensivePlayer]) -> float:
    """The ``x`` in yards of the last attached man on ``side``; 0 where there is none."""
    return max((man.x for man in line if man.attached and man.side is side), key=abs, default=0.0)


def _center() -> OffensivePlayer:
    return OffensivePlayer("C", Role.CENTER, None, 0.0, 0.0, True, True, 0)


def _back(role: Role, x: float, y: float) -> OffensivePlayer:
    if role not in BACK_ROLES:
        raise FootballValueError("back", role.value, f"one of {', '.join(one.value for one in BACK_ROLES)}")
    _check_depth("back", y)
    if abs(x) > MAX_SPLIT_YD:
        raise FootballValueError("back", x, f"x within {MAX_SPLIT_YD:g} yards of the center")
    has_side = role in (Role.SLOTBACK, Role.WING) and x != 0
    side = (Side.RIGHT if x > 0 else Side.LEFT) if has_side else None
    return OffensivePlayer(BACK_KEYS[role], role, side, x, y, False, False)


def _check_depth(key: str, y: float) -> None:
    if not MIN_BACK_DEPTH_YD <= y <= MAX_DEPTH_YD:
        raise FootballValueError(key, y, f"a depth between {MIN_BACK_DEPTH_YD:g} and {MAX_DEPTH_YD:g} yards")


def _receiver(number: int, receiver: Receiver, line: Iterable[OffensivePlayer]) -> OffensivePlayer:
    side, split_yd, on_line = receiver
    if not 1.0 <= split_yd <= MAX_SPLIT_YD:
        raise FootballValueError("receiver", split_yd, f"a split between 1 and {MAX_SPLIT_YD:g} yards")
    x = last_x(side, line) + side.sign * split_yd
    y = 0.0 if on_line else OFF_LINE_YD
    return OffensivePlayer(f"WR{number}", Role.RECEIVER, side, x, y, on_line, False)


def _with_own_keys(men: Sequence[OffensivePlayer]) -> tuple[OffensivePlayer, ...]:
    """The men with a key each: the second right tackle becomes "RT2"."""
    seen: dict[str, int] = {}
    found = []
    for man in men:
        seen[man.key] = seen.get(man.key, 0) + 1
        found.append(man if seen[man.key] == 1 else _renamed(man, f"{man.key}{seen[man.key]}"))
    return tuple(found)


def _renamed(man: OffensivePlayer, key: str) -> OffensivePlayer:
    return OffensivePlayer(key, man.role, man.side, man.x, man.y, man.on_line, man.attached, man.order)
