"""A database of the first version, with rows in every table, migrates to this version with all rows unchanged."""

import json
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from alembic import command
from sqlalchemy import inspect, text
from sqlmodel import Session, select

from quizgen.reps.ids import job_id
from server.database.store import Store, migration_config, open_store, references_off
from server.database.tables import (
    Answer,
    Assignment,
    AuditEntry,
    Base,
    ContentFile,
    FailedTry,
    KeptRep,
    Member,
    Opponent,
    PlayerSet,
    PlayWord,
    SetRep,
    SignIn,
    Team,
)
from server.playbook.noun_names import read_names
from server.settings import load_settings

AT, LATER = (
    1_788_300_000_123_456,
    1_788_303_600_000_000,
)  # microseconds since 1970, by hand: 2026-09-01, 22:00 and 23:00 UTC
MOMENTS = {AT: datetime(2026, 9, 1, 22, 0, 0, 123_456, tzinfo=UTC), LATER: datetime(2026, 9, 1, 23, 0, tzinfo=UTC)}

#: One row for each table of the first version, with its column names, in the order of their references.
FIRST: dict[type[Base], dict[str, object]] = {
    Team: {
        "id": "t1",
        "name": "Made-up High",
        "join_code": "ACDEFGHJ",
        "time_zone": "America/Chicago",
        "season_end": "2026-12-15",
        "content_hash": "0f",
        "created_at": AT,
    },
    ContentFile: {"team_id": "t1", "path": "team.toml", "text": "name = 'Ñandú'\n"},
    Member: {
        "team_id": "t1",
        "id": "m1",
        "role": "player",
        "name": "Dale",
        "number": 54,
        "positions": ["Mike", "Will"],
        "groups": [],
        "sign_in_name": None,
        "secret_hash": "h",
        "created_at": AT,
        "removed_at": None,
    },
    SignIn: {
        "team_id": "t1",
        "token_hash": "k",
        "member_id": "m1",
        "created_at": AT,
        "seen_at": AT,
        "ends_at": LATER,
    },
    FailedTry: {"team_id": "t1", "subject": "number:54", "stretch": "q1", "tries": 2, "ends_at": LATER},
    Assignment: {
        "team_id": "t1",
        "id": "s1",
        "call": "Hammer",
        "positions": ["Mike"],
        "stages": [1, 2],
        "sides": ["left"],
        "length": 8,
        "due_at": LATER,
        "created_at": AT,
        "created_by": "c1",
        "closed_at": None,
    },
    KeptRep: {
        "team_id": "t1",
        "rep_id": "r1",
        "kind": "track",
        "stage": 1,
        "position": "Mike",
        "call": "Hammer",
        "to": "left",
        "formation": "pro",
        "play": None,
        "play_to": None,
        "stem": "Where do you go?",
        "parts": [
            {
                "prompt": "Your gap?",
                "choices": [
                    {"id": "a", "label": "Left A", "leaves": "", "relation": ""},
                    {"id": "b", "label": "Mike", "leaves": "", "relation": "other"},
                ],
                "right": ["a", "b"],
            }
        ],
        "because": "so",
        "picture": "p",
        "guise": "g",
        "before_svg": "<svg/>",
        "after_svg": "<svg id='2'/>",
        "first_at": AT,
    },
    PlayerSet: {"team_id": "t1", "assignment_id": "s1", "member_id": "m1", "opened_at": AT, "finished_at": LATER},
    SetRep: {"team_id": "t1", "assignment_id": "s1", "member_id": "m1", "place": 1, "rep_id": "r1", "again_of": None},
    Answer: {
        "team_id": "t1",
        "member_id": "m1",
        "id": "a" * 16,
        "assignment_id": "s1",
        "place": 1,
        "rep_id": "r1",
        "attempt": 1,
        "chosen": ["a"],
        "is_right": True,
        "is_late": False,
        "received_at": LATER,
        "took_ms": 1500,
        "call": "Hammer",
        "stage": 1,
        "side": "left",
        "position": "Mike",
        "kind": "track",
        "choices": 4,
        "chosen_words": "left A",
        "right_words": "left A",
        "relation": "",
        "explanation": "so",
    },
    AuditEntry: {
        "team_id": "t1",
        "id": "e1",
        "at": AT,
        "member_id": "c1",
        "action": "new PINs",
        "subject": "1 players",
    },
}
#: Values of newer columns for rows of the first version.
SINCE: dict[type[Base], dict[str, object]] = {
    Member: {"positions": ["mike", "will"], "erase_at": None},
    Assignment: {
        "purpose": "reps",
        "player_ids": [],
        "let_off": [],
        "is_weighted": False,
        "call": "hammer",
        "positions": ["mike"],
    },
    SetRep: {"why": ""},
    PlayerSet: {"state_before": "", "state_after": "", "likely_low": None, "likely_high": None},
    KeptRep: {
        "position": "mike",
        "call": "hammer",
        "job": "",
        "guess": 0.0,
        "changed_at": None,
        "checked_hash": "",
        "parts": [
            {
                "prompt": "Your gap?",
                "choices": [
                    {
                        "id": "a",
                        "label": "Left A",
                        "leaves": "",
                        "relation": "",
                        "key": "words:Left A",
                        "phrase": "left A",
                    },
                    {
                        "id": "b",
                        "label": "Mike",
                        "leaves": "",
                        "relation": "other",
                        "key": "words:Mike",
                        "phrase": "Mike",
                    },
                ],
                "right": ["a", "b"],
            }
        ],
    },
    Answer: {
        "chosen_key": "words:Left A",
        "right_key": "words:Left A | words:Mike",
        "call": "hammer",
        "position": "mike",
        "job": "",
        "guess": 0.0,
        "changed_at": None,
    },
}


