"""Answers store the keys of their choices instead of their English words.

Choices stored before had no key. Theirs is made from their words, so that old answers still count together; newer reps
have ids of their own.
"""

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

ROWS_PER_STATEMENT = 500
#: How choices began that go on in small letters within a sentence.
OPENINGS = ("Between the ", "Outside the ", "Left ", "Right ")

reps = sa.table("rep_shown", sa.column("team_id"), sa.column("rep_id"), sa.column("parts", sa.JSON()))
answers = sa.table(
    "answer",
    *(sa.column(name) for name in ("team_id", "member_id", "id", "rep_id", "chosen_key", "right_key")),
    sa.column("chosen", sa.JSON()),
)


def upgrade() -> None:
    """Choices of stored reps get a key and their words within a sentence, answers the keys of what they are about."""
    with op.batch_alter_table("answer") as table:
        for name in ("chosen_key", "right_key"):
            table.add_column(sa.Column(name, sa.Text(), nullable=False, server_default=""))
    connection = op.get_bind()
    parts_of = {}
    for team_id, rep_id, parts in connection.execute(sa.select(reps)).all():
        parts_of[team_id, rep_id] = [with_keys(part) for part in parts]
    own_rep = sa.and_(reps.c.team_id == sa.bindparam("team"), reps.c.rep_id == sa.bindparam("rep"))
    store(
        connection,
        sa.update(reps).where(own_rep).values(parts=sa.bindparam("found")),
        [{"team": team, "rep": rep, "found": parts} for (team, rep), parts in parts_of.items()],
    )
    own = [answers.c[name] == sa.bindparam(f"own_{name}") for name in ("team_id", "member_id", "id")]
    wanted = [answers.c[name] for name in ("team_id", "member_id", "id", "rep_id", "chosen")]
    store(
        connection,
        sa.update(answers).where(*own).values(chosen_key=sa.bindparam("took"), right_key=sa.bindparam("right")),
        [
            {
                "own_team_id": team_id,
                "own_member_id": member_id,
                "own_id": answer_id,
                "took": key_of([[one] for one in chosen], parts_of[team_id, rep_id]),
                "right": key_of([part["right"] for part in parts_of[team_id, rep_id]], parts_of[team_id, rep_id]),
            }
            for team_id, member_id, answer_id, rep_id, chosen in connection.execute(sa.select(*wanted)).all()
        ],
    )
    with op.batch_alter_table("answer") as table:
        for name in ("chosen_key", "right_key"):
            table.alter_column(name, server_default=None, existing_type=sa.Text(), existing_nullable=False)


def store(connection: sa.Connection, statement: Any, rows: list[dict[str, Any]]) -> None:
    """Run a statement for each of these rows."""
    for start in range(0, len(rows), ROWS_PER_STATEMENT):
        connection.execute(statement, rows[start : start + ROWS_PER_STATEMENT])


def with_keys(part: dict[str, Any]) -> dict[str, Any]:
    """A part whose choices have a key, and their words within a sentence."""
    choices = []
    for choice in part["choices"]:
        label = choice["label"]
        phrase = label[0].lower() + label[1:] if label.startswith(OPENINGS) else label
        choices.append({"key": f"words:{label}", "phrase": phrase} | choice)
    return {**part, "choices": choices}


def key_of(ids: list[list[str]], parts: list[dict[str, Any]]) -> str:
    """As `server.answers.recording.key_of` makes it."""
    return " · ".join(
        " | ".join(sorted(choice["key"] for choice in part["choices"] if choice["id"] in wanted))
        for part, wanted in zip(parts, ids, strict=True)
    )
