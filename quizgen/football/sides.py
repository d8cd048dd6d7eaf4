"""Left and right, to and away, and the letters of the gaps. Knows nothing of players.

Every left and right is the defense's own. ``x`` runs in yards from the center, positive to the defense's right; ``y``
in yards from the line of scrimmage, positive into the offense's backfield.
"""

from __future__ import annotations

from dataclasses import dataclass

from quizgen.football.terms import Term


class Side(Term):
    """The defense's own left or right."""

    LEFT = "left", "the defense's own left, for calls and plays alike"
    RIGHT = "right", "the defense's own right, for calls and plays alike"

    @property
    def sign(self) -> int:
        """-1 for left, +1 for right: the direction of ``x``."""
        return 1 if self is Side.RIGHT else -1

    @property
    def other(self) -> Side:
        """The opposite side."""
        return Side.LEFT if self is Side.RIGHT else Side.RIGHT


class Ball(Term):
    """Where the ball lies across the field, as the defense sees it (high school: the hashes cut it in thirds, from
    memory of the rule book)."""

    LEFT = "left", "on the hash to the defense's left: the field is on its right, the boundary on its left"
    MIDDLE = "middle", "in the middle: neither side is the field or the boundary"
    RIGHT = "right", "on the hash to the defense's right: the field is on its left, the boundary on its right"

    @property
    def mirrored(self) -> Ball:
        """The same place seen turned round."""
        return {Ball.LEFT: Ball.RIGHT, Ball.RIGHT: Ball.LEFT}.get(self, self)


class Toward(Term):
    """A side as a call or a play names it: the side it goes to, or the one away from it."""

    TO = "to", "to the side of the call or play"
    AWAY = "away", "away from it"

    def side(self, to: Side) -> Side:
        """The field side this means when the call (or the play) goes to ``to``."""
        return to if self is Toward.TO else to.other


class Letter(Term):
    """A gap's letter, counted outward from the center: A is center-guard (source: common practice)."""

    A = "A", "center to guard"
    B = "B", "guard to tackle"
    C = "C", "outside the tackle; tackle to end where there is one"
    D = "D", "outside the end"
    E = "E", "outside a second man attached beyond the tackle"
    F = "F", "outside a third one"

    @property
    def index(self) -> int:
        """0 for A, 1 for B and so on outward."""
        return ord(self._value_) - ord("A")

    @classmethod
    def from_index(cls, index: int) -> Letter:
        """The letter ``index`` gaps outward from the center; raises IndexError past F."""
        return LETTERS[index]


LETTERS = tuple(Letter)


@dataclass(frozen=True, slots=True)
class Gap:
    """A gap as it stands before the snap: a side and a letter.

    >>> Gap(Side.RIGHT, Letter.B).name
    'right B'
    """

    side: Side
    letter: Letter

    @property
    def name(self) -> str:
        """Side and letter in words."""
        return f"{self.side.value} {self.letter.value}"

    @property
    def across(self) -> int:
        """Its place among the gaps from left to right: left A is -1, right A is 1."""
        return self.side.sign * (self.letter.index + 1)

    @property
    def mirrored(self) -> Gap:
        """The same gap on the other side."""
        return Gap(self.side.other, self.letter)
