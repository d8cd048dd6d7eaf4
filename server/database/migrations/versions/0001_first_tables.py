"""The first tables."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "failed_try",
        sa.Column("team_id", sa.String(), nullable=False),
        sa.Column("subject", sa.String(), nullable=False),
        sa.Column("stretch", sa.String(), nullable=False),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("ends_at", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("team_id", "subject", "stretch", name=op.f("pk_failed_try")),
    )
    op.create_table(
        "team",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("join_code", sa.String(), nullable=False),
        sa.Column("time_zone", sa.String(), nullable=False),
        sa.Column("season_end", sa.String(), nullable=False),
        sa.Column("content_hash", sa.String(), nullable=False),
        sa.Column("created_at", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_team")),
        sa.UniqueConstraint("join_code", name=op.f("uq_team_join_code")),
    )
    op.create_table(
        "assignment",
        sa.Column("team_id", sa.String(), nullable=False),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("call", sa.String(), nullable=False),
        sa.Column("positions", sa.JSON(), nullable=False),
        sa.Column("stages", sa.JSON(), nullable=False),
        sa.Column("sides", sa.JSON(), nullable=False),
        sa.Column("length", sa.Integer(), nullable=False),
        sa.Column("due_at", sa.BigInteger(), nullable=False),
        sa.Column("created_at", sa.BigInteger(), nullable=False),
        sa.Column("created_by", sa.String(), nullable=False),
        sa.Column("closed_at", sa.BigInteger(), nullable=True),
        sa.ForeignKeyConstraint(["team_id"], ["team.id"], name=op.f("fk_assignment_team"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("team_id", "id", name=op.f("pk_assignment")),
    )
    with op.batch_alter_table("assignment", schema=None) as batch_op:
        batch_op.create_index("ix_assignment_created", ["team_id", "created_at"], unique=False)

    op.create_table(
        "audit_entry",
        sa.Column("team_id", sa.String(), nullable=False),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("at", sa.BigInteger(), nullable=False),
        sa.Column("member_id", sa.String(), nullable=False),
        sa.Column("action", sa.String(), nullable=False),
        sa.Column("subject", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["team_id"], ["team.id"], name=op.f("fk_audit_entry_team"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("team_id", "id", name=op.f("pk_audit_entry")),
    )
    with op.batch_alter_table("audit_entry", schema=None) as batch_op:
        batch_op.create_index("ix_audit_entry_at", ["team_id", "at"], unique=False)

    op.create_table(
        "content_file",
        sa.Column("team_id", sa.String(), nullable=False),
        sa.Column("path", sa.String(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["team_id"], ["team.id"], name=op.f("fk_content_file_team"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("team_id", "path", name=op.f("pk_content_file")),
    )
    op.create_table(
        "member",
        sa.Column("team_id", sa.String(), nullable=False),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("role", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=True),
        sa.Column("positions", sa.JSON(), nullable=False),
        sa.Column("groups", sa.JSON(), nullable=False),
        sa.Column("sign_in_name", sa.String(), nullable=True),
        sa.Column("secret_hash", sa.String(), nullable=False),
        sa.Column("created_at", sa.BigInteger(), nullable=False),
        sa.Column("removed_at", sa.BigInteger(), nullable=True),
        sa.ForeignKeyConstraint(["team_id"], ["team.id"], name=op.f("fk_member_team"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("team_id", "id", name=op.f("pk_member")),
    )
    with op.batch_alter_table("member", schema=None) as batch_op:
        batch_op.create_index(
            "uq_member_number",
            ["team_id", "number"],
            unique=True,
            sqlite_where=sa.text("removed_at IS NULL"),
            postgresql_where=sa.text("removed_at IS NULL"),
        )
        batch_op.create_index(
            "uq_member_sign_in_name",
            ["team_id", "sign_in_name"],
            unique=True,
            sqlite_where=sa.text("removed_at IS NULL"),
            postgresql_where=sa.text("removed_at IS NULL"),
        )

    op.create_table(
        "rep_shown",
        sa.Column("team_id", sa.String(), nullable=False),
        sa.Column("rep_id", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("stage", sa.Integer(), nullable=False),
        sa.Column("position", sa.String(), nullable=False),
        sa.Column("call", sa.String(), nullable=False),
        sa.Column("to", sa.String(), nullable=False),
        sa.Column("formation", sa.String(), nullable=False),
        sa.Column("play", sa.String(), nullable=True),
        sa.Column("play_to", sa.String(), nullable=True),
        sa.Column("stem", sa.Text(), nullable=False),
        sa.Column("parts", sa.JSON(), nullable=False),
        sa.Column("because", sa.Text(), nullable=False),
        sa.Column("picture", sa.String(), nullable=False),
        sa.Column("guise", sa.String(), nullable=False),
        sa.Column("before_svg", sa.Text(), nullable=False),
        sa.Column("after_svg", sa.Text(), nullable=False),
        sa.Column("first_at", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["team_id"], ["team.id"], name=op.f("fk_rep_shown_team"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("team_id", "rep_id", name=op.f("pk_rep_shown")),
    )
    op.create_table(
        "answer",
        sa.Column("team_id", sa.String(), nullable=False),
        sa.Column("member_id", sa.String(), nullable=False),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("assignment_id", sa.String(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("rep_id", sa.String(), nullable=False),
        sa.Column("attempt", sa.Integer(), nullable=False),
        sa.Column("chosen", sa.JSON(), nullable=False),
        sa.Column("is_right", sa.Boolean(), nullable=False),
        sa.Column("is_late", sa.Boolean(), nullable=False),
        sa.Column("received_at", sa.BigInteger(), nullable=False),
        sa.Column("took_ms", sa.Integer(), nullable=True),
        sa.Column("call", sa.String(), nullable=False),
        sa.Column("stage", sa.Integer(), nullable=False),
        sa.Column("side", sa.String(), nullable=False),
        sa.Column("position", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("choices", sa.Integer(), nullable=False),
        sa.Column("chosen_words", sa.Text(), nullable=False),
        sa.Column("right_words", sa.Text(), nullable=False),
        sa.Column("relation", sa.String(), nullable=False),
        sa.Column("explanation", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["team_id", "assignment_id"],
            ["assignment.team_id", "assignment.id"],
            name=op.f("fk_answer_assignment"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["team_id", "member_id"], ["member.team_id", "member.id"], name=op.f("fk_answer_member"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["team_id", "rep_id"], ["rep_shown.team_id", "rep_shown.rep_id"], name=op.f("fk_answer_rep_shown")
        ),
        sa.PrimaryKeyConstraint("team_id", "member_id", "id", name=op.f("pk_answer")),
        sa.UniqueConstraint(
            "team_id", "assignment_id", "member_id", "rep_id", "attempt", name="uq_answer_once_a_set_rep_attempt"
        ),
    )
    with op.batch_alter_table("answer", schema=None) as batch_op:
        batch_op.create_index("ix_answer_received", ["team_id", "received_at"], unique=False)

    op.create_table(
        "player_set",
        sa.Column("team_id", sa.String(), nullable=False),
        sa.Column("assignment_id", sa.String(), nullable=False),
        sa.Column("member_id", sa.String(), nullable=False),
        sa.Column("opened_at", sa.BigInteger(), nullable=False),
        sa.Column("finished_at", sa.BigInteger(), nullable=True),
        sa.ForeignKeyConstraint(
            ["team_id", "assignment_id"],
            ["assignment.team_id", "assignment.id"],
            name=op.f("fk_player_set_assignment"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["team_id", "member_id"],
            ["member.team_id", "member.id"],
            name=op.f("fk_player_set_member"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("team_id", "assignment_id", "member_id", name=op.f("pk_player_set")),
    )
    op.create_table(
        "set_rep",
        sa.Column("team_id", sa.String(), nullable=False),
        sa.Column("assignment_id", sa.String(), nullable=False),
        sa.Column("member_id", sa.String(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("rep_id", sa.String(), nullable=False),
        sa.Column("again_of", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(
            ["team_id", "assignment_id"],
            ["assignment.team_id", "assignment.id"],
            name=op.f("fk_set_rep_assignment"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["team_id", "member_id"],
            ["member.team_id", "member.id"],
            name=op.f("fk_set_rep_member"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["team_id", "rep_id"], ["rep_shown.team_id", "rep_shown.rep_id"], name=op.f("fk_set_rep_rep_shown")
        ),
        sa.PrimaryKeyConstraint("team_id", "assignment_id", "member_id", "place", name=op.f("pk_set_rep")),
    )
    op.create_table(
        "sign_in",
        sa.Column("team_id", sa.String(), nullable=False),
        sa.Column("token_hash", sa.String(), nullable=False),
        sa.Column("member_id", sa.String(), nullable=False),
        sa.Column("created_at", sa.BigInteger(), nullable=False),
        sa.Column("seen_at", sa.BigInteger(), nullable=False),
        sa.Column("ends_at", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(
            ["team_id", "member_id"],
            ["member.team_id", "member.id"],
            name=op.f("fk_sign_in_member"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("team_id", "token_hash", name=op.f("pk_sign_in")),
    )
    with op.batch_alter_table("sign_in", schema=None) as batch_op:
        batch_op.create_index("ix_sign_in_member", ["team_id", "member_id"], unique=False)
