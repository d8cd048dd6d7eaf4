"""The table of what is known about erasing a team's results."""

from __future__ import annotations

from datetime import datetime

from sqlmodel import Field

from server.database.table_base import Base, moment, of_team


class Erasing(Base, table=True):
    """Where a team stands with the erasing of its results.

    ``state`` is empty (nothing to do), "waiting" (for the owner's confirmation, ``reason`` says why) or "grace" (they
    go at ``erase_at``). ``season_end`` is the last day as it was first seen at ``seen_at``; ``checked_at`` is the last
    look, which shows whether the clock jumped. ``asked_by`` is the owner who confirmed, empty when nobody had to.
    """

    __tablename__ = "erasing"
    __table_args__ = (of_team(),)

    team_id: str = Field(primary_key=True)
    season_end: str = ""
    seen_at: datetime = moment()
    checked_at: datetime = moment()
    state: str = ""
    reason: str = ""
    erase_at: datetime | None = moment(optional=True)
    asked_by: str = ""
