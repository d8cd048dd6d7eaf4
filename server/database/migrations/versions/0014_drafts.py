"""A team's draft is kept edit by edit, and every content that was installed is kept as a version."""

import sqlalchemy as sa
from alembic import op

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Create the tables."""
    op.create_table(
        "draft_edit",
        sa.Column("team_id", sa.String(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        *(sa.Column(name, sa.String(), nullable=False) for name in ("coach_id", "state")),
        sa.Column("edit", sa.JSON(), nullable=False),
        sa.Column("made_at", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["team_id"], ["team.id"], name=op.f("fk_draft_edit_team"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("team_id", "number", name=op.f("pk_draft_edit")),
    )
    op.create_table(
        "content_version",
        sa.Column("team_id", sa.String(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        *(sa.Column(name, sa.String(), nullable=False) for name in ("coach_id", "note", "content_hash")),
        *(sa.Column(name, sa.JSON(), nullable=False) for name in ("files", "edits")),
        sa.Column("installed_at", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["team_id"], ["team.id"], name=op.f("fk_content_version_team"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("team_id", "number", name=op.f("pk_content_version")),
    )