def to_first(store: Store) -> set[str]:
    """Make the tables of the first version and insert the rows with plain SQL; return the names of the tables."""
    with store.writing() as connection:
        config = migration_config()
        config.attributes["connection"] = connection
        command.upgrade(config, "0001")
        for table, row in FIRST.items():
            names = ", ".join(f'"{name}"' for name in row)
            slots = ", ".join(f":{name}" for name in row)
            values = {name: json.dumps(one) if isinstance(one, list) else one for name, one in row.items()}
            connection.execute(text(f'INSERT INTO "{table.__tablename__}" ({names}) VALUES ({slots})'), values)
        return set(inspect(connection).get_table_names()) - {"alembic_version"}


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)])
def empty(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Store]:
    """A database without tables."""
    url = "" if request.param == "sqlite" else request.getfixturevalue("empty_postgres_url")
    store = open_store(load_settings(data_dir=tmp_path, database_url=url))
    yield store
    store.close()


def test_a_filled_first_version_migrates_with_all_its_rows(empty: Store) -> None:
    assert to_first(empty) == {table.__tablename__ for table in FIRST}
    assert not empty.is_ready()
    empty.migrate()
    assert empty.is_ready()
    with Session(empty.engine) as session:
        for table, row in FIRST.items():
            [found] = session.exec(select(table)).all()
            expected = {name: MOMENTS.get(one, one) if isinstance(one, int) else one for name, one in row.items()}
            expected |= SINCE.get(table, {})
            assert {name: getattr(found, name) for name in table.model_fields} == expected, table


CONTENT = {
    "positions.toml": '[[position]]\nname = "Nose tackle"\n[[position]]\nname = "Mike"\n',
    "plays.toml": '[[play]]\nname = "Power O"\n[[protection]]\nname = "Half slide"\n',
    "formations.toml": '[[formation]]\nname = "Trips right"\nmirror = "Trips left"\n',
    "pressures.toml": "no TOML at all",
}
CHOICES = [{"id": "a", "key": "man:Nose tackle"}, {"id": "b", "key": "man:nobody"}, {"id": "c", "key": "lane:left A"}]


