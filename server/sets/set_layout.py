"""Laying out a player's copy of a set: which reps, in which order, and what returns in another form after a miss.

A copy is laid out completely at once, so that it can be finished without signal: places 1 to n are the set's own reps,
and place n + k is the rep of place k in another form, asked only when that one was missed. A check session has no
second forms and is laid out at its full length. Knows nothing of football or pages.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import replace
from datetime import datetime

from sqlmodel import col

from server.database.store import TeamSession
from server.database.tables import Assignment, KeptRep, Member, PlayerSet, Purpose, SetRep
from server.errors import BadInput
from server.mastery.picker import CHECK_MAX, Asked, RepOption, next_check_rep, next_rep, open_stages
from server.mastery.replay import MasteryState
from server.mastery.values import STAGES, TeamSettings
from server.opponents.tendencies import most_run, rep_weights
from server.playbook.playbooks import Playbook
from server.playbook.rep_summary import RepSummary, option
from server.progress.team_state import TeamState
from server.sets.picks import why_picked
from server.sets.player_sets import SetProgress, check_not_over, own_positions

#: The calls open to a player, each with the stages that his coach has opened.
Opened = Mapping[str, Collection[int]]


def settings_for(assignment: Assignment, team_state: TeamState) -> TeamSettings:
    """The settings for drawing a set's reps: the next opponent's mix if the set is weighted, else the usual mix."""
    now = team_state.settings
    return now if assignment.is_weighted else TeamSettings(taught=now.taught, rules=now.rules)


def plan(
    reps: Sequence[RepSummary],
    member: Member,
    state: MasteryState,
    settings: TeamSettings,
    assignment: Assignment,
    now_s: float,
    weights: Mapping[str, float] | None = None,
) -> list[tuple[RepSummary, RepSummary | None]]:
    """The reps to ask, in order, each with the one that returns after a miss (None: there is no other form).

    ``weights`` by rep: how much more often it is drawn among reps of the same question; None: all the same.
    The draw is seeded by set and player, so that laying out twice gives the same. Raises: BadInput when there are no
    reps.
    """
    rng = random.Random(f"{assignment.team_id}/{assignment.id}/{member.id}")  # noqa: S311 - no secret
    by_id = {rep.id: rep for rep in reps}
    options = [option(rep, (weights or {}).get(rep.id, 1.0)) for rep in reps]
    is_check = assignment.purpose == Purpose.CHECK
    asked = (draw_check if is_check else draw)(options, member.id, state, settings, assignment, now_s, rng)
    if not asked:
        raise BadInput("This set has no reps for your position. Tell your coach.")
    if is_check:
        return [(by_id[one.option.rep], None) for one in asked]
    pictures = {one.option.picture for one in asked}
    planned: list[tuple[RepSummary, RepSummary | None]] = []
    for one in asked:
        rep = by_id[one.option.rep]
        other = other_form(rep, [r for r in reps if r.picture not in pictures], rng)
        if other is not None:
            pictures.add(other.picture)
        planned.append((rep, other))
    return planned


def draw(
    options: Sequence[RepOption],
    player: str,
    state: MasteryState,
    settings: TeamSettings,
    assignment: Assignment,
    now_s: float,
    rng: random.Random,
) -> list[Asked]:
    """Draw as many reps as the set is long, or fewer when there are no more pictures."""
    opened = STAGES if assignment.is_mixed else assignment.stages  # a mixed set's options are those open to him
    asked: list[Asked] = []
    for _ in range(assignment.length):
        chosen = next_rep(state, player, options, asked, now_s, settings, rng, opened_by_coach=opened)
        if chosen is None:
            break
        asked.append(Asked(chosen, right=True))
    return asked


def draw_check(
    options: Sequence[RepOption],
    player: str,
    state: MasteryState,
    settings: TeamSettings,
    assignment: Assignment,
    now_s: float,
    rng: random.Random,
) -> list[Asked]:
    """Draw a check session's reps, as many as a decision can take, those that can sway it most first."""
    # Thresholds that can't be reached: no answer is known yet, so nothing may be decided during the layout.
    undecided = replace(settings, rules=replace(settings.rules, can_at=2.0, cannot_at=-1.0))
    asked: list[Asked] = []
    while len(asked) < CHECK_MAX:
        chosen = next_check_rep(
            state,
            player,
            assignment.call,
            options,
            asked,
            now_s,
            undecided,
            rng,
            opened_by_coach=assignment.stages,
        )
        if chosen is None:
            break
        asked.append(Asked(chosen, right=True))
    return asked


def other_form(rep: RepSummary, reps: Sequence[RepSummary], rng: random.Random) -> RepSummary | None:
    """The same question with another picture, from the other side if possible; None when there is none."""
    same = [r for r in reps if r.guise == rep.guise]
    like = same or [r for r in reps if (r.kind, r.stage, r.position) == (rep.kind, rep.stage, rep.position)]
    other_side = [r for r in like if r.to != rep.to]
    pool = sorted(other_side or like, key=lambda r: r.id)
    return rng.choice(pool) if pool else None


