"""Answers about a job that the content has changed since are marked."""

import sqlalchemy as sa
from alembic import op

revision = "0018"
down_revision = "0017"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the columns."""
    op.add_column("answer", sa.Column("changed_at", sa.BigInteger(), nullable=True))
    op.add_column("rep_shown", sa.Column("changed_at", sa.BigInteger(), nullable=True))
    with op.batch_alter_table("rep_shown") as changed:
        changed.add_column(sa.Column("checked_hash", sa.String(), nullable=False, server_default=""))
    with op.batch_alter_table("rep_shown") as changed:
        changed.alter_column("checked_hash", server_default=None)
