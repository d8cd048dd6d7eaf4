"""The families of a team's calls, so that a start doesn't compare them again."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Create the table."""
    op.create_table(
        "call_families",
        sa.Column("team_id", sa.String(), nullable=False),
        sa.Column("made_from", sa.String(), nullable=False),
        sa.Column("families", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["team_id"], ["team.id"], name=op.f("fk_call_families_team"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("team_id", name=op.f("pk_call_families")),
    )