def to_names(store: Store) -> None:
    """A database of the form before keys: nouns by name."""
    to_first(store)
    rows = {
        "content_file": [{"team_id": "t1", "path": path, "text": text} for path, text in CONTENT.items()],
        "opponent": [
            {
                "team_id": "t1", "id": "o1", "name": "Oakdale", "changed_at": 1, "is_next": False, "stage_counts": "{}",
                "play_counts": json.dumps({"Power O": 3.0, "Jet Sweep": 2.0, "Any pass": 1.0}),
            },
        ],
        "play_word": [
            {"team_id": "t1", "word": "pwr", "play": "Power O"},
            {"team_id": "t1", "word": "jet", "play": "+"},
        ],
    }  # fmt: skip
    with store._for_writing.connect() as connection, references_off(connection), connection.begin():
        config = migration_config()
        config.attributes["connection"] = connection
        command.upgrade(config, "0005")
        connection.execute(text("DELETE FROM content_file"))
        for name, some in rows.items():
            for row in some:
                columns, slots = ", ".join(row), ", ".join(f":{column}" for column in row)
                connection.execute(text(f"INSERT INTO {name} ({columns}) VALUES ({slots})"), row)
        parts = json.dumps([{"prompt": "Who?", "choices": CHOICES, "right": ["a", "b"]}])
        connection.execute(
            text("UPDATE rep_shown SET parts = :parts, formation = 'Trips right', play = 'Power O', play_to = 'left'"),
            {"parts": parts},
        )
        connection.execute(text("UPDATE answer SET chosen_key = 'lane:left A · man:Nose tackle | man:nobody'"))
        connection.execute(text("UPDATE answer SET right_key = 'man:Nose tackle | man:nobody'"))


def test_names_become_keys(empty: Store) -> None:
    to_names(empty)
    empty.migrate()
    with empty.read("t1") as t:
        [rep], [answer], [member], [assignment] = t.rows(KeptRep), t.rows(Answer), t.rows(Member), t.rows(Assignment)
        assert (rep.position, rep.call, rep.formation, rep.play) == ("mike", "hammer", "trips-right", "power-o")
        assert [c["key"] for c in rep.parts[0]["choices"]] == ["man:nose-tackle", "man:nobody", "lane:left A"]
        assert (answer.call, answer.position) == ("hammer", "mike")
        assert answer.chosen_key == "lane:left A · man:nobody | man:nose-tackle"
        assert answer.right_key == "man:nobody | man:nose-tackle"
        assert (member.positions, assignment.call, assignment.positions) == (["mike", "will"], "hammer", ["mike"])
        [foe] = t.rows(Opponent)
        assert [*map(tuple, foe.runs)] == [
            ("power-o", "", "", 3.0), ("Jet Sweep", "", "", 2.0), ("Any pass", "", "", 1.0),
        ]  # fmt: skip
        assert foe.key == "oakdale"
        assert {row.word: row.play for row in t.rows(PlayWord)} == {"pwr": "power-o", "jet": "+"}
        names = read_names(t)
        assert (names.position("will"), names.call("hammer"), names.play("half-slide")) == (
            "Will",
            "Hammer",
            "Half slide",
        )
        assert (names.formation("trips-left"), names.play("power-o")) == ("Trips left", "Power O")
        situation = ("mike", "hammer", "left", "trips-right", "power-o", "left")
        right = [["man:nose-tackle", "man:nobody"]]
        assert rep.job == answer.job == job_id(rep.kind, situation, right) != ""


def test_foreign_keys_hold_after_it(empty: Store) -> None:
    to_first(empty)
    empty.migrate()
    if empty.engine.dialect.name == "sqlite":
        with empty.engine.connect() as connection:
            assert connection.exec_driver_sql("PRAGMA foreign_keys").scalar() == 1
    with empty.write("t1") as t:
        t.delete(t.get(Member, "m1"))
        assert (t.count(Answer), t.count(SetRep), t.count(PlayerSet), t.count(SignIn)) == (0, 0, 0, 0)
        assert t.count(Assignment) == 1


def test_there_is_no_way_down() -> None:
    """A version is left by restoring the backup made before it: a step down would throw answers away."""
    steps = (Path(migration_config().get_main_option("script_location") or "") / "versions").glob("[0-9]*.py")
    assert [path.name for path in steps if "def downgrade" in path.read_text(encoding="utf-8")] == []
