"""The reps worth asking and the call-blind rates, so that a start doesn't work them out again; a rep and an answer hold
the rate of its kind and position."""

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the column, empty for the rows there are."""
    with op.batch_alter_table("call_families") as changed:
        changed.add_column(sa.Column("drill", sa.JSON(), nullable=False, server_default="{}"))
    with op.batch_alter_table("call_families") as changed:
        changed.alter_column("drill", server_default=None)
    for name in ("rep_shown", "answer"):
        with op.batch_alter_table(name) as changed:
            changed.add_column(sa.Column("guess", sa.Float(), nullable=False, server_default="0"))
        with op.batch_alter_table(name) as changed:
            changed.alter_column("guess", server_default=None)
