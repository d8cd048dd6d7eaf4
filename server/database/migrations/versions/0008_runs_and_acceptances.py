"""What opponents run by formation and side, under a key of their own; what the staff accepts; words for formations.

What was counted so far has neither formation nor side. Keys are slugs of the names; where two opponents' names give one
slug, the later by id gets its id as key.
"""

from collections import defaultdict
from importlib import import_module

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None

slug = import_module("server.database.migrations.versions.0007_keys_of_nouns").slug
opponents = sa.table(
    "opponent",
    *(sa.column(name, sa.String()) for name in ("team_id", "id", "name", "key")),
    sa.column("play_counts", sa.JSON()),
    sa.column("runs", sa.JSON()),
)


def upgrade() -> None:
    """Change the opponents; create the two tables."""
    with op.batch_alter_table("opponent") as changed:
        changed.add_column(sa.Column("key", sa.String(), nullable=False, server_default=""))
        changed.add_column(sa.Column("runs", sa.JSON(), nullable=False, server_default="[]"))
    connection, c = op.get_bind(), opponents.c
    used: dict[str, set[str]] = defaultdict(set)
    rows = connection.execute(sa.select(c.team_id, c.id, c.name, c.play_counts).order_by(c.team_id, c.id)).all()
    for team_id, own_id, name, counts in rows:
        key = slug(name)
        key = own_id if not key or key in used[team_id] else key
        used[team_id].add(key)
        runs = [[play, "", "", count] for play, count in counts.items()]
        connection.execute(sa.update(opponents).where(c.team_id == team_id, c.id == own_id).values(key=key, runs=runs))
    with op.batch_alter_table("opponent") as changed:
        changed.drop_column("play_counts")
        changed.alter_column("key", server_default=None)
        changed.alter_column("runs", server_default=None)
        changed.create_unique_constraint(op.f("uq_opponent_team_id_key"), ["team_id", "key"])
    snap = ("team_id", "call", "to", "formation", "play", "play_to")
    op.create_table(
        "acceptance",
        *(sa.Column(name, sa.String(), nullable=False) for name in (*snap, "id")),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("lack", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["team_id"], ["team.id"], name=op.f("fk_acceptance_team"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint(*snap, name=op.f("pk_acceptance")),
    )
    op.create_table(
        "formation_word",
        *(sa.Column(name, sa.String(), nullable=False) for name in ("team_id", "word", "formation")),
        sa.ForeignKeyConstraint(["team_id"], ["team.id"], name=op.f("fk_formation_word_team"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("team_id", "word", name=op.f("pk_formation_word")),
    )
