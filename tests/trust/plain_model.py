"""What a server of sets and answers must do, as plain dictionaries: no database, no HTTP.

Written from the documented laws, not from the server's code: an answer is stored once and never changes; its player,
set, rep and choices are checked in this order; late answers are stored and marked.
"""

from dataclasses import dataclass, field
from datetime import datetime

from tests.harness.fake_football import RIGHT

CHOICES = frozenset("abc")


@dataclass
class PlainPlayer:
    id: str
    team: str
    number: int
    positions: tuple[str, ...]
    pin: str
    is_removed: bool = False
    is_signed_in: bool = False


@dataclass
class PlainSet:
    id: str
    team: str
    call: str
    positions: frozenset[str]
    length: int
    due: datetime
    is_closed: bool = False

    def is_over(self, now: datetime) -> bool:
        return self.is_closed or now > self.due


@dataclass(frozen=True)
class PlainAnswer:
    id: str
    set_id: str
    rep_id: str
    chosen: tuple[str, ...]
    is_right: bool
    is_late: bool


@dataclass
class PlainModel:
    """See the module. A player's layout is {place: (rep, the place that it returns for, or None)}, as it was laid
    out."""

    players: dict[str, PlainPlayer] = field(default_factory=dict)
    sets: dict[str, PlainSet] = field(default_factory=dict)
    layouts: dict[tuple[str, str], dict[int, tuple[str, int | None]]] = field(default_factory=dict)
    answers: dict[tuple[str, str], dict[str, PlainAnswer]] = field(default_factory=dict)

    def is_his(self, player: PlainPlayer, set_id: str) -> bool:
        """Whether a set is of his team and names one of his positions, or he opened it before."""
        one = self.sets[set_id]
        named = bool(one.positions & set(player.positions))
        return one.team == player.team and (named or (player.id, set_id) in self.layouts)

    def asked(self, player: PlainPlayer, set_id: str) -> dict[int, str]:
        """The reps he is asked, by place: a second form only for a rep that he missed."""
        layout = self.layouts.get((player.id, set_id), {})
        given = self.answers.get((player.id, set_id), {})
        missed = {place for place, (rep, _) in layout.items() if rep in given and not given[rep].is_right}
        return {place: rep for place, (rep, again_of) in layout.items() if again_of is None or again_of in missed}

    def next_place(self, player: PlainPlayer, set_id: str) -> int | None:
        given = self.answers.get((player.id, set_id), {})
        return next((place for place, rep in sorted(self.asked(player, set_id).items()) if rep not in given), None)

    def find_answer(self, player: PlainPlayer, answer_id: str) -> PlainAnswer | None:
        """His answer with that id, in any set."""
        own = (given for (player_id, _), given in self.answers.items() if player_id == player.id)
        return next((one for given in own for one in given.values() if one.id == answer_id), None)

    def to_open(self, player: PlainPlayer, set_id: str, now: datetime) -> int:
        """The status when he opens a set."""
        if not player.is_signed_in:
            return 401
        if not self.is_his(player, set_id):
            return 404
        if (player.id, set_id) in self.layouts:
            return 303
        return 410 if self.sets[set_id].is_over(now) else 303

    def to_answer(
        self, player: PlainPlayer, set_id: str, rep_id: str, answer_id: str, chosen: tuple[str, ...], now: datetime
    ) -> tuple[int, PlainAnswer | None]:
        """The status when he sends an answer, and the answer then stored."""
        if not player.is_signed_in:
            return 401, None
        if not self.is_his(player, set_id) or rep_id not in self.asked(player, set_id).values():
            return 404, None
        if len(chosen) != (2 if "open-gap" in rep_id else 1) or not set(chosen) <= CHOICES:
            return 422, None
        same_id = self.find_answer(player, answer_id)
        if same_id is not None:
            is_same = (same_id.set_id, same_id.rep_id, same_id.chosen) == (set_id, rep_id, chosen)
            return (200 if is_same else 409), same_id
        given = self.answers.setdefault((player.id, set_id), {})
        if rep_id in given:
            return 409, given[rep_id]
        is_right = set(chosen) == {RIGHT}
        given[rep_id] = PlainAnswer(answer_id, set_id, rep_id, chosen, is_right, self.sets[set_id].is_over(now))
        return 201, given[rep_id]

    def tally(self, player: PlainPlayer, call: str) -> tuple[int, int]:
        """His answers on a call, and how many were right."""
        own = [
            answer
            for (player_id, set_id), given in self.answers.items()
            if player_id == player.id and self.sets[set_id].call == call
            for answer in given.values()
        ]
        return len(own), sum(answer.is_right for answer in own)
