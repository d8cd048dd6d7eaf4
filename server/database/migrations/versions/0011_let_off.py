"""Players who had a set until a coach changed who gets it."""

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the column to the sets."""
    with op.batch_alter_table("assignment") as changed:
        changed.add_column(sa.Column("let_off", sa.JSON(), nullable=False, server_default="[]"))
    with op.batch_alter_table("assignment") as changed:
        changed.alter_column("let_off", server_default=None)
