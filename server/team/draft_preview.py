"""What installing a draft would do: who is told something else, how sound the calls are, which reps and players it
touches.

Knows no football: quizgen compares what everybody is told.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlmodel import col

from server.database.store import Store, TeamSession
from server.database.tables import NOT_SENT, Answer, Assignment, KeptRep
from server.errors import BadInput
from server.playbook.playbooks import Playbook
from server.team.draft import Draft
from server.team.install import check_files

if TYPE_CHECKING:
    from datetime import datetime

    from server.playbook.engine import AnswerChanges, Change

#: How many snaps are compared: a few seconds of work.
SNAPS_COMPARED = 2500


@dataclass(frozen=True, slots=True)
class Touched:
    """What goes with an install: kept reps that ask an answer which changes, players who answered one of them, sets
    that are out on calls in which somebody's answer changes."""

    reps: int
    players: int
    sets: int


@dataclass(frozen=True, slots=True)
class Preview:
    """What an install would do; ``problems`` are why it can't be done, and then nothing else is known."""

    problems: tuple[str, ...] = ()
    answers: AnswerChanges | None = None
    sound: Change | None = None
    touched: Touched = Touched(0, 0, 0)


def preview(store: Store, playbook: Playbook, team_id: str, draft: Draft, now: datetime) -> Preview:
    """What installing the draft would do to this playbook's team."""
    football = playbook.football
    try:
        drafted = check_files(football, draft.files)
    except BadInput as refusal:
        return Preview(tuple(map(str, refusal.details)) or (str(refusal.message),))
    answers = playbook.ask(lambda before: football.answer_changes(before, drafted.catalogue, SNAPS_COMPARED))
    sound = playbook.ask(lambda before: football.change(before, drafted.catalogue, SNAPS_COMPARED))
    with store.read(team_id) as t:
        return Preview((), answers, sound, _touched(t, answers, now))


def _touched(t: TeamSession, answers: AnswerChanges, now: datetime) -> Touched:
    """The rows that the changed answers touch."""
    if not answers.asked:
        return Touched(0, 0, 0)
    calls = {call for (call, *_), _ in answers.asked}
    columns = [
        col(getattr(KeptRep, name)) for name in ("rep_id", "call", "to", "formation", "play", "play_to", "position")
    ]
    kept = t.values(KeptRep, *columns, where=(col(KeptRep.call).in_(calls),))
    reps = {
        rep_id
        for rep_id, call, to, formation, play, play_to, position in kept
        if ((call, to, formation, play or "", play_to or ""), position) in answers.asked
    }
    answered = t.values(Answer, col(Answer.rep_id), col(Answer.member_id))
    players = {member for rep_id, member in answered if rep_id in reps}
    out = (col(Assignment.call).in_(calls), col(Assignment.due_at) > now, col(Assignment.closed_at).is_(None))
    sets = t.count(Assignment, *out, col(Assignment.purpose).not_in([one.value for one in NOT_SENT]))
    return Touched(len(reps), len(players), sets)