def missing_reps(t: TeamSession, rows: Sequence[SetRep]) -> list[str]:
    """The reps of a layout that the team has not stored as shown yet."""
    wanted = list(dict.fromkeys(row.rep_id for row in rows))
    kept = {row[0] for row in t.values(KeptRep, KeptRep.rep_id, where=(col(KeptRep.rep_id).in_(wanted),))}
    return [rep_id for rep_id in wanted if rep_id not in kept]


def lay_out(
    playbook: Playbook, assignment: Assignment, member: Member, team_state: TeamState, opened: Opened, now: datetime
) -> list[SetRep]:
    """Lay out a set for a player, to whom these calls are open. Raises: Expired; BadInput when there are no reps for
    him."""
    check_not_over(assignment, member.id, now)
    reps, weights = reps_for(playbook, assignment, member, team_state, opened)
    state, now_s = team_state.state, team_state.seconds(now)
    planned = plan(reps, member, state, settings_for(assignment, team_state), assignment, now_s, weights)
    return layout(assignment, member.id, planned, why=lambda rep: why_picked(state, member.id, rep, now_s))


def reps_for(
    playbook: Playbook, assignment: Assignment, member: Member, team_state: TeamState, opened: Opened
) -> tuple[Sequence[RepSummary], Mapping[str, float]]:
    """The reps that a set can ask a player, and how much more often each is drawn."""
    positions = own_positions(assignment, member)
    runs = team_state.play_counts if assignment.is_weighted else {}
    plays = playbook.plays() if runs else ()
    often = most_run(runs, plays)
    asked: Opened = {assignment.call: assignment.stages}
    if assignment.is_mixed:
        state = team_state.state
        asked = {call: sorted(open_stages(state, member.id, call, stages)) for call, stages in opened.items()}
    reps = [
        rep
        for call, stages in asked.items()
        for rep in playbook.pool(call, positions, list(stages), assignment.sides, often)
    ]
    return reps, rep_weights(reps, runs, plays)


def add_reps(
    playbook: Playbook,
    assignment: Assignment,
    member: Member,
    team_state: TeamState,
    done: SetProgress,
    length: int,
    opened: Opened,
    now: datetime,
) -> list[SetRep]:
    """The rows that a player's copy lacks for this many reps: other pictures than those it has. Fewer, or none, when
    the call has no more for him."""
    own = [one for one in done.layout if one.again_of is None]
    lacking = length - len(own)
    if lacking <= 0:
        return []
    had = {one.rep_id for one in done.layout}
    reps, weights = reps_for(playbook, assignment, member, team_state, opened)
    pictures = {rep.picture for rep in reps if rep.id in had}
    fresh = [rep for rep in reps if rep.picture not in pictures]
    longer = assignment.model_copy(update={"length": lacking})
    settings, now_s = settings_for(assignment, team_state), team_state.seconds(now)
    try:
        planned = plan(fresh, member, team_state.state, settings, longer, now_s, weights)
    except BadInput:
        return []
    last = max((one.place for one in done.layout), default=0)
    state = team_state.state
    return layout(assignment, member.id, planned, last, why=lambda rep: why_picked(state, member.id, rep, now_s))


def layout(
    assignment: Assignment,
    member_id: str,
    planned: Sequence[tuple[RepSummary, RepSummary | None]],
    last: int = 0,
    *,
    why: Callable[[RepSummary], str] = lambda rep: "",
) -> list[SetRep]:
    """The rows of a player's copy, after the places up to ``last``; ``why`` a rep was picked."""
    count = len(planned)
    rows: list[SetRep] = []
    for place, (rep, other) in enumerate(planned, start=last + 1):
        row = set_rep(assignment, member_id, place, rep.id)
        row.why = why(rep)
        rows.append(row)
        if other is not None:
            rows.append(set_rep(assignment, member_id, count + place, other.id, place))
    return rows


def set_rep(assignment: Assignment, member_id: str, place: int, rep_id: str, again_of: int | None = None) -> SetRep:
    """The row of one place."""
    return SetRep(
        team_id=assignment.team_id,
        assignment_id=assignment.id,
        member_id=member_id,
        place=place,
        rep_id=rep_id,
        again_of=again_of,
    )


def store_opened(
    t: TeamSession,
    assignment: Assignment,
    member_id: str,
    shown: Sequence[KeptRep],
    rows: Sequence[SetRep],
    now: datetime,
    state_before: str = "",
) -> None:
    """Store a player's copy; when two openings race, the first stays. ``state_before`` is his state on the call.

    Raises: NotFound when he, the set, or one of its reps was erased during the layout.
    """
    t.get(Member, member_id, what="account")
    t.get(Assignment, assignment.id, what="set")
    opened = PlayerSet(
        team_id=t.team_id,
        assignment_id=assignment.id,
        member_id=member_id,
        opened_at=now,
        state_before=state_before,
    )
    if not t.add_once(opened):
        return
    for one in shown:
        t.add_once(one)
    for rep_id in missing_reps(t, rows):  # erased since
        t.get(KeptRep, rep_id, what="rep")
    t.add(*rows)
