"""The table of addresses by which a team begins in the browser."""

from __future__ import annotations

from datetime import datetime

from sqlmodel import Field

from server.database.table_base import Base, moment


class TeamInvite(Base, table=True):
    """An address that begins a team, once. ``team_id`` is the id that the team will have, so there is none yet.

    ``token_hash`` is the hash of what the address holds. ``used_at`` is None until somebody began the team with it.
    """

    __tablename__ = "team_invite"

    team_id: str = Field(primary_key=True)
    token_hash: str
    made_at: datetime = moment()
    expires_at: datetime = moment()
    used_at: datetime | None = moment(optional=True)
