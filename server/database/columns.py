"""How tables name their constraints, and how they store a moment."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from sqlalchemy import BigInteger, Dialect, MetaData
from sqlalchemy.types import TypeDecorator

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
MICROSECOND = timedelta(microseconds=1)

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "fk": "fk_%(table_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
    }
)


class Moment(TypeDecorator[datetime]):
    """A moment in UTC, stored as microseconds since 1970."""

    impl = BigInteger
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> int | None:
        """To the database. Raises: TypeError for a moment without a time zone."""
        return None if value is None else (value - EPOCH) // MICROSECOND

    def process_result_value(self, value: int | None, dialect: Dialect) -> datetime | None:
        """From the database."""
        return None if value is None else EPOCH + value * MICROSECOND
