"""What the database holds about one player: shown whole, handed out, and erased for good.

Every table that names a member has its part here; a test compares the two. Hashes of secrets are not handed out: they
are of no use to him, and harmful in other hands. It must not know pages or football.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import delete, or_, update
from sqlmodel import col

from server.accounts.sessions import end_sessions
from server.database.store import TeamSession
from server.database.tables import (
    Answer,
    Assignment,
    AuditEntry,
    Base,
    FailedTry,
    KeptRep,
    Member,
    PlayerSet,
    Purpose,
    SetRep,
    SignIn,
)
from server.errors import BadInput
from server.i18n.lazy_text import LazyText
from server.reading.csv_files import to_csv
from server.team.install import keep_roster

#: What takes the place of an id that is no more.
ERASED = "erased"
#: The tables with a column `member_id`; a test holds this against all tables.
BY_MEMBER: tuple[type[Base], ...] = (SignIn, PlayerSet, SetRep, Answer, AuditEntry)
#: Never handed out, and nothing said of the team, which is in every row.
LEFT_OUT = frozenset({"team_id", "member_id", "secret_hash", "token_hash", "player_ids"})
HEADER = (
    *("What", "When (UTC)", "Call", "Stage", "Call goes to our", "Position", "Question", "He took", "Right is"),
    *("Right", "After it was due", "Seconds", "More"),
)


@dataclass(frozen=True, slots=True)
class Held:
    """Everything about one player, as rows: the member himself, and by kind what he did."""

    member: Member
    sign_ins: Sequence[SignIn]
    sets: Sequence[tuple[PlayerSet, Assignment]]
    places: Sequence[SetRep]
    answers: Sequence[tuple[Answer, str]]
    own_sets: Sequence[Assignment]
    named_in: Sequence[Assignment]
    wrong_pins: int
    audit: Sequence[AuditEntry]


def everything_about(t: TeamSession, member: Member) -> Held:
    """What the database holds about a player."""
    own = member.id
    sets = {one.id: one for one in t.rows(Assignment)}
    opened = t.rows(PlayerSet, col(PlayerSet.member_id) == own, order_by=(col(PlayerSet.opened_at),))
    answers = t.rows(Answer, col(Answer.member_id) == own, order_by=(col(Answer.received_at), col(Answer.id)))
    stems = dict(t.values(KeptRep, KeptRep.rep_id, KeptRep.stem)) if answers else {}
    tries = t.rows(FailedTry, col(FailedTry.subject) == tries_of(member))
    about_him = or_(col(AuditEntry.member_id) == own, col(AuditEntry.subject) == own)
    return Held(
        member=member,
        sign_ins=t.rows(SignIn, col(SignIn.member_id) == own, order_by=(col(SignIn.created_at),)),
        sets=[(one, sets[one.assignment_id]) for one in opened],
        places=t.rows(SetRep, col(SetRep.member_id) == own, order_by=(col(SetRep.assignment_id), col(SetRep.place))),
        answers=[(one, stems.get(one.rep_id, "")) for one in answers],
        own_sets=[one for one in sets.values() if one.created_by == own],
        named_in=[one for one in sets.values() if own in one.player_ids],
        wrong_pins=sum(one.tries for one in tries),
        audit=t.rows(AuditEntry, about_him, order_by=(col(AuditEntry.at), col(AuditEntry.id))),
    )


def tries_of(member: Member) -> str:
    """Under what his wrong PINs are counted; empty for one off the roster, whose number may be another's by now."""
    return "" if member.removed_at else f"number:{member.number}"


def plain(row: Base) -> dict[str, Any]:
    """A row as plain values; moments as ISO 8601 in UTC."""
    columns = type(row).__table__.columns  # type: ignore[attr-defined]
    values = {column.name: getattr(row, column.name) for column in columns if column.name not in LEFT_OUT}
    return {name: value.isoformat() if isinstance(value, datetime) else value for name, value in values.items()}


