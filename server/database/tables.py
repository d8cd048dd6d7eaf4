"""All tables. The team's id leads every key, so that no row can be reached without naming its team.

Knows nothing of queries or pages. Moments are whole microseconds since 1970 UTC, which both databases store exactly. Of
a player we store number, first name or nickname, positions and answers.
"""

from __future__ import annotations

from datetime import datetime
from enum import StrEnum
from typing import Any

from sqlalchemy import JSON, Index, UniqueConstraint, text
from sqlmodel import Field

from server.database.device_table import KnownDevice
from server.database.draft_tables import ContentVersion, DraftEdit
from server.database.erasing_table import Erasing
from server.database.invite_table import TeamInvite
from server.database.meeting_tables import Meeting, MeetingSnapShown
from server.database.table_base import (
    Base,
    json_list,
    long_text,
    moment,
    of_assignment,
    of_member,
    of_rep,
    of_team,
)


class AccountRole(StrEnum):
    """What a member of a team may do. ``NOBODY`` means not signed in and is never stored."""

    OWNER = "owner"
    COACH = "coach"
    POSITION_COACH = "position coach"
    PLAYER = "player"
    NOBODY = "nobody"


class Purpose(StrEnum):
    """What a set is for: a number of reps; a check that ends when the call is decided; a player's own practice; a
    meeting, in which the coach moves from snap to snap."""

    REPS = "reps"
    CHECK = "check"
    PRACTICE = "practice"
    MEETING = "meeting"


#: Sets that no coach sent to be done by a due date.
NOT_SENT = (Purpose.PRACTICE, Purpose.MEETING)


class Team(Base, table=True):
    """One defense on this server. Phones find it by the team code, which can change; the id never does."""

    __tablename__ = "team"

    id: str = Field(primary_key=True)
    name: str
    join_code: str = Field(unique=True)
    time_zone: str
    season_end: str = ""
    content_hash: str
    created_at: datetime = moment()


class ContentFile(Base, table=True):
    """One of a team's TOML files, as text."""

    __tablename__ = "content_file"
    __table_args__ = (of_team(),)

    team_id: str = Field(primary_key=True)
    path: str = Field(primary_key=True)
    text: str = long_text()


class CallFamilies(Base, table=True):
    """Which calls ask much the same of a position, as last compared: {position: {call: family}}.

    ``made_from`` names the content and the engine; once either is another, calls are compared again. ``drill`` holds
    the reps worth asking and the call-blind rates, {rates: {kind: {position: rate}}, reps: [[setup, kind, position,
    guise, worth]]}; empty until it is worked out.
    """

    __tablename__ = "call_families"
    __table_args__ = (of_team(),)

    team_id: str = Field(primary_key=True)
    made_from: str
    families: dict[str, dict[str, str]] = Field(default_factory=dict, sa_type=JSON, nullable=False)
    drill: dict[str, Any] = Field(default_factory=dict, sa_type=JSON, nullable=False)


class NounName(Base, table=True):
    """What the team calls a position, call, formation or play, by its key; of a deleted one its last name."""

    __tablename__ = "noun_name"
    __table_args__ = (of_team(),)

    team_id: str = Field(primary_key=True)
    kind: str = Field(primary_key=True)
    key: str = Field(primary_key=True)
    name: str


