"""Codes that prove a chat's number, and the browsers that have proved one."""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None

ROW = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
MOMENT = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Make both tables; older code knows nothing of them and goes on working."""
    op.create_table(
        "chat_codes",
        sa.Column("id", ROW, autoincrement=True, nullable=False),
        sa.Column("session", sa.Text(), nullable=False),
        sa.Column("number", sa.Text(), nullable=False),
        sa.Column("asked_from", sa.Text(), nullable=False),
        sa.Column("code_hash", sa.Text(), nullable=False),
        sa.Column("made_at", MOMENT, nullable=False),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("used_at", MOMENT, nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_chat_codes")),
    )
    op.create_index("ix_chat_codes_session", "chat_codes", ["session"], unique=False)
    op.create_index("ix_chat_codes_made_at", "chat_codes", ["made_at"], unique=False)
    op.create_table(
        "chat_links",
        sa.Column("session", sa.Text(), nullable=False),
        sa.Column("hunter_id", ROW, nullable=False),
        sa.Column("made_at", MOMENT, nullable=False),
        sa.ForeignKeyConstraint(
            ["hunter_id"], ["hunters.id"], name=op.f("fk_chat_links_hunter_id")
        ),
        sa.PrimaryKeyConstraint("session", name=op.f("pk_chat_links")),
    )
    op.create_index("ix_chat_links_hunter_id", "chat_links", ["hunter_id"], unique=False)
