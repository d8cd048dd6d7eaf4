"""Erasing results waits for a confirmation or a day; what is known about it is kept for each team."""

import sqlalchemy as sa
from alembic import op

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Create the table."""
    op.create_table(
        "erasing",
        *(sa.Column(name, sa.String(), nullable=False) for name in ("team_id", "season_end")),
        *(sa.Column(name, sa.BigInteger(), nullable=False) for name in ("seen_at", "checked_at")),
        *(sa.Column(name, sa.String(), nullable=False) for name in ("state", "reason")),
        sa.Column("erase_at", sa.BigInteger(), nullable=True),
        sa.Column("asked_by", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["team_id"], ["team.id"], name=op.f("fk_erasing_team"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("team_id", name=op.f("pk_erasing")),
    )
