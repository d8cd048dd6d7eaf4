"""Meetings: the snap that is on, and the snaps as they are shown."""

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None

OF_ASSIGNMENT = (["team_id", "assignment_id"], ["assignment.team_id", "assignment.id"])


def upgrade() -> None:
    """Create the two tables."""
    op.create_table(
        "meeting",
        *(sa.Column(name, sa.String(), nullable=False) for name in ("team_id", "assignment_id")),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("phase", sa.String(), nullable=False),
        sa.Column("seen", sa.Integer(), nullable=False),
        sa.Column("changed_at", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(*OF_ASSIGNMENT, name=op.f("fk_meeting_assignment"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("team_id", "assignment_id", name=op.f("pk_meeting")),
    )
    op.create_table(
        "meeting_snap",
        *(sa.Column(name, sa.String(), nullable=False) for name in ("team_id", "assignment_id")),
        sa.Column("place", sa.Integer(), nullable=False),
        *(sa.Column(name, sa.String(), nullable=False) for name in ("digest", "heading", "offense", "formation")),
        *(sa.Column(name, sa.JSON(), nullable=False) for name in ("reps", "own_fit", "lanes", "what_ifs")),
        *(sa.Column(name, sa.Text(), nullable=False) for name in ("question_svg", "fits_svg")),
        sa.ForeignKeyConstraint(*OF_ASSIGNMENT, name=op.f("fk_meeting_snap_assignment"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("team_id", "assignment_id", "place", name=op.f("pk_meeting_snap")),
    )
