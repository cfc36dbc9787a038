"""The first tables.

Types are spelled out here, so that a later change of the models never changes this file.
"""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

ROW = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
AT = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Make every table, each after those that it points to."""
    _hunters()
    _staff()
    _accounts()
    _conversations()
    _texts_in()
    _photos()
    _contents()
    _events()
    _effects()
    _answers()
    _pickups()
    _timers()
    _reviews()
    _outbox()


def _hunters() -> None:
    op.create_table(
        "hunters",
        sa.Column("id", ROW, autoincrement=True, nullable=False),
        sa.Column("channel", sa.Text(), nullable=False),
        sa.Column("number", sa.Text(), nullable=False),
        sa.Column("gateway", sa.Text(), nullable=False),
        sa.Column("language", sa.Text(), nullable=False),
        sa.Column("opted_out", sa.Boolean(), nullable=False),
        sa.Column("first_text_at", AT, nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_hunters")),
        sa.UniqueConstraint("channel", "number", name=op.f("uq_hunters_channel_number")),
    )


def _staff() -> None:
    op.create_table(
        "staff",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("role", sa.Text(), nullable=False),
        sa.Column("number", sa.Text(), nullable=False),
        sa.Column("lat", sa.Double(), nullable=False),
        sa.Column("lon", sa.Double(), nullable=False),
        sa.Column("reach_km", sa.Double(), nullable=False),
        sa.Column("days", sa.Text(), nullable=False),
        sa.Column("from_minute", sa.Integer(), nullable=False),
        sa.Column("to_minute", sa.Integer(), nullable=False),
        sa.Column("active", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_staff")),
    )
    op.create_index(
        "ix_staff_active_number",
        "staff",
        ["number"],
        unique=True,
        sqlite_where=sa.text("active"),
        postgresql_where=sa.text("active"),
    )


def _accounts() -> None:
    op.create_table(
        "accounts",
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("password_hash", sa.Text(), nullable=False),
        sa.Column("role", sa.Text(), nullable=False),
        sa.Column("created_at", AT, nullable=False),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_accounts")),
    )


def _conversations() -> None:
    op.create_table(
        "conversations",
        sa.Column("id", ROW, autoincrement=True, nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("hunter_id", ROW, nullable=False),
        sa.Column("stage", sa.Text(), nullable=False),
        sa.Column("find_state", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("first_state", sa.Text(), nullable=False),
        sa.Column("dialog_hash", sa.Text(), nullable=False),
        sa.Column("programme_hash", sa.Text(), nullable=False),
        sa.Column("opened_at", AT, nullable=False),
        sa.Column("last_event_at", AT, nullable=False),
        sa.ForeignKeyConstraint(
            ["hunter_id"], ["hunters.id"], name=op.f("fk_conversations_hunter_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_conversations")),
        sa.UniqueConstraint("code", name=op.f("uq_conversations_code")),
    )
    op.create_index(
        "ix_conversations_hunter_id_last_event_at",
        "conversations",
        ["hunter_id", "last_event_at"],
        unique=False,
    )
    op.create_index(
        "ix_conversations_last_event_at", "conversations", ["last_event_at"], unique=False
    )


def _texts_in() -> None:
    op.create_table(
        "texts_in",
        sa.Column("id", ROW, autoincrement=True, nullable=False),
        sa.Column("gateway", sa.Text(), nullable=False),
        sa.Column("gateway_id", sa.Text(), nullable=False),
        sa.Column("sender", sa.Text(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("sent_at", AT, nullable=False),
        sa.Column("arrived_at", AT, nullable=False),
        sa.Column("hunter_id", ROW, nullable=True),
        sa.Column("conversation_id", ROW, nullable=True),
        sa.Column("pin", sa.Text(), nullable=True),
        sa.Column("photos", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["conversation_id"], ["conversations.id"], name=op.f("fk_texts_in_conversation_id")
        ),
        sa.ForeignKeyConstraint(["hunter_id"], ["hunters.id"], name=op.f("fk_texts_in_hunter_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_texts_in")),
        sa.UniqueConstraint("gateway", "gateway_id", name=op.f("uq_texts_in_gateway_gateway_id")),
    )
    op.create_index("ix_texts_in_conversation_id", "texts_in", ["conversation_id"], unique=False)
    op.create_index("ix_texts_in_hunter_id_id", "texts_in", ["hunter_id", "id"], unique=False)


def _photos() -> None:
    op.create_table(
        "photos",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("type", sa.Text(), nullable=False),
        sa.Column("data", sa.LargeBinary(), nullable=False),
        sa.Column("pin", sa.Text(), nullable=True),
        sa.Column("taken_at", AT, nullable=True),
        sa.Column("kept_at", AT, nullable=False),
        sa.Column("text_id", ROW, nullable=True),
        sa.ForeignKeyConstraint(["text_id"], ["texts_in.id"], name=op.f("fk_photos_text_id")),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_photos")),
    )
    op.create_index("ix_photos_text_id", "photos", ["text_id"], unique=False)


def _contents() -> None:
    op.create_table(
        "contents",
        sa.Column("hash", sa.Text(), nullable=False),
        sa.Column("files", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("hash", name=op.f("pk_contents")),
    )


def _events() -> None:
    op.create_table(
        "events",
        sa.Column("id", ROW, autoincrement=True, nullable=False),
        sa.Column("stream", sa.Text(), nullable=False),
        sa.Column("stream_id", ROW, nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("at", AT, nullable=False),
        sa.Column("dialog_hash", sa.Text(), nullable=False),
        sa.Column("programme_hash", sa.Text(), nullable=False),
        sa.CheckConstraint("stream IN ('conversation', 'pickup')", name=op.f("ck_events_stream")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_events")),
        sa.UniqueConstraint(
            "stream", "stream_id", "seq", name=op.f("uq_events_stream_stream_id_seq")
        ),
    )


def _effects() -> None:
    op.create_table(
        "effects",
        sa.Column("event_id", ROW, nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["event_id"], ["events.id"], name=op.f("fk_effects_event_id")),
        sa.PrimaryKeyConstraint("event_id", "position", name=op.f("pk_effects")),
    )


def _answers() -> None:
    op.create_table(
        "answers",
        sa.Column("id", ROW, autoincrement=True, nullable=False),
        sa.Column("conversation_id", ROW, nullable=False),
        sa.Column("event_id", ROW, nullable=False),
        sa.Column("question", sa.Text(), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.Column("heard", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("at", AT, nullable=False),
        sa.ForeignKeyConstraint(
            ["conversation_id"], ["conversations.id"], name=op.f("fk_answers_conversation_id")
        ),
        sa.ForeignKeyConstraint(["event_id"], ["events.id"], name=op.f("fk_answers_event_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_answers")),
    )
    op.create_index("ix_answers_conversation_id", "answers", ["conversation_id"], unique=False)


def _pickups() -> None:
    op.create_table(
        "pickups",
        sa.Column("id", ROW, autoincrement=True, nullable=False),
        sa.Column("conversation_id", ROW, nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("staff_id", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("first_state", sa.Text(), nullable=False),
        sa.Column("opened_at", AT, nullable=False),
        sa.Column("last_event_at", AT, nullable=False),
        sa.ForeignKeyConstraint(
            ["conversation_id"], ["conversations.id"], name=op.f("fk_pickups_conversation_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_pickups")),
        sa.UniqueConstraint("conversation_id", name=op.f("uq_pickups_conversation_id")),
    )
    op.create_index("ix_pickups_staff_id_name", "pickups", ["staff_id", "name"], unique=False)


def _timers() -> None:
    op.create_table(
        "timers",
        sa.Column("id", ROW, autoincrement=True, nullable=False),
        sa.Column("stream", sa.Text(), nullable=False),
        sa.Column("stream_id", ROW, nullable=False),
        sa.Column("mark", sa.Integer(), nullable=False),
        sa.Column("due_at", AT, nullable=False),
        sa.Column("done_at", AT, nullable=True),
        sa.CheckConstraint("stream IN ('conversation', 'pickup')", name=op.f("ck_timers_stream")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_timers")),
    )
    op.create_index(
        "ix_timers_open",
        "timers",
        ["due_at"],
        unique=False,
        sqlite_where=sa.text("done_at IS NULL"),
        postgresql_where=sa.text("done_at IS NULL"),
    )


def _reviews() -> None:
    op.create_table(
        "reviews",
        sa.Column("id", ROW, autoincrement=True, nullable=False),
        sa.Column("conversation_id", ROW, nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("heard", sa.Text(), nullable=False),
        sa.Column("at_once", sa.Boolean(), nullable=False),
        sa.Column("opened_at", AT, nullable=False),
        sa.Column("closed_at", AT, nullable=True),
        sa.Column("taken_by", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["conversation_id"], ["conversations.id"], name=op.f("fk_reviews_conversation_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_reviews")),
    )
    op.create_index(
        "ix_reviews_open",
        "reviews",
        ["conversation_id", "reason"],
        unique=True,
        sqlite_where=sa.text("closed_at IS NULL"),
        postgresql_where=sa.text("closed_at IS NULL"),
    )


def _outbox() -> None:
    op.create_table(
        "outbox",
        sa.Column("id", ROW, autoincrement=True, nullable=False),
        sa.Column("gateway", sa.Text(), nullable=False),
        sa.Column("number", sa.Text(), nullable=False),
        sa.Column("hunter_id", ROW, nullable=True),
        sa.Column("conversation_id", ROW, nullable=True),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("question", sa.Text(), nullable=False),
        sa.Column("segments", sa.Integer(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("decided_at", AT, nullable=False),
        sa.Column("next_try_at", AT, nullable=False),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("sent_at", AT, nullable=True),
        sa.Column("carrier_id", sa.Text(), nullable=False),
        sa.Column("error", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "state IN ('waiting', 'sent', 'withdrawn', 'failed')", name=op.f("ck_outbox_state")
        ),
        sa.ForeignKeyConstraint(
            ["conversation_id"], ["conversations.id"], name=op.f("fk_outbox_conversation_id")
        ),
        sa.ForeignKeyConstraint(["hunter_id"], ["hunters.id"], name=op.f("fk_outbox_hunter_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_outbox")),
    )
    op.create_index("ix_outbox_conversation_id", "outbox", ["conversation_id"], unique=False)
    op.create_index(
        "ix_outbox_waiting_next",
        "outbox",
        ["next_try_at"],
        unique=False,
        sqlite_where=sa.text("state = 'waiting'"),
        postgresql_where=sa.text("state = 'waiting'"),
    )
    op.create_index(
        "ix_outbox_waiting_recipient",
        "outbox",
        ["gateway", "number", "id"],
        unique=False,
        sqlite_where=sa.text("state = 'waiting'"),
        postgresql_where=sa.text("state = 'waiting'"),
    )
