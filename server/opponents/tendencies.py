"""Opponents: what each one runs, which one is next, and how that weights a team's questions and results.

Stored is how often they run each play, by its key; the share of each stage follows from it. A play that the team has
no scheme for is kept under its own name and has no weight. Knows nothing of pages, files or how the model uses the
weights.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import col

from server.accounts.credentials import make_id
from server.accounts.members import write_audit
from server.database.store import TeamSession
from server.database.tables import Opponent
from server.errors import BadInput
from server.i18n.lazy_text import LazyText
from server.mastery.values import STAGES, TeamSettings, shares
from server.playbook.charted import (
    NAME_MAX,
    PASS_STAGE,
    UNCHARTED,
    RunCount,
    by_key,
    free_key,
    known_play,
    stage_counts_of,
)
from server.playbook.rep_summary import PlaySummary, RepSummary

OPPONENTS_MAX, RUNS_MAX = 60, 2_000
COUNT_MAX = 100_000
MOST_RUN_MAX = 3


@dataclass(frozen=True, slots=True)
class PlayShare:
    """A play: how often they run it, its share of all snaps, and its weight within its stage."""

    key: str
    name: str
    count: float
    share: float
    weight: float


@dataclass(frozen=True, slots=True)
class StageShare:
    """A stage: how often they run it, its share of all snaps, its weight, and its plays."""

    stage: int
    count: float
    share: float
    weight: float
    plays: tuple[PlayShare, ...]


@dataclass(frozen=True, slots=True)
class LinedUp:
    """A formation that they line up in (by its key; empty: not known): how many snaps, and how many of its runs went to
    our left and to our right, as far as that is known."""

    formation: str
    count: float
    left: float
    right: float


@dataclass(frozen=True, slots=True)
class Tendency:
    """Everything they run. ``unknown`` are plays that the team has no scheme for, most frequent first."""

    total: float
    stages: tuple[StageShare, ...]
    unknown: tuple[PlayShare, ...]

    @property
    def known(self) -> float:
        """Number of snaps with a play from the team's list."""
        return sum(stage.count for stage in self.stages)


def find_next(t: TeamSession) -> Opponent | None:
    """The next opponent; None when the coach has not chosen one."""
    return t.first(Opponent, col(Opponent.is_next).is_(True))


def settings_of(opponent: Opponent | None) -> TeamSettings:
    """Settings for a team's readouts: the next opponent's mix of stages when known, else the default mix."""
    if opponent is None or not opponent.stage_counts:
        return TeamSettings()
    return TeamSettings().with_opponent({int(stage): count for stage, count in opponent.stage_counts.items()})


def opponents(t: TeamSession) -> list[Opponent]:
    """The team's opponents, next one first, then by name."""
    return sorted(t.rows(Opponent), key=lambda one: (not one.is_next, one.name.casefold(), one.id))


def find_opponent(t: TeamSession, opponent_id: str) -> Opponent:
    """An opponent of the team. Raises: NotFound, also for another team's."""
    return t.get(Opponent, opponent_id, what="opponent")


# What they run --------------------------------------------------------------------------------------------------------


def tendency_of(play_counts: Mapping[str, float], plays: Sequence[PlaySummary]) -> Tendency:
    """What they run, by stage, with shares and weights.

    Stage 1 is asked without an offense, so no play belongs to it and it gets the lowest weight of a stage.
    """
    play_counts = by_key(play_counts, plays)
    total = sum(play_counts.values())
    by_stage = stage_counts_of(play_counts, plays)
    weights = shares({stage: by_stage.get(stage, 0.0) for stage in STAGES}) if by_stage else TeamSettings().stage_mix
    within = play_weights(play_counts, plays)
    found = []
    for stage in STAGES:
        count = by_stage.get(stage, 0.0)
        rows = [
            PlayShare(play.key, play.name, count, _share(count, total), within[play.key])
            for play, count in ((play, play_counts.get(play.key, 0.0)) for play in plays if play.stage == stage)
        ]
        if stage == PASS_STAGE and not any(row.key == UNCHARTED for row in rows):
            passes = play_counts.get(UNCHARTED, 0.0)
            rows.append(PlayShare(UNCHARTED, UNCHARTED, passes, _share(passes, total), 0.0))
        found.append(StageShare(stage, count, _share(count, total), weights[stage], tuple(rows)))
    known = {play.key for play in plays} | {UNCHARTED}
    others = {name: n for name, n in play_counts.items() if name not in known and n}
    unknown = [PlayShare(name, name, n, _share(n, total), 0.0) for name, n in others.items()]
    return Tendency(total, tuple(found), tuple(sorted(unknown, key=lambda one: (-one.count, one.name))))


def _share(count: float, total: float) -> float:
    return count / total if total else 0.0


