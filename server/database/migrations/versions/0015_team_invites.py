"""A team can begin in the browser, by an address that works once."""

import sqlalchemy as sa
from alembic import op

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Create the table."""
    op.create_table(
        "team_invite",
        *(sa.Column(name, sa.String(), nullable=False) for name in ("team_id", "token_hash")),
        *(sa.Column(name, sa.BigInteger(), nullable=False) for name in ("made_at", "expires_at")),
        sa.Column("used_at", sa.BigInteger(), nullable=True),
        sa.PrimaryKeyConstraint("team_id", name=op.f("pk_team_invite")),
    )
