"""An answer in a meeting: stored like any other, while the snap is on and the fits are not shown.

Knows nothing of pages.
"""

from __future__ import annotations

from datetime import datetime

from server.answers.recording import AnswerRecorder, GivenAnswer, RecordedAnswer, SentAnswer
from server.database.store import TeamSession
from server.database.tables import Answer, Member, PlayerSet, SetRep
from server.errors import Conflict, NotFound
from server.sets.meeting import SNAP, find_meeting, position_in
from server.sets.player_sets import is_for


def record_in_meeting(
    t: TeamSession, recorder: AnswerRecorder, member: Member, set_id: str, place: int, given: GivenAnswer, now: datetime
) -> RecordedAnswer:
    """Store a player's answer to the snap that is on. Sent twice it is stored once.

    Raises: NotFound; Conflict when the fits are shown, or another snap is on.
    """
    found = find_meeting(t, set_id, now)
    if not is_for(found.assignment, member):
        raise NotFound("There is no meeting on for you now.")
    position = position_in(member, found.snap, found.assignment)
    stored = t.find(Answer, member.id, given.id)
    if stored is None and (found.meeting.place != place or found.meeting.phase != SNAP):
        raise Conflict("The fits are on the wall. Answers that come after them don't count.")
    if stored is None:
        if position is None:
            raise NotFound("There is no question for you on this snap.")
        rep_id = found.snap.reps[position]
        t.add_once(PlayerSet(team_id=t.team_id, assignment_id=set_id, member_id=member.id, opened_at=now))
        t.add_once(SetRep(team_id=t.team_id, assignment_id=set_id, member_id=member.id, place=place, rep_id=rep_id))
    return recorder.record(t, SentAnswer(set_id, member, given, now))