def lined_up(runs: Iterable[RunCount]) -> list[LinedUp]:
    """The formations that they line up in, the most frequent first; those not known last."""
    counts: dict[str, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    for run in runs:
        counts[run.formation][run.to] += run.snaps
    found = [LinedUp(key, sum(sides.values()), sides["left"], sides["right"]) for key, sides in counts.items()]
    return sorted(found, key=lambda one: (not one.formation, -one.count, one.formation))


def play_weights(play_counts: Mapping[str, float], plays: Sequence[PlaySummary]) -> dict[str, float]:
    """Each play's weight within its stage: its share after adding one to every count, at least three per cent."""
    by_stage: dict[int, dict[str, float]] = defaultdict(dict)
    counted = by_key(play_counts, plays)
    for play in plays:
        by_stage[play.stage][play.key] = counted.get(play.key, 0.0)
    return {key: weight for counts in by_stage.values() for key, weight in shares(counts).items()}


def most_run(play_counts: Mapping[str, float], plays: Sequence[PlaySummary]) -> dict[int, list[str]]:
    """The few plays they run most, by stage."""
    found: dict[int, list[str]] = defaultdict(list)
    counted = by_key(play_counts, plays)
    for play in sorted(plays, key=lambda one: -counted.get(one.key, 0.0)):
        if counted.get(play.key) and len(found[play.stage]) < MOST_RUN_MAX:
            found[play.stage].append(play.key)
    return dict(found)


def rep_weights(
    reps: Sequence[RepSummary], play_counts: Mapping[str, float], plays: Sequence[PlaySummary]
) -> dict[str, float]:
    """Each rep's weight among reps of the same question; 1 for reps without a play of the team."""
    # Divided by the play's number of reps, so that a play's share of draws doesn't grow with its reps in the catalogue.
    # Rejected: a weight a rep (plays with many formations would be drawn too often); asking only what they run (fewer
    # calls would be left to ask).
    weights = play_weights(play_counts, plays)
    same = Counter((rep.call, rep.stage, rep.to, rep.scheme) for rep in reps)
    return {
        rep.id: weights[rep.scheme] / same[rep.call, rep.stage, rep.to, rep.scheme] if rep.scheme in weights else 1.0
        for rep in reps
    }


def is_outdated(opponent: Opponent, plays: Sequence[PlaySummary]) -> bool:
    """Whether the team's plays changed since the counts were stored, so that the stored stages are wrong."""
    stored = {int(stage): count for stage, count in opponent.stage_counts.items()}
    return stored != stage_counts_of(opponent.play_counts, plays)


# Changes --------------------------------------------------------------------------------------------------------------


def check_name(t: TeamSession, name: str, except_id: str = "") -> str:
    """A name for an opponent, trimmed. Raises: BadInput when empty, too long, or taken by one other than
    ``except_id``."""
    name = " ".join(name.split())
    if not 1 <= len(name) <= NAME_MAX:
        raise BadInput(LazyText("name: expected 1 to {most} characters, found {found}", most=NAME_MAX, found=len(name)))
    if any(one.name.casefold() == name.casefold() and one.id != except_id for one in t.rows(Opponent)):
        raise BadInput(LazyText("name: {name!r} is already there; expected another", name=name))
    return name


def add_opponent(t: TeamSession, member_id: str, name: str, now: datetime) -> Opponent:
    """Add an opponent without any plays. Raises: BadInput."""
    name = check_name(t, name)
    if t.count(Opponent) >= OPPONENTS_MAX:
        raise BadInput(LazyText("opponents: expected at most {most}; delete one that is played", most=OPPONENTS_MAX))
    key = free_key(name, [one.key for one in t.rows(Opponent)])
    opponent = Opponent(team_id=t.team_id, id=make_id(), key=key, name=name, changed_at=now)
    t.add(opponent)
    write_audit(t, member_id, "added an opponent", opponent.id, now)
    return opponent


def rename_opponent(t: TeamSession, member_id: str, opponent_id: str, name: str, now: datetime) -> None:
    """Rename an opponent. Raises: BadInput, NotFound."""
    opponent = find_opponent(t, opponent_id)
    opponent.name, opponent.changed_at = check_name(t, name, opponent.id), now
    t.add(opponent)
    write_audit(t, member_id, "renamed an opponent", opponent.id, now)


def delete_opponent(t: TeamSession, member_id: str, opponent_id: str, now: datetime) -> None:
    """Delete an opponent and what they run. Raises: NotFound."""
    t.delete(find_opponent(t, opponent_id))
    write_audit(t, member_id, "deleted an opponent", opponent_id, now)


def choose_next(t: TeamSession, member_id: str, opponent_id: str, now: datetime) -> None:
    """Make this the only next opponent; an empty id means none. Raises: NotFound."""
    chosen = find_opponent(t, opponent_id) if opponent_id else None
    for one in t.rows(Opponent):
        one.is_next = chosen is not None and one.id == chosen.id
        t.add(one)
    write_audit(t, member_id, "chose the next opponent", opponent_id, now)


def store_counts(
    t: TeamSession,
    member_id: str,
    opponent_id: str,
    play_counts: Mapping[str, float],
    plays: Sequence[PlaySummary],
    now: datetime,
) -> None:
    """Replace how often they run each play; formations and sides keep their shares of a play that they have. Raises:
    BadInput, NotFound."""
    runs = with_counts(runs_of(find_opponent(t, opponent_id)), play_counts)
    store_runs(t, member_id, opponent_id, runs, plays, now)


def runs_of(opponent: Opponent) -> list[RunCount]:
    """What was counted of an opponent."""
    return [RunCount(*run) for run in opponent.runs]


def with_counts(runs: Iterable[RunCount], play_counts: Mapping[str, float]) -> list[RunCount]:
    """The runs with these counts of each play, shared out as before; a play that was not there has no formation."""
    before: dict[str, list[RunCount]] = defaultdict(list)
    for run in runs:
        before[run.play].append(run)
    found = []
    for play, count in play_counts.items():
        own = before.get(play) or [RunCount(play, "", "", 1.0)]
        total = sum(run.snaps for run in own)
        found += [run._replace(snaps=run.snaps if total == count else count * run.snaps / total) for run in own]
    return found


def store_runs(
    t: TeamSession,
    member_id: str,
    opponent_id: str,
    runs: Iterable[RunCount],
    plays: Sequence[PlaySummary],
    now: datetime,
) -> None:
    """Replace what they run, all or nothing; equal ones are added up. Raises: BadInput, NotFound."""
    opponent = find_opponent(t, opponent_id)
    counts: dict[tuple[str, str, str], float] = defaultdict(float)
    for play, formation, to, count in runs:
        counts[play, formation, to] += count
    kept = [(*run, rounded) for run, count in counts.items() if (rounded := check_count(run[0], count))]
    if len(kept) > RUNS_MAX:
        raise BadInput(LazyText("plays: expected at most {most}, found {found}", most=RUNS_MAX, found=len(kept)))
    opponent.runs = kept
    opponent.stage_counts = {str(stage): n for stage, n in stage_counts_of(opponent.play_counts, plays).items()}
    opponent.changed_at = now
    t.add(opponent)
    write_audit(t, member_id, "changed what an opponent runs", opponent.id, now)


def check_count(name: str, count: float) -> float:
    """A count, rounded for storing. Raises: BadInput."""
    if not math.isfinite(count) or not 0 <= count <= COUNT_MAX:
        raise BadInput(LazyText("{play}: expected a count from 0 to {most}", play=name, most=COUNT_MAX))
    return round(count, 3)


# Parsing --------------------------------------------------------------------------------------------------------------


def parse_number(text: str, where: str) -> float:
    """A count or share as people type it: "12", "12.5", "12,5", "30 %"; empty is 0. Raises: BadInput."""
    typed = text.strip().removesuffix("%").strip().replace(",", ".")
    try:
        number = float(typed) if typed else 0.0
    except ValueError:
        number = math.nan
    if not math.isfinite(number) or not 0 <= number <= COUNT_MAX or "_" in typed:
        raise BadInput(
            LazyText(
                "{where}: expected a number from 0 to {most}, found {found!r}",
                where=where,
                most=COUNT_MAX,
                found=text[:40],
            )
        )
    return number


def parse_counts(
    names: Sequence[str], numbers: Sequence[str], plays: Sequence[PlaySummary], *, is_percent: bool, snaps: str
) -> dict[str, float]:
    """Counts from typed rows of name and number; rows with the same name are added up.

    With ``is_percent``, each number is a percentage of ``snaps`` snaps (empty: 100). Raises: BadInput.
    """
    if len(names) != len(numbers):
        raise BadInput(
            LazyText(
                "plays: expected a number for each of {names} plays, found {found}",
                names=len(names),
                found=len(numbers),
            )
        )
    found: dict[str, float] = defaultdict(float)
    said = {play.key: play.name for play in plays}
    for typed, number in zip(names, numbers, strict=True):
        name = known_play(typed, plays)
        count = parse_number(number, said.get(name, name) or LazyText("A play without a name"))
        if count and not name:
            raise BadInput(
                LazyText("A play without a name has the number {number}; expected a name before it", number=number[:40])
            )
        if count:
            found[name] += count
    if not is_percent:
        return dict(found)
    if sum(found.values()) > 100.5:
        raise BadInput(
            LazyText("per cent: expected at most 100 in all, found {found:g}", found=round(sum(found.values()), 1))
        )
    of = parse_number(snaps, LazyText("of how many snaps")) or 100.0
    return {name: share / 100 * of for name, share in found.items()}
