"""A player's state on the call when he opened a set and when he finished it."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Empty for older sets: it was not stored."""
    for name in ("state_before", "state_after"):
        with op.batch_alter_table("player_set") as batch:
            batch.add_column(sa.Column(name, sa.String(), nullable=False, server_default=""))
        with op.batch_alter_table("player_set") as batch:
            batch.alter_column(name, existing_type=sa.String(), existing_nullable=False, server_default=None)
