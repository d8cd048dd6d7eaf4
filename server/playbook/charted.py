"""What was counted of opponents and what the staff accepts, as rows by keys and as quizgen's nouns by names.

Plain values in and out; no database. A play or formation that the team doesn't have stands under the opponent's word.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from quizgen.content.dump import dump_accepted, dump_opponents
from quizgen.football.keys import slug
from quizgen.football.opponent import AcceptedLack, ChartedOpponent, OpponentRun
from quizgen.football.sides import Side
from server.playbook.noun_names import NounKind
from server.playbook.rep_summary import PlaySummary

if TYPE_CHECKING:
    from server.playbook.playbooks import Playbook

OPPONENTS, ACCEPTED = "opponents.toml", "accepted.toml"
PASS_STAGE = 5
#: A pass whose protection was not charted: it counts for the stage of passes, but for no protection.
UNCHARTED = "Any pass"
NAME_MAX = 60


class RunCount(NamedTuple):
    """How often an opponent runs a play, from a formation and to one of our sides (empty: not known); nouns by keys."""

    play: str
    formation: str
    to: str
    snaps: float


class AcceptedSnap(NamedTuple):
    """A lack that is accepted on the snaps that fit (empty: any), and why; nouns by keys. See ``AcceptedLack``."""

    call: str
    to: str
    formation: str
    play: str
    play_to: str
    why: str
    lack: str


def to_counts(playbook: Playbook, opponent: ChartedOpponent) -> list[RunCount]:
    """What was counted of an opponent in TOML, by keys."""
    return [
        RunCount(
            known_play(run.play, playbook.plays()),
            playbook.find_key(NounKind.FORMATION, run.formation) or run.formation,
            run.to.value if run.to else "",
            run.count,
        )
        for run in opponent.runs
    ]


def to_opponent(
    playbook: Playbook, name: str, key: str, runs: Iterable[RunCount], *, is_next: bool = False
) -> ChartedOpponent:
    """What was counted of an opponent, by names."""
    plays = spelled_plays(playbook.plays())
    found = tuple(
        OpponentRun(
            playbook.name(NounKind.PLAY, spell(run.play, plays)),
            run.snaps,
            playbook.name(NounKind.FORMATION, run.formation),
            Side(run.to) if run.to else None,
        )
        for run in runs
    )
    return ChartedOpponent(name, found, is_next, key)


def to_snaps(playbook: Playbook, accepted: Iterable[AcceptedLack]) -> list[AcceptedSnap]:
    """What is accepted in TOML, by keys."""

    def key(kind: NounKind, name: str) -> str:
        return playbook.find_key(kind, name) or name

    return [
        AcceptedSnap(
            key(NounKind.CALL, one.call),
            one.to.value if one.to else "",
            key(NounKind.FORMATION, one.formation),
            key(NounKind.PLAY, one.play),
            one.play_to.value if one.play_to else "",
            one.why,
            one.lack,
        )
        for one in accepted
    ]


def to_accepted(playbook: Playbook, snaps: Iterable[AcceptedSnap]) -> list[AcceptedLack]:
    """What is accepted, by names; without what is of a noun that the content no longer has."""
    found = []
    for one in snaps:
        nouns = ((NounKind.CALL, one.call), (NounKind.FORMATION, one.formation), (NounKind.PLAY, one.play))
        if any(key and playbook.find_key(kind, key) is None for kind, key in nouns):
            continue
        call, formation, play = (playbook.name(*noun) for noun in nouns)
        sides = [Side(side) if side else None for side in (one.to, one.play_to)]
        found.append(AcceptedLack(call, one.why, sides[0], formation, play, sides[1], one.lack))
    return found


def free_key(name: str, used: Collection[str]) -> str:
    """A key for an opponent of that name, other than the ``used`` ones."""
    first = slug(name) or "opponent"
    return next(
        key for number in itertools.count(1) if (key := first if number == 1 else f"{first[:56]}-{number}") not in used
    )


def charted_files(opponents: Sequence[ChartedOpponent], accepted: Sequence[AcceptedLack]) -> dict[str, str]:
    """The two TOML files with these; a file that would be empty is left out."""
    return {**dump_opponents(opponents), **dump_accepted(accepted)}


# Plays by key ---------------------------------------------------------------------------------------------------------


def stage_counts_of(play_counts: Mapping[str, float], plays: Sequence[PlaySummary]) -> dict[int, float]:
    """How often they run each stage; empty when they run nothing from the team's list."""
    found: dict[int, float] = defaultdict(float)
    stages = {UNCHARTED: PASS_STAGE} | {play.key: play.stage for play in plays}
    for key, count in by_key(play_counts, plays).items():
        if key in stages and count:
            found[stages[key]] += count
    return dict(found)


def known_play(typed: str, plays: Sequence[PlaySummary]) -> str:
    """The key of the play of that name or key; the typed text, trimmed, when the team has no such play."""
    return spell(typed, spelled_plays(plays))


def by_key(play_counts: Mapping[str, float], plays: Sequence[PlaySummary]) -> Mapping[str, float]:
    """The counts by key: a play stored under its own name may have come into the team's content since."""
    if play_counts.keys() <= {UNCHARTED, *(play.key for play in plays)}:
        return play_counts
    found: dict[str, float] = defaultdict(float)
    spelled = spelled_plays(plays)
    for name, count in play_counts.items():
        found[spell(name, spelled)] += count
    return found


def spelled_plays(plays: Sequence[PlaySummary]) -> dict[str, str]:
    """The key for each way to write a play, without capitals; a name counts more than another play's key."""
    return {play.key: play.key for play in plays} | {
        UNCHARTED.casefold(): UNCHARTED,
        **{play.name.casefold(): play.key for play in plays},
    }


def spell(typed: str, spelled: Mapping[str, str]) -> str:
    """The key for a play as it is written; without one the text on one line, cut to the length of a name."""
    name = trim_name(typed)
    return spelled.get(name.casefold(), name)


def trim_name(typed: str) -> str:
    """A typed name on one line, without control characters, cut to the length of a name."""
    return " ".join("".join(sign if sign >= " " else " " for sign in typed).split())[:NAME_MAX].strip()
