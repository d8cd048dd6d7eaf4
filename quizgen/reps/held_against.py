"""How a call holds up against a hundred runs of one opponent: what is short and where, what is sound, what is accepted.

Runs are told apart by play and by whether they go at the call or away from it, since a call to the left against a play
to the left is the mirror of both to the right. Where a call to both sides is looked at, lanes are named as if it went
to our right. Must not know: players, answers given, pages.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from quizgen.engine.against import CallAgainst, WeighedAnswer, by_call, find_accepted_lack, lack_id, weigh
from quizgen.engine.report import check_situations, situations
from quizgen.engine.verdict import RunAnswer
from quizgen.football.opponent import AcceptedLack, ChartedOpponent, OpponentRun
from quizgen.football.sides import Side
from quizgen.football.team import TeamBook
from quizgen.reps.whiteboard import Hold
from quizgen.reps.wording import Wording

LackKey = tuple[Hold, tuple[str, ...], tuple[int, int] | None]


@dataclass(frozen=True, slots=True)
class Lack:
    """What a run finds open or late from some formations: the lanes in the team's words, for how many lanes there are
    how few men in time (None: only men who cross could be), the heaviest of its snaps."""

    hold: Hold
    lanes: tuple[str, ...]
    proof: tuple[int, int] | None
    formations: tuple[str, ...]
    snaps: float
    to: Side
    formation: str
    play_to: Side


@dataclass(frozen=True, slots=True)
class HeldRun:
    """A run at the call or away from it: how many of his hundred it is, and on how many of them the call is short."""

    play: str
    is_at_call: bool
    snaps: float
    short: float
    lacks: tuple[Lack, ...] = ()


@dataclass(frozen=True, slots=True)
class HeldAgainst:
    """A call against an opponent. ``short`` has what is short and not accepted, the most first; ``accepted`` how many
    snaps each accepted lack stands for; ``left`` what of his has no row."""

    total: CallAgainst
    open: float
    late: float
    short: tuple[HeldRun, ...]
    sound: tuple[HeldRun, ...]
    accepted: Mapping[AcceptedLack, float]
    left: tuple[OpponentRun, ...]


@dataclass(frozen=True, slots=True)
class ShortSnap:
    """A snap on which a call is short, by names, and the hash of what is short."""

    call: str
    to: Side
    formation: str
    play: str
    play_to: Side
    lack: str


def _weighed(
    team: TeamBook, call: str, to: Side | None, opponent: ChartedOpponent, accepted: Sequence[AcceptedLack]
) -> tuple[list[WeighedAnswer], tuple[OpponentRun, ...]]:
    plays = {run.play for run in opponent.runs}
    wanted = (s for s in situations(team, call=call) if s.play.name in plays and to in (None, s.called[1]))
    return weigh(list(check_situations(wanted)), opponent, accepted)


def hold_against(
    team: TeamBook,
    wording: Wording,
    call: str,
    to: Side | None,
    opponent: ChartedOpponent,
    accepted: Sequence[AcceptedLack],
) -> HeldAgainst:
    """How a call to a side (None: to both) holds up against what an opponent runs.

    Raises:
        UnknownName: the team has no such call. NoRule: the engine has no rule for a snap.
    """
    rows, left = _weighed(team, call, to, opponent, accepted)
    runs: dict[tuple[str, bool], list[WeighedAnswer]] = defaultdict(list)
    lived_with: dict[AcceptedLack, float] = defaultdict(float)
    for row in rows:
        runs[_run(row.answer)].append(row)
        lack = find_accepted_lack(accepted, row.answer)
        if lack is not None:
            lived_with[lack] += row.weight
    found = [_held(*run, own, wording, is_turned=to is None) for run, own in runs.items()]
    found.sort(key=lambda one: (-one.short, -one.snaps, one.play, not one.is_at_call))
    total = next(iter(by_call(rows)), CallAgainst(call, 0.0, 0.0, ()))
    return HeldAgainst(
        total,
        sum(row.weight for row in rows if row.answer.open),
        sum(row.weight for row in rows if row.answer.late and not row.answer.open),
        tuple(one for one in found if one.lacks),
        tuple(one for one in found if not one.lacks and not one.short),
        dict(lived_with),
        left,
    )


def short_snaps(
    team: TeamBook,
    call: str,
    to: Side | None,
    opponent: ChartedOpponent,
    accepted: Sequence[AcceptedLack],
    run: tuple[str, bool],
) -> list[ShortSnap]:
    """The snaps of a run, at the call or away, on which a call is short and that are not accepted yet."""
    rows, _ = _weighed(team, call, to, opponent, accepted)
    found = []
    for row in rows:
        s = row.answer.situation
        if not row.answer.sound and not row.accepted and _run(row.answer) == run:
            found.append(ShortSnap(*s.called, s.formation.name, s.play.name, s.play_to, lack_id(row.answer)))
    return found


def _run(answer: RunAnswer) -> tuple[str, bool]:
    s = answer.situation
    return s.play.name, s.play_to is s.called[1]


def _held(play: str, is_at_call: bool, rows: Sequence[WeighedAnswer], wording: Wording, *, is_turned: bool) -> HeldRun:
    parts: dict[LackKey, list[WeighedAnswer]] = defaultdict(list)
    for row in rows:
        if not row.answer.sound and not row.accepted:
            turned = is_turned and row.answer.situation.called[1] is Side.LEFT
            parts[_lack(row.answer, wording, is_turned=turned)].append(row)
    lacks = [_joined(lack, own) for lack, own in parts.items()]
    lacks.sort(key=lambda one: (-one.snaps, one.lanes))
    short = sum(row.weight for row in rows if not row.answer.sound)
    return HeldRun(play, is_at_call, sum(row.weight for row in rows), short, tuple(lacks))


def _lack(answer: RunAnswer, wording: Wording, *, is_turned: bool) -> LackKey:
    lanes = answer.surface.mirrored.lanes if is_turned else answer.lanes
    last = len(lanes) - 1
    indices = sorted(last - i if is_turned else i for i in answer.open or answer.late)
    proof = (len(answer.short[0]), len(answer.short[1])) if answer.short else None
    return Hold.OPEN if answer.open else Hold.LATE, tuple(wording.lane(lanes[i]) for i in indices), proof


def _joined(lack: LackKey, rows: Iterable[WeighedAnswer]) -> Lack:
    """One lack of several snaps: its formations from the most frequent on, and the heaviest snap."""
    counts: dict[str, float] = defaultdict(float)
    own = sorted(rows, key=lambda row: -row.weight)
    for row in own:
        counts[row.answer.situation.formation.name] += row.weight
    s = own[0].answer.situation
    formations = tuple(sorted(counts, key=lambda name: (-counts[name], name)))
    return Lack(*lack, formations, sum(counts.values()), s.called[1], s.formation.name, s.play_to)
