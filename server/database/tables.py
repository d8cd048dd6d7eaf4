"""Every table. The team is the leading key of each, so that a row can't be reached without saying whose it is.

It must not know how rows are queried or what a page shows. Moments are stored as whole microseconds since 1970 UTC,
which both databases keep exactly. Of players it holds number, first name or nickname, positions and answers.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from enum import StrEnum
from typing import Any

from sqlalchemy import (
    JSON,
    BigInteger,
    Column,
    Dialect,
    ForeignKeyConstraint,
    Index,
    MetaData,
    Text,
    UniqueConstraint,
    text,
)
from sqlalchemy.types import TypeDecorator
from sqlmodel import Field, SQLModel

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
    """A moment in UTC, stored as whole microseconds since 1970."""

    impl = BigInteger
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> int | None:
        """To the database. Raises: TypeError on a moment without a time zone."""
        return None if value is None else (value - EPOCH) // MICROSECOND

    def process_result_value(self, value: int | None, dialect: Dialect) -> datetime | None:
        """From the database."""
        return None if value is None else EPOCH + value * MICROSECOND


class Role(StrEnum):
    """What a member of a team may do; ``NOBODY`` is whoever is not signed in and stands in no row."""

    OWNER = "owner"
    COACH = "coach"
    POSITION_COACH = "position coach"
    PLAYER = "player"
    NOBODY = "nobody"


class Purpose(StrEnum):
    """What a set is for: so many reps; a check that stops when a call is decided; a player's own practice."""

    REPS = "reps"
    CHECK = "check"
    PRACTICE = "practice"


class Base(SQLModel):
    """The tables' common register, with names for all constraints so that migrations can translate_reps of them."""

    metadata = metadata


def _list() -> Any:
    return Field(default_factory=list, sa_type=JSON, nullable=False)


def _moment(*, optional: bool = False) -> Any:
    if optional:
        return Field(default=None, sa_type=Moment, nullable=True)
    return Field(sa_type=Moment, nullable=False)


def _long_text() -> Any:
    return Field(default="", sa_column=Column(Text, nullable=False))


def _of_team() -> ForeignKeyConstraint:
    return ForeignKeyConstraint(["team_id"], ["team.id"], ondelete="CASCADE")


def _of_member() -> ForeignKeyConstraint:
    return ForeignKeyConstraint(["team_id", "member_id"], ["member.team_id", "member.id"], ondelete="CASCADE")


def _of_assignment() -> ForeignKeyConstraint:
    return ForeignKeyConstraint(
        ["team_id", "assignment_id"], ["assignment.team_id", "assignment.id"], ondelete="CASCADE"
    )


def _of_rep() -> ForeignKeyConstraint:
    return ForeignKeyConstraint(["team_id", "rep_id"], ["rep_shown.team_id", "rep_shown.rep_id"])


class Team(Base, table=True):
    """One defense on this server. The join code lets a phone find it and can be changed; the id never changes."""

    __tablename__ = "team"

    id: str = Field(primary_key=True)
    name: str
    join_code: str = Field(unique=True)
    time_zone: str
    season_end: str = ""
    content_hash: str
    created_at: datetime = _moment()


class ContentFile(Base, table=True):
    """One TOML file of a team, as text."""

    __tablename__ = "content_file"
    __table_args__ = (_of_team(),)

    team_id: str = Field(primary_key=True)
    path: str = Field(primary_key=True)
    text: str = _long_text()


class Member(Base, table=True):
    """A person with an account: a coach by sign-in name and passphrase, a player by number and PIN.

    ``groups`` are the position groups that a position coach sees. A removed member keeps his answers until they are
    erased, and frees his number.
    """

    __tablename__ = "member"
    __table_args__ = (
        _of_team(),
        Index(
            "uq_member_number",
            "team_id",
            "number",
            unique=True,
            sqlite_where=text("removed_at IS NULL"),
            postgresql_where=text("removed_at IS NULL"),
        ),
        Index(
            "uq_member_sign_in_name",
            "team_id",
            "sign_in_name",
            unique=True,
            sqlite_where=text("removed_at IS NULL"),
            postgresql_where=text("removed_at IS NULL"),
        ),
    )

    team_id: str = Field(primary_key=True)
    id: str = Field(primary_key=True)
    role: str
    name: str
    number: int | None = None
    positions: list[str] = _list()
    groups: list[str] = _list()
    sign_in_name: str | None = None
    secret_hash: str = ""
    created_at: datetime = _moment()
    removed_at: datetime | None = _moment(optional=True)


