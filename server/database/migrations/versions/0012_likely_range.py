"""How many of ten a player can likely name, after a check session; unknown for those before."""

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the two columns."""
    with op.batch_alter_table("player_set") as changed:
        changed.add_column(sa.Column("likely_low", sa.Integer(), nullable=True))
        changed.add_column(sa.Column("likely_high", sa.Integer(), nullable=True))
