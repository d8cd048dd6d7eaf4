"""Positions, calls, formations and plays by their keys, where they stood by name; the job that an answer was about.

A noun's key is the slug of its first name, so the key of everything stored before is the slug of the name it has. The
names go into a table of their own. A job can be worked out where the choices have keys; where they were only words
(before 0005), it stays empty, which says unknown.
"""

import json
import re
import tomllib
import unicodedata
from collections.abc import Callable, Iterable
from hashlib import sha256
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None

AT_ONCE = 500
BETWEEN_PARTS, BETWEEN_RIGHTS = " · ", " | "
MAN, WORDS, NOBODY = "man:", "words:", "man:nobody"
Key = Callable[[str, str], str]
"""Kind and name -> key; the name is noted."""


def table(name: str, texts: str, lists: str = "") -> sa.TableClause:
    """A table with these columns."""
    columns: list[sa.ColumnClause[Any]] = [sa.column(one, sa.String()) for one in texts.split()]
    return sa.table(name, *columns, *(sa.column(one, sa.JSON()) for one in lists.split()))


files = table("content_file", "team_id path text")
names = table("noun_name", "team_id kind key name")
members = table("member", "team_id id", "positions")
sets = table("assignment", "team_id id call", "positions")
reps = table("rep_shown", "team_id rep_id kind position call to formation play play_to job", "parts")
answers = table("answer", "team_id member_id id rep_id call position chosen_key right_key job")
opponents = table("opponent", "team_id id", "play_counts")
words = table("play_word", "team_id word play")


