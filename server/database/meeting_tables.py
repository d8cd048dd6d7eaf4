"""The tables of meetings: where each is, and its snaps as they are shown."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import JSON
from sqlmodel import Field

from server.database.table_base import Base, json_list, long_text, moment, of_assignment


class Meeting(Base, table=True):
    """A meeting that a coach leads from snap to snap; its set has the answers.

    ``place`` is the snap that is on, from 1. While ``phase`` is "snap" its answers count, from "fits" on they don't;
    "over" after the last. ``seen`` is the what-if shown with the fits, 0 for none.
    """

    __tablename__ = "meeting"
    __table_args__ = (of_assignment(),)

    team_id: str = Field(primary_key=True)
    assignment_id: str = Field(primary_key=True)
    place: int = 1
    phase: str = "snap"
    seen: int = 0
    changed_at: datetime = moment()


class MeetingSnapShown(Base, table=True):
    """A snap of a meeting as it is shown, so that an edit to the content can't change it in the middle.

    ``digest`` finds it in the catalogue; ``reps`` are {position: rep id} and ``own_fit`` the positions that are asked
    their own fit. ``lanes`` are [{key, name, owners: [position]}], ``what_ifs`` [{words, svg}]. ``fits_svg`` is drawn
    from the answers when the fits are shown.
    """

    __tablename__ = "meeting_snap"
    __table_args__ = (of_assignment(),)

    team_id: str = Field(primary_key=True)
    assignment_id: str = Field(primary_key=True)
    place: int = Field(primary_key=True)
    digest: str
    heading: str
    offense: str
    formation: str
    reps: dict[str, str] = Field(default_factory=dict, sa_type=JSON, nullable=False)
    own_fit: list[str] = json_list()
    lanes: list[dict[str, Any]] = json_list()
    what_ifs: list[dict[str, str]] = json_list()
    question_svg: str = long_text()
    fits_svg: str = long_text()
