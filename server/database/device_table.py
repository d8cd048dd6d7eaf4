"""The table of devices on which a member has signed in before."""

from __future__ import annotations

from datetime import datetime

from sqlmodel import Field

from server.database.table_base import Base, moment, of_member


class KnownDevice(Base, table=True):
    """A device on which this member signed in before, by the hash of a long random key that its cookie holds.

    The key signs nobody in. It only keeps others' wrong tries from shutting this device out.
    """

    __tablename__ = "known_device"
    __table_args__ = (of_member(),)

    team_id: str = Field(primary_key=True)
    key_hash: str = Field(primary_key=True)
    member_id: str = Field(primary_key=True)
    seen_at: datetime = moment()