def upgrade() -> None:
    """Names become keys in every row; stored reps and answers get their job."""
    op.create_table(
        "noun_name",
        *(sa.Column(name, sa.String(), nullable=False) for name in ("team_id", "kind", "key", "name")),
        sa.ForeignKeyConstraint(["team_id"], ["team.id"], name="fk_noun_name_team", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("team_id", "kind", "key", name="pk_noun_name"),
    )
    for name in ("rep_shown", "answer"):
        with op.batch_alter_table(name) as changed:
            changed.add_column(sa.Column("job", sa.String(), nullable=False, server_default=""))
    connection = op.get_bind()
    connection.execute(sa.text("DELETE FROM call_families"))  # by name; they are compared again
    for (team_id,) in connection.execute(sa.text("SELECT id FROM team")).all():
        convert_team(connection, team_id)
    for name in ("rep_shown", "answer"):
        with op.batch_alter_table(name) as changed:
            changed.alter_column("job", server_default=None, existing_type=sa.String(), existing_nullable=False)


def convert_team(connection: sa.Connection, team_id: str) -> None:
    """One team's rows."""
    found: dict[tuple[str, str], str] = {}

    def key(kind: str, name: str) -> str:
        own = slug(name) or name
        found.setdefault((kind, own), name)
        return own

    plays = set()
    for kind, name in content_names(connection, team_id):
        key(kind, name)
        plays |= {name} if kind == "play" else set()

    def play_key(name: str) -> str:
        return key("play", name) if name in plays else name

    def each(changed: sa.TableClause, own: tuple[str, ...], new: Callable[[Any], dict[str, Any]]) -> None:
        rows = connection.execute(sa.select(changed).where(changed.c.team_id == team_id)).all()
        at = [changed.c.team_id == team_id, *(changed.c[name] == sa.bindparam(f"own_{name}") for name in own)]
        values = [{f"own_{name}": getattr(row, name) for name in own} | prefixed(new(row)) for row in rows]
        if values:
            columns = [name.removeprefix("new_") for name in values[0] if name.startswith("new_")]
            statement = sa.update(changed).where(*at).values({name: sa.bindparam(f"new_{name}") for name in columns})
            for start in range(0, len(values), AT_ONCE):
                connection.execute(statement, values[start : start + AT_ONCE])

    def positions(row: Any) -> list[str]:
        return [key("position", name) for name in row.positions]

    each(members, ("id",), lambda row: {"positions": positions(row)})
    each(sets, ("id",), lambda row: {"call": key("call", row.call), "positions": positions(row)})
    jobs: dict[str, str] = {}

    def rep(row: Any) -> dict[str, Any]:
        new = {
            "position": key("position", row.position),
            "call": key("call", row.call),
            "formation": key("formation", row.formation),
            "play": None if row.play is None else key("play", row.play),
            "parts": [with_man_keys(part, key) for part in row.parts],
        }
        jobs[row.rep_id] = new["job"] = job_of(row, new)
        return new

    each(reps, ("rep_id",), rep)
    each(
        answers,
        ("member_id", "id"),
        lambda row: {
            "call": key("call", row.call),
            "position": key("position", row.position),
            "chosen_key": joined_keys(row.chosen_key, key),
            "right_key": joined_keys(row.right_key, key),
            "job": jobs.get(row.rep_id, ""),
        },
    )
    each(opponents, ("id",), lambda row: {"play_counts": {play_key(name): n for name, n in row.play_counts.items()}})
    each(words, ("word",), lambda row: {"play": play_key(row.play)})
    rows = [{"team_id": team_id, "kind": kind, "key": own, "name": name} for (kind, own), name in found.items()]
    if rows:
        connection.execute(sa.insert(names), rows)


def prefixed(values: dict[str, Any]) -> dict[str, Any]:
    """Values under names that no column has."""
    return {f"new_{name}": value for name, value in values.items()}


def content_names(connection: sa.Connection, team_id: str) -> Iterable[tuple[str, str]]:
    """Kind and name of the nouns in a team's files; a file that is no TOML has none."""
    where = {
        "positions.toml": (("position", "position", "name"),),
        "pressures.toml": (("call", "pressure", "name"),),
        "formations.toml": (("formation", "formation", "name"), ("formation", "formation", "mirror")),
        "plays.toml": (("play", "play", "name"), ("play", "protection", "name")),
    }
    for row in connection.execute(sa.select(files).where(files.c.team_id == team_id)).all():
        try:
            content = tomllib.loads(row.text) if row.path in where else {}
        except tomllib.TOMLDecodeError:
            continue
        for kind, rows, name in where.get(row.path, ()):
            listed = content.get(rows)
            for one in listed if isinstance(listed, list) else []:
                if isinstance(one, dict) and isinstance(one.get(name), str):
                    yield kind, one[name]


def with_man_keys(part: dict[str, Any], key: Key) -> dict[str, Any]:
    """A part of a rep whose men are known by the keys of their positions."""
    return {**part, "choices": [{**one, "key": choice_key(one["key"], key)} for one in part["choices"]]}


def choice_key(old: str, key: Key) -> str:
    """A choice's key; that of a man holds his position."""
    return MAN + key("position", old.removeprefix(MAN)) if old.startswith(MAN) and old != NOBODY else old


def joined_keys(old: str, key: Key) -> str:
    """The keys of an answer's choices, as `server.answers.recording.key_of` joins them."""
    parts = ([choice_key(one, key) for one in part.split(BETWEEN_RIGHTS)] for part in old.split(BETWEEN_PARTS))
    return BETWEEN_PARTS.join(BETWEEN_RIGHTS.join(sorted(part)) for part in parts)


def job_of(row: Any, new: dict[str, Any]) -> str:
    """As `quizgen.reps.ids.job_id` makes it; empty where the choices are only words."""
    right = [sorted(one["key"] for one in part["choices"] if one["id"] in part["right"]) for part in new["parts"]]
    if any(one.startswith(WORDS) for part in right for one in part):
        return ""
    situation = [new["position"], new["call"], row.to, new["formation"], new["play"], row.play_to]
    text = json.dumps([row.kind, situation, right], sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return sha256(text.encode()).hexdigest()[:16]


def slug(name: str) -> str:
    """As `quizgen.football.keys.slug` made it in November 2026."""
    for _ in range(2):
        name = unicodedata.normalize("NFKD", unicodedata.normalize("NFKD", name).casefold())
        name = "".join(letter for letter in name if not unicodedata.combining(letter))
    parts = re.split(r"[\W_]+", re.sub(r"(?<=\d),(?=\d)", "", name))
    return "-".join(filter(None, parts))[:60].strip("-")