class SignIn(Base, table=True):
    """A session of one device. Only a hash of what the device holds is stored."""

    __tablename__ = "sign_in"
    __table_args__ = (_of_member(), Index("ix_sign_in_member", "team_id", "member_id"))

    team_id: str = Field(primary_key=True)
    token_hash: str = Field(primary_key=True)
    member_id: str
    created_at: datetime = _moment()
    seen_at: datetime = _moment()
    ends_at: datetime = _moment()


class FailedTry(Base, table=True):
    """Wrong tries to sign in, counted per subject (a member or a hashed address) and stretch of time.

    A try with a code that belongs to no team is counted under the empty team id, so there is no foreign key.
    """

    __tablename__ = "failed_try"

    team_id: str = Field(primary_key=True)
    subject: str = Field(primary_key=True)
    stretch: str = Field(primary_key=True)
    tries: int
    ends_at: datetime = _moment()


class Assignment(Base, table=True):
    """A set on one call: to positions, or to some of their players by id; due at a moment.

    ``is_weighted`` says that its reps are drawn by what the next opponent runs. A player's own practice is a set with
    himself alone in ``player_ids``, and ``created_by`` him.
    """

    __tablename__ = "assignment"
    __table_args__ = (_of_team(), Index("ix_assignment_created", "team_id", "created_at"))

    team_id: str = Field(primary_key=True)
    id: str = Field(primary_key=True)
    call: str
    positions: list[str] = _list()
    stages: list[int] = _list()
    sides: list[str] = _list()
    length: int
    purpose: str = Purpose.REPS
    player_ids: list[str] = _list()
    is_weighted: bool = False
    due_at: datetime = _moment()
    created_at: datetime = _moment()
    created_by: str
    closed_at: datetime | None = _moment(optional=True)


class PlayerSet(Base, table=True):
    """One player's copy of a set, from the moment he opened it.

    ``state_before`` and ``state_after`` are where he stood on the call, as the board had it, when he opened it and when
    he finished it: a check session's verdict is the latter. Empty: not known.
    """

    __tablename__ = "player_set"
    __table_args__ = (_of_assignment(), _of_member())

    team_id: str = Field(primary_key=True)
    assignment_id: str = Field(primary_key=True)
    member_id: str = Field(primary_key=True)
    opened_at: datetime = _moment()
    finished_at: datetime | None = _moment(optional=True)
    state_before: str = ""
    state_after: str = ""


class KeptRep(Base, table=True):
    """A rep as it was shown, whole, so that a past answer can always be looked at as the player saw it.

    ``parts`` is a list of {prompt, choices: [{id, label, leaves, relation}], right: [id]}.
    """

    __tablename__ = "rep_shown"
    __table_args__ = (_of_team(),)

    team_id: str = Field(primary_key=True)
    rep_id: str = Field(primary_key=True)
    kind: str
    stage: int
    position: str
    call: str
    to: str
    formation: str
    play: str | None = None
    play_to: str | None = None
    stem: str = _long_text()
    parts: list[dict[str, Any]] = _list()
    because: str = _long_text()
    picture: str
    guise: str
    before_svg: str = _long_text()
    after_svg: str = _long_text()
    first_at: datetime = _moment()


class SetRep(Base, table=True):
    """Which rep stands at which place of a player's set.

    ``again_of`` is None for a rep of the set proper; else it is the place whose rep comes back in this guise, and
    this one is asked only when that one was missed.
    """

    __tablename__ = "set_rep"
    __table_args__ = (_of_assignment(), _of_member(), _of_rep())

    team_id: str = Field(primary_key=True)
    assignment_id: str = Field(primary_key=True)
    member_id: str = Field(primary_key=True)
    place: int = Field(primary_key=True)
    rep_id: str
    again_of: int | None = None


