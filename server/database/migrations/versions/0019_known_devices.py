"""Devices on which a member signed in before, so that others' wrong tries don't shut them out."""

import sqlalchemy as sa
from alembic import op

revision = "0019"
down_revision = "0018"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Create the table."""
    op.create_table(
        "known_device",
        *(sa.Column(name, sa.String(), nullable=False) for name in ("team_id", "key_hash", "member_id")),
        sa.Column("seen_at", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(
            ["team_id", "member_id"],
            ["member.team_id", "member.id"],
            name=op.f("fk_known_device_member"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("team_id", "key_hash", "member_id", name=op.f("pk_known_device")),
    )
