"""What the modules of tables share: their base, and the columns and foreign keys that many of them have."""

from __future__ import annotations

from typing import Any

from sqlalchemy import JSON, Column, ForeignKeyConstraint, Text
from sqlmodel import Field, SQLModel

from server.database.columns import Moment, metadata


class Base(SQLModel):
    """Base of all tables. It names all constraints, so that migrations can refer to them."""

    metadata = metadata


def json_list() -> Any:
    """A list, stored as JSON."""
    return Field(default_factory=list, sa_type=JSON, nullable=False)


def moment(*, optional: bool = False) -> Any:
    """A moment in UTC."""
    if optional:
        return Field(default=None, sa_type=Moment, nullable=True)
    return Field(sa_type=Moment, nullable=False)


def long_text() -> Any:
    """Text of any length."""
    return Field(default="", sa_column=Column(Text, nullable=False))


def of_team() -> ForeignKeyConstraint:
    """Rows of a team go with it."""
    return ForeignKeyConstraint(["team_id"], ["team.id"], ondelete="CASCADE")


def of_member() -> ForeignKeyConstraint:
    """Rows of a member go with him."""
    return ForeignKeyConstraint(["team_id", "member_id"], ["member.team_id", "member.id"], ondelete="CASCADE")


def of_assignment() -> ForeignKeyConstraint:
    """Rows of a set go with it."""
    return ForeignKeyConstraint(
        ["team_id", "assignment_id"], ["assignment.team_id", "assignment.id"], ondelete="CASCADE"
    )


def of_rep() -> ForeignKeyConstraint:
    """Rows about a rep as it was shown, which stays as long as they do."""
    return ForeignKeyConstraint(["team_id", "rep_id"], ["rep_shown.team_id", "rep_shown.rep_id"])
