"""Everything the database holds about one player: shown, exported, and erased for good.

Covers every table that names a member; a test checks that. Hashes of secrets are not exported: useless to the player,
harmful in other hands. Knows nothing of pages or football.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import delete, or_, update
from sqlmodel import col

from server.accounts.sessions import end_sessions
from server.accounts.sign_in import forget_tries
from server.database.device_table import KnownDevice
from server.database.store import TeamSession
from server.database.table_base import Base
from server.database.tables import (
    Answer,
    Assignment,
    AuditEntry,
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
from server.playbook.noun_names import NounNames
from server.reading.csv_files import to_csv
from server.team.install import rewrite_roster_file

#: Replaces the id of an erased member.
ERASED = "erased"
#: The tables with a `member_id` column; a test compares this with all tables.
BY_MEMBER: tuple[type[Base], ...] = (SignIn, KnownDevice, PlayerSet, SetRep, Answer, AuditEntry)
#: Columns that are not exported: secrets, and ids that say nothing about the player.
LEFT_OUT = frozenset({"team_id", "member_id", "secret_hash", "token_hash", "key_hash", "player_ids"})
HEADER = (
    *("What", "When (UTC)", "Call", "Stage", "Call goes to our", "Position", "Question", "He took", "Right is"),
    *("Right", "After it was due", "Seconds", "More"),
)


@dataclass(frozen=True, slots=True)
class HeldData:
    """All rows about one player, by table."""

    member: Member
    sign_ins: Sequence[SignIn]
    devices: Sequence[KnownDevice]
    sets: Sequence[tuple[PlayerSet, Assignment]]
    places: Sequence[SetRep]
    answers: Sequence[tuple[Answer, str]]
    own_sets: Sequence[Assignment]
    named_in: Sequence[Assignment]
    wrong_pins: int
    audit: Sequence[AuditEntry]


def load_held(t: TeamSession, member: Member) -> HeldData:
    """Everything the database holds about a player."""
    own = member.id
    sets = {one.id: one for one in t.rows(Assignment)}
    opened = t.rows(PlayerSet, col(PlayerSet.member_id) == own, order_by=(col(PlayerSet.opened_at),))
    answers = t.rows(Answer, col(Answer.member_id) == own, order_by=(col(Answer.received_at), col(Answer.id)))
    stems = dict(t.values(KeptRep, KeptRep.rep_id, KeptRep.stem)) if answers else {}
    tries = t.rows(FailedTry, col(FailedTry.subject) == tries_key(member), col(FailedTry.stretch).like("d%"))
    about_him = or_(col(AuditEntry.member_id) == own, col(AuditEntry.subject) == own)
    return HeldData(
        member=member,
        sign_ins=t.rows(SignIn, col(SignIn.member_id) == own, order_by=(col(SignIn.created_at),)),
        devices=t.rows(KnownDevice, col(KnownDevice.member_id) == own, order_by=(col(KnownDevice.seen_at),)),
        sets=[(one, sets[one.assignment_id]) for one in opened],
        places=t.rows(SetRep, col(SetRep.member_id) == own, order_by=(col(SetRep.assignment_id), col(SetRep.place))),
        answers=[(one, stems.get(one.rep_id, "")) for one in answers],
        own_sets=[one for one in sets.values() if one.created_by == own],
        named_in=[one for one in sets.values() if own in one.player_ids],
        wrong_pins=sum(one.tries for one in tries),
        audit=t.rows(AuditEntry, about_him, order_by=(col(AuditEntry.at), col(AuditEntry.id))),
    )


def tries_key(member: Member) -> str:
    """The key his wrong PINs are counted under; empty once he is off the roster, since the number may be reused."""
    return "" if member.removed_at else f"number:{member.number}"


def to_values(row: Base) -> dict[str, Any]:
    """A row as plain values; times in ISO 8601, UTC."""
    columns = type(row).__table__.columns  # type: ignore[attr-defined]
    values = {column.name: getattr(row, column.name) for column in columns if column.name not in LEFT_OUT}
    return {name: value.isoformat() if isinstance(value, datetime) else value for name, value in values.items()}


def named(values: Mapping[str, Any], names: NounNames) -> dict[str, Any]:
    """These values with names for the keys of nouns."""
    shown = dict(values)
    if "call" in values:
        shown["call"] = names.call(values["call"])
    if "position" in values:
        shown["position"] = names.position(values["position"])
    if "positions" in values:
        shown["positions"] = list(map(names.position, values["positions"]))
    return shown


def to_dict(held: HeldData, names: NounNames, now: datetime) -> Mapping[str, Any]:
    """Everything as one JSON-ready document; positions, calls, formations and plays by name."""

    def values(row: Base, **more: Any) -> dict[str, Any]:
        return named(to_values(row) | more, names)

    return {
        "as_of": now.isoformat(),
        "player": {**values(held.member), "has_pin": bool(held.member.secret_hash)},
        "sign_ins": [to_values(one) for one in held.sign_ins],
        "known_devices": [to_values(one) for one in held.devices],
        "sets_opened": [values(one, call=of.call, due_at=of.due_at.isoformat()) for one, of in held.sets],
        "reps_laid_out": [to_values(one) for one in held.places],
        "answers": [values(one, question=stem) for one, stem in held.answers],
        "sets_he_started": [values(one) for one in held.own_sets],
        "sets_sent_to_him_by_name": [values(one) for one in held.named_in],
        "wrong_pins_counted": held.wrong_pins,
        "noted_about_him": [to_values(one) for one in held.audit],
    }


def to_rows(held: HeldData, names: NounNames) -> Iterator[Sequence[object]]:
    """Everything as rows under `HEADER`."""
    about = named(to_values(held.member), names)
    details = "; ".join(f"{name}: {value}" for name, value in about.items() if value not in ("", None, []))
    yield _row("player", held.member.created_at, more=details)
    yield _row("wrong PINs counted", None, more=str(held.wrong_pins))
    for sign_in in held.sign_ins:
        yield _row("signed in", sign_in.created_at, more=f"last seen {format_utc(sign_in.seen_at)}")
    for device in held.devices:
        yield _row("device known", device.seen_at)
    for one, of in held.sets:
        yield _row(
            "opened a set", one.opened_at, call=names.call(of.call), more=f"finished {format_utc(one.finished_at)}"
        )
    for place in held.places:
        yield _row("rep laid out", None, more=f"set {place.assignment_id}, place {place.place}, rep {place.rep_id}")
    for answer, stem in held.answers:
        yield (
            *(
                "answered",
                format_utc(answer.received_at),
                names.call(answer.call),
                answer.stage,
                answer.side,
                names.position(answer.position),
                stem,
            ),
            *(answer.chosen_words, answer.right_words, _yes_or_no(answer.is_right), _yes_or_no(answer.is_late)),
            *("" if answer.took_ms is None else answer.took_ms / 1000, answer.explanation),
        )
    for what, sets in (("started a set", held.own_sets), ("set sent to him by name", held.named_in)):
        for of in sets:
            yield _row(what, of.created_at, call=names.call(of.call))
    for entry in held.audit:
        yield _row("noted", entry.at, more=entry.action)


def _row(what: str, at: datetime | None, *, call: str = "", more: str = "") -> Sequence[object]:
    return (what, format_utc(at), call, *[""] * 9, more)


def format_utc(at: datetime | None) -> str:
    """A time in UTC in a form spreadsheets read; empty for None."""
    return "" if at is None else at.strftime("%Y-%m-%d %H:%M:%S")


def _yes_or_no(value: bool) -> str:
    return "yes" if value else "no"


def to_held_csv(held: HeldData, names: NounNames) -> Iterator[bytes]:
    """Everything as a CSV file."""
    return to_csv(HEADER, to_rows(held, names))


def check_confirmation(member: Member, typed: str) -> None:
    """Check the typed confirmation. Raises: BadInput when it isn't the player's name."""
    if typed.strip().casefold() != member.name.strip().casefold():
        raise BadInput(LazyText("name: expected the player's name, typed as it stands on the page; nothing was erased"))


def erase(t: TeamSession, member: Member) -> int:
    """Erase a player and everything about him; return the number of his answers. Nobody else's data changes."""
    # SQLite overwrites deleted rows (secure_delete). Rejected: an "erased" mark beside data that stays; encrypting each
    # player's rows with its own key (more to lose than to gain here).
    own, team = member.id, t.team_id
    answers = t.count(Answer, col(Answer.member_id) == own)
    end_sessions(t, own)
    for table in (Answer, SetRep, PlayerSet, KnownDevice):
        t.execute(delete(table).where(col(table.team_id) == team, col(table.member_id) == own))
    for one in t.rows(Assignment):
        if one.created_by == own and one.purpose == Purpose.PRACTICE:
            t.delete(one)
        elif own in one.player_ids:
            # never empty: an empty list would send the set to everybody
            one.player_ids = [other for other in one.player_ids if other != own] or [ERASED]
            t.add(one)
    if not member.removed_at:
        forget_tries(t, member.number)
    mine = (col(AuditEntry.team_id) == team, col(AuditEntry.member_id) == own)
    t.execute(delete(AuditEntry).where(*mine))
    about_him = (col(AuditEntry.team_id) == team, col(AuditEntry.subject) == own)
    t.execute(update(AuditEntry).where(*about_him).values(subject=ERASED))
    t.delete(member)
    rewrite_roster_file(t)
    return answers
