"""What a coach said that the words of his play lists mean."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """An empty table."""
    op.create_table(
        "play_word",
        sa.Column("team_id", sa.String(), nullable=False),
        sa.Column("word", sa.String(), nullable=False),
        sa.Column("play", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["team_id"], ["team.id"], name=op.f("fk_play_word_team"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("team_id", "word", name=op.f("pk_play_word")),
    )
