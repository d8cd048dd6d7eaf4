"""A player who leaves at a season's end is erased after a day of grace."""

import sqlalchemy as sa
from alembic import op

revision = "0016"
down_revision = "0015"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the column."""
    op.add_column("member", sa.Column("erase_at", sa.BigInteger(), nullable=True))
