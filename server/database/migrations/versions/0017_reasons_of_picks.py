"""Each rep of a player's set keeps why it was picked for him."""

import sqlalchemy as sa
from alembic import op

revision = "0017"
down_revision = "0016"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the column; rows of before have no reason."""
    with op.batch_alter_table("set_rep") as changed:
        changed.add_column(sa.Column("why", sa.String(), nullable=False, server_default=""))
    with op.batch_alter_table("set_rep") as changed:
        changed.alter_column("why", server_default=None)