class Answer(Base, table=True):
    """One answer, stored once and never changed. ``id`` is made on the phone; order is by ``received_at``.

    What mastery needs of the rep is copied here, so that it reads one table. ``took_ms`` is what the phone says, None
    when it says nothing; ``is_late`` means received after the set was due or closed.
    """

    __tablename__ = "answer"
    __table_args__ = (
        _of_assignment(),
        _of_member(),
        _of_rep(),
        UniqueConstraint(
            "team_id", "assignment_id", "member_id", "rep_id", "attempt", name="uq_answer_once_a_set_rep_attempt"
        ),
        Index("ix_answer_received", "team_id", "received_at"),
    )

    team_id: str = Field(primary_key=True)
    member_id: str = Field(primary_key=True)
    id: str = Field(primary_key=True)
    assignment_id: str
    place: int
    rep_id: str
    attempt: int
    chosen: list[str] = _list()
    is_right: bool
    is_late: bool
    received_at: datetime = _moment()
    took_ms: int | None = None
    call: str
    stage: int
    side: str
    position: str
    kind: str
    choices: int
    chosen_words: str = _long_text()
    right_words: str = _long_text()
    relation: str = ""
    explanation: str = _long_text()


class MissPicture(Base, table=True):
    """What one wrong answer to a rep leads to, drawn, as shown. ``chosen`` is the choices' ids, a plus between."""

    __tablename__ = "miss_shown"
    __table_args__ = (_of_team(), _of_rep())

    team_id: str = Field(primary_key=True)
    rep_id: str = Field(primary_key=True)
    chosen: str = Field(primary_key=True)
    svg: str = _long_text()


class Opponent(Base, table=True):
    """What an opponent runs: how often each of the team's plays, and from that how much of each stage it asks.

    ``play_counts`` is {play: count}, ``stage_counts`` {stage as text: count}. One opponent at most is the next one.
    """

    __tablename__ = "opponent"
    __table_args__ = (_of_team(),)

    team_id: str = Field(primary_key=True)
    id: str = Field(primary_key=True)
    name: str
    play_counts: dict[str, float] = Field(default_factory=dict, sa_type=JSON, nullable=False)
    stage_counts: dict[str, float] = Field(default_factory=dict, sa_type=JSON, nullable=False)
    is_next: bool = False
    changed_at: datetime = _moment()


class PlayWord(Base, table=True):
    """What a word in a play list was said to be, by whoever imported one last: a play of the team, or empty for nothing
    that counts. ``word`` stands without capitals and signs."""

    __tablename__ = "play_word"
    __table_args__ = (_of_team(),)

    team_id: str = Field(primary_key=True)
    word: str = Field(primary_key=True)
    play: str = ""


class PracticeDay(Base, table=True):
    """What a coach usually assigns for a day of practice. ``weekday`` counts from Monday as 0; ``due`` is hh:mm."""

    __tablename__ = "practice_day"
    __table_args__ = (_of_team(),)

    team_id: str = Field(primary_key=True)
    id: str = Field(primary_key=True)
    name: str
    weekday: int
    due: str
    purpose: str = Purpose.REPS
    stages: list[int] = _list()
    sides: list[str] = _list()
    length: int
    is_weighted: bool = False


class AuditEntry(Base, table=True):
    """Who looked at, exported or changed what, without names."""

    __tablename__ = "audit_entry"
    __table_args__ = (_of_team(), Index("ix_audit_entry_at", "team_id", "at"))

    team_id: str = Field(primary_key=True)
    id: str = Field(primary_key=True)
    at: datetime = _moment()
    member_id: str
    action: str
    subject: str = ""


TABLES: tuple[type[Base], ...] = (
    Team,
    ContentFile,
    Member,
    SignIn,
    FailedTry,
    Assignment,
    PlayerSet,
    KeptRep,
    SetRep,
    Answer,
    MissPicture,
    Opponent,
    PlayWord,
    PracticeDay,
    AuditEntry,
)
