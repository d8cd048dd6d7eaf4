"""Check sessions and single players in a set; pictures of wrong answers; opponents; days of practice."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    add_to_assignment()
    op.create_table(
        "miss_shown",
        sa.Column("team_id", sa.String(), nullable=False),
        sa.Column("rep_id", sa.String(), nullable=False),
        sa.Column("chosen", sa.String(), nullable=False),
        sa.Column("svg", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["team_id"], ["team.id"], name=op.f("fk_miss_shown_team"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(
            ["team_id", "rep_id"], ["rep_shown.team_id", "rep_shown.rep_id"], name=op.f("fk_miss_shown_rep_shown")
        ),
        sa.PrimaryKeyConstraint("team_id", "rep_id", "chosen", name=op.f("pk_miss_shown")),
    )
    op.create_table(
        "opponent",
        sa.Column("team_id", sa.String(), nullable=False),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("play_counts", sa.JSON(), nullable=False),
        sa.Column("stage_counts", sa.JSON(), nullable=False),
        sa.Column("is_next", sa.Boolean(), nullable=False),
        sa.Column("changed_at", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["team_id"], ["team.id"], name=op.f("fk_opponent_team"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("team_id", "id", name=op.f("pk_opponent")),
    )
    op.create_table(
        "practice_day",
        sa.Column("team_id", sa.String(), nullable=False),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("weekday", sa.Integer(), nullable=False),
        sa.Column("due", sa.String(), nullable=False),
        sa.Column("purpose", sa.String(), nullable=False),
        sa.Column("stages", sa.JSON(), nullable=False),
        sa.Column("sides", sa.JSON(), nullable=False),
        sa.Column("length", sa.Integer(), nullable=False),
        sa.Column("is_weighted", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(["team_id"], ["team.id"], name=op.f("fk_practice_day_team"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("team_id", "id", name=op.f("pk_practice_day")),
    )


def add_to_assignment() -> None:
    """Older sets have a number of reps, go to everybody at their positions, and are not weighted."""
    columns = (
        ("purpose", sa.String(), sa.literal("reps")),
        ("player_ids", sa.JSON(), sa.text("'[]'")),
        ("is_weighted", sa.Boolean(), sa.false()),
    )
    for name, kind, default in columns:
        with op.batch_alter_table("assignment") as batch:
            batch.add_column(sa.Column(name, kind, nullable=False, server_default=default))
        with op.batch_alter_table("assignment") as batch:
            batch.alter_column(name, existing_type=kind, existing_nullable=False, server_default=None)
