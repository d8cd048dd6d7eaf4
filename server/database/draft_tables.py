"""The tables of the workbench: edits that wait to be installed, and what was installed before."""

from __future__ import annotations

from datetime import datetime
from enum import StrEnum
from typing import Any

from sqlalchemy import JSON
from sqlmodel import Field

from server.database.table_base import Base, json_list, moment, of_team


class EditState(StrEnum):
    """Where an edit stands: in the draft; taken back by its coach, who can make it again; taken back for good, since he
    went on from there; installed."""

    MADE = "made"
    UNDONE = "undone"
    DROPPED = "dropped"
    INSTALLED = "installed"


class DraftEdit(Base, table=True):
    """One edit of a coach to the team's content, in the order in which they were made.

    ``edit`` is quizgen's ContentEdit as plain values. ``coach_id`` may be of a coach who is gone.
    """

    __tablename__ = "draft_edit"
    __table_args__ = (of_team(),)

    team_id: str = Field(primary_key=True)
    number: int = Field(primary_key=True)
    coach_id: str
    state: str = EditState.MADE.value
    edit: dict[str, Any] = Field(default_factory=dict, sa_type=JSON, nullable=False)
    made_at: datetime = moment()


class ContentVersion(Base, table=True):
    """The content as it was installed: its files by name, but for players and opponents, which are rows.

    ``coach_id`` is empty where the shell installed it; ``edits`` are the numbers of the edits that led to it.
    """

    __tablename__ = "content_version"
    __table_args__ = (of_team(),)

    team_id: str = Field(primary_key=True)
    number: int = Field(primary_key=True)
    coach_id: str = ""
    note: str = ""
    content_hash: str
    files: dict[str, str] = Field(default_factory=dict, sa_type=JSON, nullable=False)
    edits: list[int] = json_list()
    installed_at: datetime = moment()