class Member(Base, table=True):
    """A person with an account: a coach with sign-in name and passphrase, or a player with number and PIN.

    ``groups`` are the position groups that a position coach sees. A removed member's answers stay until they are
    erased; his number is free. ``erase_at``: when a removed player goes for good, if a day is set for it.
    """

    __tablename__ = "member"
    __table_args__ = (
        of_team(),
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
    positions: list[str] = json_list()
    groups: list[str] = json_list()
    sign_in_name: str | None = None
    secret_hash: str = ""
    created_at: datetime = moment()
    removed_at: datetime | None = moment(optional=True)
    erase_at: datetime | None = moment(optional=True)


class SignIn(Base, table=True):
    """One device's session. Only a hash of its token is stored."""

    __tablename__ = "sign_in"
    __table_args__ = (of_member(), Index("ix_sign_in_member", "team_id", "member_id"))

    team_id: str = Field(primary_key=True)
    token_hash: str = Field(primary_key=True)
    member_id: str
    created_at: datetime = moment()
    seen_at: datetime = moment()
    ends_at: datetime = moment()


class FailedTry(Base, table=True):
    """Tries to sign in, counted by subject (a member or a hashed address) and period.

    A try with an unknown team code is counted with an empty team id, so there is no foreign key.
    """

    __tablename__ = "failed_try"

    team_id: str = Field(primary_key=True)
    subject: str = Field(primary_key=True)
    stretch: str = Field(primary_key=True)
    tries: int
    ends_at: datetime = moment()


class Assignment(Base, table=True):
    """A set on one call, for positions or for some of their players by id, with a due moment.

    Without a call (empty) it is on what each needs: a player's copy mixes the calls and stages that are open to him.
    ``is_weighted`` means that its reps are drawn by what the next opponent runs. A player's own practice is a set with
    only himself in ``player_ids``, with him as ``created_by``. ``let_off`` are players who had it until a coach changed
    who gets it; ``closed_at`` is when it was called back (a practice: dropped).
    """

    __tablename__ = "assignment"
    __table_args__ = (of_team(), Index("ix_assignment_created", "team_id", "created_at"))

    team_id: str = Field(primary_key=True)
    id: str = Field(primary_key=True)
    call: str
    positions: list[str] = json_list()
    stages: list[int] = json_list()
    sides: list[str] = json_list()
    length: int
    purpose: str = Purpose.REPS
    player_ids: list[str] = json_list()
    let_off: list[str] = json_list()
    is_weighted: bool = False
    due_at: datetime = moment()
    created_at: datetime = moment()
    created_by: str
    closed_at: datetime | None = moment(optional=True)

    @property
    def is_mixed(self) -> bool:
        """Whether it is on what each needs instead of one call."""
        return not self.call


class PlayerSet(Base, table=True):
    """One player's copy of a set, made when he opened it.

    ``state_before`` and ``state_after`` are his state on the call, as on the board, when he opened and when he finished
    it; a check session's verdict is the latter. Empty: unknown. They are stored because a verdict must not change when
    the content changes. Mastery never reads them. Rejected: replaying the season for each page; a table of verdicts.
    ``likely_low`` and ``likely_high`` go with the state after a check: how many of ten such snaps he can likely name.
    """

    __tablename__ = "player_set"
    __table_args__ = (of_assignment(), of_member())

    team_id: str = Field(primary_key=True)
    assignment_id: str = Field(primary_key=True)
    member_id: str = Field(primary_key=True)
    opened_at: datetime = moment()
    finished_at: datetime | None = moment(optional=True)
    state_before: str = ""
    state_after: str = ""
    likely_low: int | None = None
    likely_high: int | None = None


class KeptRep(Base, table=True):
    """A rep as it was first shown, so that a past answer always looks, and is judged, as it was. Rejected: making the
    rep again at each look (an edit to the content would change past answers).

    Position, call, formation and play are keys; ``job`` is a hash of what is asked of the man and what is right, empty
    where that is unknown. ``guess`` is how often a player who ignores the call is right in this kind at this position,
    0 where that was unknown when it was first shown. ``changed_at``: since when the content says otherwise, compared
    with the content of ``checked_hash``. ``parts`` is a list of {prompt, choices: [{id, key, label, phrase,
    leaves, relation}], right: [id]}.
    """

    __tablename__ = "rep_shown"
    __table_args__ = (of_team(),)

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
    stem: str = long_text()
    parts: list[dict[str, Any]] = json_list()
    because: str = long_text()
    picture: str
    guise: str
    before_svg: str = long_text()
    after_svg: str = long_text()
    job: str = ""
    guess: float = 0.0
    first_at: datetime = moment()
    changed_at: datetime | None = moment(optional=True)
    checked_hash: str = ""


class SetRep(Base, table=True):
    """The rep at one place of a player's set.

    ``again_of`` is None for the set's own reps. Otherwise it is the place whose rep returns here in another form; this
    one is asked only when that one was missed. ``why`` it was picked is in a short form (``server/sets/picks.py``).
    """

    __tablename__ = "set_rep"
    __table_args__ = (of_assignment(), of_member(), of_rep())

    team_id: str = Field(primary_key=True)
    assignment_id: str = Field(primary_key=True)
    member_id: str = Field(primary_key=True)
    place: int = Field(primary_key=True)
    rep_id: str
    again_of: int | None = None
    why: str = ""


class GradedAnswer(Base):
    """One answer with its result, stored or about to be. ``id`` is made on the phone; the order is by ``received_at``.

    What mastery needs of the rep is copied here, so that it reads one table. ``changed_at`` is set once the content
    says otherwise: it was about another job than today's, and counts no more. ``took_ms`` comes from the phone, None
    when it sent none; ``is_late`` means received after the set was due or closed.
    """

    team_id: str = Field(primary_key=True)
    member_id: str = Field(primary_key=True)
    id: str = Field(primary_key=True)
    assignment_id: str
    place: int
    rep_id: str
    attempt: int
    chosen: list[str] = json_list()
    is_right: bool
    is_late: bool
    received_at: datetime = moment()
    took_ms: int | None = None
    call: str
    stage: int
    side: str
    position: str
    kind: str
    choices: int
    chosen_key: str = long_text()
    right_key: str = long_text()
    chosen_words: str = long_text()
    right_words: str = long_text()
    relation: str = ""
    explanation: str = long_text()
    job: str = ""
    guess: float = 0.0
    changed_at: datetime | None = moment(optional=True)


class Answer(GradedAnswer, table=True):
    """A stored answer; only ``changed_at`` ever changes. Answers are graded and inserted as plain values, since a row
    object takes twenty times as long to make."""

    __tablename__ = "answer"
    __table_args__ = (
        of_assignment(),
        of_member(),
        of_rep(),
        UniqueConstraint(
            "team_id", "assignment_id", "member_id", "rep_id", "attempt", name="uq_answer_once_a_set_rep_attempt"
        ),
        Index("ix_answer_received", "team_id", "received_at"),
    )


class MissPicture(Base, table=True):
    """The stored picture of where one wrong answer to a rep leads. ``chosen`` is the choices' ids, joined by "+".

    Stored as shown: drawing it at each look would let an edit to the content change a past answer.
    """

    __tablename__ = "miss_shown"
    __table_args__ = (of_team(), of_rep())

    team_id: str = Field(primary_key=True)
    rep_id: str = Field(primary_key=True)
    chosen: str = Field(primary_key=True)
    svg: str = long_text()


class Opponent(Base, table=True):
    """What an opponent runs: how often each play, from which formation and to which side, and the share of each stage.

    ``runs`` is [[play, formation, side, count]] with keys, and our own left and right; a formation or side that is not
    known is empty. A play or formation that the team doesn't have has the opponent's word. ``stage_counts`` is {stage
    as text: count}. ``key`` is what its TOML knows it by. At most one opponent is the next one.
    """

    __tablename__ = "opponent"
    __table_args__ = (of_team(), UniqueConstraint("team_id", "key"))

    team_id: str = Field(primary_key=True)
    id: str = Field(primary_key=True)
    key: str
    name: str
    runs: list[tuple[str, str, str, float]] = json_list()
    stage_counts: dict[str, float] = Field(default_factory=dict, sa_type=JSON, nullable=False)
    is_next: bool = False
    changed_at: datetime = moment()

    @property
    def play_counts(self) -> dict[str, float]:
        """How often they run each play, from wherever and to either side: {play: count}."""
        found: dict[str, float] = {}
        for play, _, _, count in self.runs:
            found[play] = found.get(play, 0.0) + count
        return found


class Acceptance(Base, table=True):
    """A lack that the staff lives with: of a call, on the snaps that fit (empty: any), and why. Nouns by their keys.

    ``lack`` is the hash of what was short when it was accepted (empty: whatever is short). Lacks accepted together have
    one ``id``, which the audit has with who and when.
    """

    __tablename__ = "acceptance"
    __table_args__ = (of_team(),)

    team_id: str = Field(primary_key=True)
    call: str = Field(primary_key=True)
    to: str = Field(primary_key=True)
    formation: str = Field(primary_key=True)
    play: str = Field(primary_key=True)
    play_to: str = Field(primary_key=True)
    id: str
    why: str = long_text()
    lack: str = ""


class PlayWord(Base, table=True):
    """The meaning of a word in play lists, from the last import: a play of the team, or empty to ignore it. ``word``
    has no capitals and no punctuation."""

    __tablename__ = "play_word"
    __table_args__ = (of_team(),)

    team_id: str = Field(primary_key=True)
    word: str = Field(primary_key=True)
    play: str = ""


class FormationWord(Base, table=True):
    """The meaning of a word for a formation in play lists, from the last import: one of the team's, two that are each
    other's mirror with "/" between them, or empty for one that it doesn't have. ``word`` as in `PlayWord`."""

    __tablename__ = "formation_word"
    __table_args__ = (of_team(),)

    team_id: str = Field(primary_key=True)
    word: str = Field(primary_key=True)
    formation: str = ""


class PracticeDay(Base, table=True):
    """What a coach usually assigns on a day of practice. ``weekday`` is 0 for Monday; ``due`` is hh:mm."""

    __tablename__ = "practice_day"
    __table_args__ = (of_team(),)

    team_id: str = Field(primary_key=True)
    id: str = Field(primary_key=True)
    name: str
    weekday: int
    due: str
    purpose: str = Purpose.REPS
    stages: list[int] = json_list()
    sides: list[str] = json_list()
    length: int
    is_weighted: bool = False


class AuditEntry(Base, table=True):
    """Who looked at, exported or changed what, without names."""

    __tablename__ = "audit_entry"
    __table_args__ = (of_team(), Index("ix_audit_entry_at", "team_id", "at"))

    team_id: str = Field(primary_key=True)
    id: str = Field(primary_key=True)
    at: datetime = moment()
    member_id: str
    action: str
    subject: str = ""


TABLES: tuple[type[Base], ...] = (
    Team,
    ContentFile,
    CallFamilies,
    NounName,
    Member,
    SignIn,
    KnownDevice,
    FailedTry,
    Assignment,
    PlayerSet,
    KeptRep,
    SetRep,
    Answer,
    MissPicture,
    Meeting,
    MeetingSnapShown,
    Opponent,
    Acceptance,
    PlayWord,
    FormationWord,
    PracticeDay,
    AuditEntry,
    Erasing,
    DraftEdit,
    ContentVersion,
    TeamInvite,
)
