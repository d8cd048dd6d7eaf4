"""The table cut to one opponent: how much of what he runs each snap stands for, and where a call is short against him.

What is counted without a formation is spread over those from which it can be run, in the proportion in which he lines
up in them (evenly where none of them was counted); without a side, over both sides. Passes have no row in the table.
Knows no files and no wording.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from hashlib import sha256

from quizgen.engine.mending import WeightedSnap
from quizgen.engine.report import check_situations
from quizgen.engine.verdict import RunAnswer
from quizgen.football.opponent import AcceptedLack, ChartedOpponent, OpponentRun
from quizgen.football.sides import Side
from quizgen.football.team import Situation

HUNDRED = 100.0
LACK_HEX = 12

Offense = tuple[str, str, Side]
"""Formation, play and its side."""


@dataclass(frozen=True, slots=True)
class WeighedAnswer:
    """One row of the table: of each hundred runs of his, how many are this snap with the call to this side (the call
    that was made, whatever it was checked to); why the staff accepts it (empty: it doesn't)."""

    answer: RunAnswer
    weight: float
    accepted: str


@dataclass(frozen=True, slots=True)
class ShortSnaps:
    """The play and the formations (a formation and its twin count as one) that a call is short against."""

    play: str
    formations: tuple[str, ...]
    snaps: float


@dataclass(frozen=True, slots=True)
class CallAgainst:
    """A call against a hundred runs of an opponent; ``short`` are the rest of them, the most first, accepted or not."""

    call: str
    sound: float
    accepted: float
    short: tuple[ShortSnaps, ...]


def offense_of(answer: RunAnswer) -> Offense:
    """What the offense does in a situation."""
    s = answer.situation
    return s.formation.name, s.play.name, s.play_to


def spread(
    opponent: ChartedOpponent, offenses: Iterable[Offense]
) -> tuple[Mapping[Offense, float], tuple[OpponentRun, ...]]:
    """The share of each offense among the runs of his that are among them, and the runs that are not."""
    known = sorted(set(offenses), key=lambda one: (one[0], one[1], one[2].value))
    lined_up: dict[str, float] = defaultdict(float)
    for run in opponent.runs:
        lined_up[run.formation] += run.count if run.formation else 0.0
    counts: dict[Offense, float] = defaultdict(float)
    left: list[OpponentRun] = []
    for run in opponent.runs:
        places = [one for one in known if _fits(run, one)]
        shares = [lined_up.get(one[0], 0.0) for one in places]
        if not any(shares):
            shares = [1.0] * len(places)
        if not places:
            left.append(run)
        for one, share in zip(places, shares, strict=True):
            counts[one] += run.count * share / sum(shares)
    total = sum(counts.values())
    return {one: count / total for one, count in counts.items() if count}, tuple(left)


def _fits(run: OpponentRun, offense: Offense) -> bool:
    formation, play, to = offense
    return run.play == play and run.formation in ("", formation) and run.to in (None, to)


def lack_id(answer: RunAnswer) -> str:
    """A hash of what a snap is short of: the lanes that are open and late, by their plain names; empty when sound."""
    if answer.sound:
        return ""
    lanes = [[answer.lanes[i].name for i in some] for some in (answer.open, answer.late)]
    return sha256(repr(lanes).encode()).hexdigest()[:LACK_HEX]


def find_accepted_lack(accepted: Iterable[AcceptedLack], answer: RunAnswer) -> AcceptedLack | None:
    """What the staff accepted of this snap; None where it is sound, was not accepted, or is short of something else
    than was accepted."""
    if answer.sound:
        return None
    s = answer.situation
    snap = (*s.called, s.formation.name, s.play.name, s.play_to)
    found = [one for one in accepted if one.covers(*snap)]
    return next((one for one in found if one.lack in ("", lack_id(answer))), None)


def find_accepted(accepted: Iterable[AcceptedLack], answer: RunAnswer) -> str:
    """Why the staff lives with what is short here; empty where it is sound or was not accepted."""
    found = find_accepted_lack(accepted, answer)
    return found.why if found else ""


def weigh(
    answers: Sequence[RunAnswer], opponent: ChartedOpponent, accepted: Sequence[AcceptedLack] = ()
) -> tuple[list[WeighedAnswer], tuple[OpponentRun, ...]]:
    """The rows that he runs, each with its weight (100 for a call over its sides), and the runs that no row stands
    for."""
    shares, left = spread(opponent, map(offense_of, answers))
    sides: dict[tuple[str, Offense], int] = defaultdict(int)
    for answer in answers:
        sides[answer.situation.called[0], offense_of(answer)] += 1
    found = []
    for answer in answers:
        offense = offense_of(answer)
        weight = HUNDRED * shares.get(offense, 0.0) / sides[answer.situation.called[0], offense]
        if weight:
            found.append(WeighedAnswer(answer, weight, find_accepted(accepted, answer)))
    return found, left


def weigh_snaps(situations: Sequence[Situation], opponent: ChartedOpponent) -> list[WeightedSnap]:
    """The situations of one call that he runs, each weighed as in its row of the table; those that his formation can't
    run weigh nothing."""
    plays = {run.play for run in opponent.runs}
    answers = list(check_situations(s for s in situations if s.play.name in plays))
    rows, _ = weigh(answers, opponent)
    return [WeightedSnap(row.answer.situation, row.weight) for row in rows]


def by_call(rows: Iterable[WeighedAnswer]) -> list[CallAgainst]:
    """Each call against a hundred of his runs, in the order of the rows."""
    calls: dict[str, list[WeighedAnswer]] = defaultdict(list)
    for row in rows:
        calls[row.answer.situation.called[0]].append(row)
    return [_call(name, own) for name, own in calls.items()]


def _call(name: str, rows: Sequence[WeighedAnswer]) -> CallAgainst:
    short: dict[tuple[str, tuple[str, ...]], float] = defaultdict(float)
    for row in rows:
        formation = row.answer.situation.formation
        if not row.answer.sound:
            twins = tuple(sorted({formation.name, formation.mirror_name or formation.name}))
            short[row.answer.situation.play.name, twins] += row.weight
    most = sorted(short.items(), key=lambda one: (-one[1], one[0]))
    sound = sum(row.weight for row in rows if row.answer.sound)
    accepted = sum(row.weight for row in rows if row.accepted)
    return CallAgainst(name, sound, accepted, tuple(ShortSnaps(*what, snaps) for what, snaps in most))
