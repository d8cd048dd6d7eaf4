"""Ids made from what decides a rep, so that the same content gives the same id on every machine and in every run.

A setup's digest is the SHA-256 of its canonical JSON: keys sorted, no blanks, every number a float, enums by value,
lists whose order means nothing (rushes, drops, spots …) sorted. Must not know: files, solved answers, words on a page.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass
from enum import Enum
from hashlib import sha256

from quizgen.football.calling import PlayedCall
from quizgen.football.defense import Front, Position
from quizgen.football.formation import Formation
from quizgen.football.pressure import Pressure
from quizgen.football.scheme import Play
from quizgen.football.sides import Side
from quizgen.football.team import TeamBook

# Raised whenever the engine or a kind of rep answers, words or draws the same content differently. How a wrong choice
# lies to the team's other calls is no part of what is asked: a change of another call changes no id.
# 3: a wrong lane that he has on another call says so; whom the quarterback reads is told that nobody blocks him.
# 4: `count` marks the gaps counted, `option-man` says his phase beside him; a miss there, and on a back let go, marks
# who is free.
# 5: the picture after the answer stands where the question's stood; a man who pulled is called so where a lane is told
# by the blockers beside it; `hooked` marks the lane taken; who comes last is told what the call leaves open.
# 6: the rule and the words "over the top"; the free man's sentence.
# 7: options: who is read, who has which phase, and that it is told in everything he is told.
# 8: force takes what is open on his side; support comes for a man who cannot get there.
# 9: one blocker threatens one man; a hinge washes nobody.
# 10: rushers who meet are late; late men are none of the numbers.
# 11: every noun has a key, and a defender as a choice is known by his position's.
# 12: support never crosses; force before others; protections by who lines up on whom.
# 13: the new look: his own man and what he may tap are drawn with the marker.
# 14: two sentences of what a wrong gap leaves are plainer.
# 15: an arc blocks a man who drops, not the edge.
# 16: the ball, ghosts, plates and heads; every kind has a replay, in which his own man goes where he is told.
# 17: whose answer the key names; nobody lies on another.
# 18: who is pass first goes to the ball once it is over the line.
# 19: stems name no gap, lane or rush of the man's own; the words are one lesson; sides of a block; who has force.
# 20: whether `support` asks about force goes by the call's key, so that a renaming changes nothing.
# 21: who has no gap is told which gap the call gives up, not that each has a man.
VERSION = "21"

SETUP_HEX = 16
REP_HEX = 24
JOB_HEX = 16
# What decides no answer: the side that a call goes to, what it is adjusted to, and the motion before the snap are parts
# of the setup itself; what else a formation may do, or what a coverage is for, is only said.
UNTOLD = frozenset({"goes_to", "adjust", "motions", "used_with", "meaning"})
UNTOLD_WHEN_EMPTY = frozenset({"show"})
UNORDERED = frozenset({"rushes", "drops", "spots", "align", "conceded", "exchanges", "by_position", "show"})


def plain(value: object) -> object:
    """A noun as JSON values."""
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, bool | str) or value is None:
        return value
    if isinstance(value, int | float):
        return float(value)
    if isinstance(value, Mapping):
        return {str(plain(key)): plain(item) for key, item in value.items()}
    if isinstance(value, tuple | list):
        return [plain(item) for item in value]
    if is_dataclass(value):
        return {
            f.name: _field(f.name, getattr(value, f.name)) for f in fields(value) if f.init and _decides(f.name, value)
        }
    raise TypeError(f"a {type(value).__name__} has no canonical form")


def _decides(name: str, noun: object) -> bool:
    return name not in UNTOLD and not (name in UNTOLD_WHEN_EMPTY and not getattr(noun, name))


def _field(name: str, value: object) -> object:
    found = plain(value)
    return sorted(found, key=canonical) if name in UNORDERED and isinstance(found, list) else found


def canonical(value: object) -> str:
    """JSON values as the one text that stands for them."""
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


@dataclass(frozen=True, slots=True)
class Setup:
    """One situation before it is solved: the call and its side as called, and as it is ``played`` from ``front``;
    ``play`` and ``play_to`` are None on air."""

    digest: str
    pressure: Pressure
    to: Side
    played: PlayedCall
    front: Front
    formation: Formation
    play: Play | None
    play_to: Side | None


class SetupIds:
    """Digests of one team's setups; the parts that many setups share are put into JSON once."""

    def __init__(self, team: TeamBook) -> None:
        self._rules = _text(team.rules)
        self._words = _text(team.words)
        self._version = canonical(VERSION)
        self._by_name = {position.name: position for position in team.positions}
        self._texts: dict[int, tuple[object, str]] = {}
        self._elevens: dict[int, tuple[object, str]] = {}

    def setup(
        self,
        pressure: Pressure,
        to: Side,
        played: PlayedCall,
        front: Front,
        formation: Formation,
        play: Play | None,
        play_to: Side | None,
    ) -> Setup:
        """The setup of these nouns with its digest."""
        adjusted = {"adjusted": self._cached(played.adjusted)} if played.adjusted else {}
        parts = {
            **adjusted,
            "formation": self._cached(formation),
            "front": self._cached(front),
            "play": self._cached(play),
            "play_to": self._cached(play_to),
            "positions": self._eleven(front),
            "pressure": self._cached(played.pressure),
            "rules": self._rules,
            "to": self._cached(played.to),
            "version": self._version,
            "words": self._words,
        }
        text = "{" + ",".join(f'"{key}":{part}' for key, part in parts.items()) + "}"
        digest = sha256(text.encode()).hexdigest()[:SETUP_HEX]
        return Setup(digest, pressure, to, played, front, formation, play, play_to)

    def _cached(self, noun: object) -> str:
        if id(noun) not in self._texts:
            self._texts[id(noun)] = (noun, _text(noun))  # the noun is kept, so that its id stays its own
        return self._texts[id(noun)][1]

    def _eleven(self, front: Front) -> str:
        """The front's positions, without the rooms they meet in."""
        if id(front) not in self._elevens:
            names = sorted(spot.position for spot in front.spots)
            men = [_position(self._by_name[name]) for name in names]
            self._elevens[id(front)] = (front, canonical(men))
        return self._elevens[id(front)][1]


def _text(noun: object) -> str:
    return canonical(plain(noun))


def _position(position: Position) -> dict[str, str | None]:
    return {
        "label": position.label,
        "mirrors": position.mirrors,
        "name": position.name,
        "player_class": position.player_class.value,
    }


def rep_id(setup: str, kind: str, position: str) -> str:
    """The id of a rep: its setup's digest, then eight letters for kind and position."""
    return setup + _short(f"{kind}|{position}", REP_HEX - SETUP_HEX)


def picture_id(setup: str, position: str) -> str:
    """Equal for reps of one position that show the same snap."""
    return _short(f"{setup}|{position}", SETUP_HEX)


def guise_id(*parts: str) -> str:
    """Equal for reps that ask the same thing from another side or formation."""
    return _short("|".join(parts), SETUP_HEX)


def job_id(kind: str, situation: Sequence[str | None], right: Iterable[Iterable[str]]) -> str:
    """Equal while the same question to the same man has the same right answer: ``situation`` is position, call, its
    side, formation, play and its side by their keys, ``right`` the keys of the right choices of each part.

    What is drawn and how it is said is no part of it, nor are the other choices.
    """
    return _short(canonical([kind, list(situation), [sorted(part) for part in right]]), JOB_HEX)


def _short(text: str, length: int) -> str:
    return sha256(text.encode()).hexdigest()[:length]