def to_dict(held: Held, now: datetime) -> Mapping[str, Any]:
    """All of it as one document."""
    return {
        "as_of": now.isoformat(),
        "player": {**plain(held.member), "has_pin": bool(held.member.secret_hash)},
        "sign_ins": [plain(one) for one in held.sign_ins],
        "sets_opened": [{**plain(one), "call": of.call, "due_at": of.due_at.isoformat()} for one, of in held.sets],
        "reps_laid_out": [plain(one) for one in held.places],
        "answers": [{**plain(one), "question": stem} for one, stem in held.answers],
        "sets_he_started": [plain(one) for one in held.own_sets],
        "sets_sent_to_him_by_name": [plain(one) for one in held.named_in],
        "wrong_pins_counted": held.wrong_pins,
        "noted_about_him": [plain(one) for one in held.audit],
    }


def to_lines(held: Held) -> Iterator[Sequence[object]]:
    """All of it as lines under `HEADER`, one for each thing held."""
    about = plain(held.member)
    said = "; ".join(f"{name}: {value}" for name, value in about.items() if value not in ("", None, []))
    yield _line("player", held.member.created_at, more=said)
    yield _line("wrong PINs counted", None, more=str(held.wrong_pins))
    for sign_in in held.sign_ins:
        yield _line("signed in", sign_in.created_at, more=f"last seen {stamp(sign_in.seen_at)}")
    for one, of in held.sets:
        yield _line("opened a set", one.opened_at, call=of.call, more=f"finished {stamp(one.finished_at)}")
    for place in held.places:
        yield _line("rep laid out", None, more=f"set {place.assignment_id}, place {place.place}, rep {place.rep_id}")
    for answer, stem in held.answers:
        yield (
            *("answered", stamp(answer.received_at), answer.call, answer.stage, answer.side, answer.position, stem),
            *(answer.chosen_words, answer.right_words, _yes(answer.is_right), _yes(answer.is_late)),
            *("" if answer.took_ms is None else answer.took_ms / 1000, answer.explanation),
        )
    for what, sets in (("started a set", held.own_sets), ("set sent to him by name", held.named_in)):
        for of in sets:
            yield _line(what, of.created_at, call=of.call)
    for entry in held.audit:
        yield _line("noted", entry.at, more=entry.action)


def _line(what: str, at: datetime | None, *, call: str = "", more: str = "") -> Sequence[object]:
    return (what, stamp(at), call, *[""] * 9, more)


def stamp(at: datetime | None) -> str:
    """A moment as spreadsheets read it, in UTC; empty when there is none."""
    return "" if at is None else at.strftime("%Y-%m-%d %H:%M:%S")


def _yes(value: bool) -> str:
    return "yes" if value else "no"


def write_held(held: Held) -> Iterator[bytes]:
    """All of it as a CSV file."""
    return to_csv(HEADER, to_lines(held))


def check_typed(member: Member, typed: str) -> None:
    """Hold what was typed against the name. Raises: BadInput."""
    if typed.strip().casefold() != member.name.strip().casefold():
        raise BadInput(LazyText("name: expected the player's name, typed as it stands on the page; nothing was erased"))


def erase(t: TeamSession, member: Member) -> int:
    """Erase a player with all that is held about him; count his answers. What others have is left as it is."""
    own, team = member.id, t.team_id
    answers = t.count(Answer, col(Answer.member_id) == own)
    end_sessions(t, own)
    for table in (Answer, SetRep, PlayerSet):
        t.execute(delete(table).where(col(table.team_id) == team, col(table.member_id) == own))
    for one in t.rows(Assignment):
        if one.created_by == own and one.purpose == Purpose.PRACTICE:
            t.delete(one)
        elif own in one.player_ids:
            # never empty: that would send the set to everybody
            one.player_ids = [other for other in one.player_ids if other != own] or [ERASED]
            t.add(one)
    tries = (col(FailedTry.team_id) == team, col(FailedTry.subject) == tries_of(member))
    t.execute(delete(FailedTry).where(*tries))
    mine = (col(AuditEntry.team_id) == team, col(AuditEntry.member_id) == own)
    t.execute(delete(AuditEntry).where(*mine))
    about_him = (col(AuditEntry.team_id) == team, col(AuditEntry.subject) == own)
    t.execute(update(AuditEntry).where(*about_him).values(subject=ERASED))
    t.delete(member)
    keep_roster(t)
    return answers
