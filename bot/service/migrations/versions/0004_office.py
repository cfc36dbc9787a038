"""What the desk is searched by, who let whom in, whose sessions are open, who saw what."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

ROW = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
AT = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Make the tables, then each database's own full-text index over `findable`."""
    op.create_table(
        "findable",
        sa.Column("conversation_id", ROW, autoincrement=False, nullable=False),
        sa.Column("card", sa.Text(), nullable=False),
        sa.Column("said", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["conversation_id"], ["conversations.id"], name=op.f("fk_findable_conversation_id")
        ),
        sa.PrimaryKeyConstraint("conversation_id", name=op.f("pk_findable")),
    )
    if op.get_bind().dialect.name == "sqlite":
        for statement in SQLITE:
            op.execute(statement)
    else:
        op.execute(POSTGRESQL)
    op.create_table(
        "sessions",
        sa.Column("key_hash", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("browser", sa.Text(), nullable=False),
        sa.Column("started_at", AT, nullable=False),
        sa.Column("ended_at", AT, nullable=True),
        sa.PrimaryKeyConstraint("key_hash", name=op.f("pk_sessions")),
    )
    op.create_index("ix_sessions_name", "sessions", ["name"], unique=False)
    op.create_table(
        "invitations",
        sa.Column("key_hash", sa.Text(), nullable=False),
        sa.Column("role", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("made_at", AT, nullable=False),
        sa.Column("until", AT, nullable=False),
        sa.Column("used_by", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("key_hash", name=op.f("pk_invitations")),
    )
    op.create_table(
        "audit",
        sa.Column("id", ROW, autoincrement=True, nullable=False),
        sa.Column("at", AT, nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("act", sa.Text(), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_audit")),
    )
    op.create_index("ix_audit_what", "audit", ["what"], unique=False)
    op.add_column("hunters", sa.Column("erased_at", AT, nullable=True))


# https://sqlite.org/fts5.html section 4.4.3: an index over another table's columns, which that
# table's triggers keep in step within the same transaction.
SQLITE = (
    "CREATE VIRTUAL TABLE findable_words USING fts5("
    "card, said, content='findable', content_rowid='conversation_id', tokenize='unicode61')",
    "CREATE TRIGGER findable_added AFTER INSERT ON findable BEGIN "
    "INSERT INTO findable_words(rowid, card, said) "
    "VALUES (new.conversation_id, new.card, new.said); END",
    "CREATE TRIGGER findable_gone AFTER DELETE ON findable BEGIN "
    "INSERT INTO findable_words(findable_words, rowid, card, said) "
    "VALUES ('delete', old.conversation_id, old.card, old.said); END",
    "CREATE TRIGGER findable_changed AFTER UPDATE ON findable BEGIN "
    "INSERT INTO findable_words(findable_words, rowid, card, said) "
    "VALUES ('delete', old.conversation_id, old.card, old.said); "
    "INSERT INTO findable_words(rowid, card, said) "
    "VALUES (new.conversation_id, new.card, new.said); END",
)
POSTGRESQL = (
    "CREATE INDEX findable_words ON findable USING gin (to_tsvector('simple', card || ' ' || said))"
)
