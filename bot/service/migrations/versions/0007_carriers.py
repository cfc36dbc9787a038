"""What carriers report of texts, and long texts that come in parts."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None

ROW = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
MOMENT = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Add columns with a default and new tables: older code goes on working beside them."""
    op.add_column("outbox", sa.Column("report", sa.Text(), nullable=False, server_default=""))
    op.add_column("outbox", sa.Column("reported_at", MOMENT, nullable=True))
    op.create_index("ix_outbox_sent_at", "outbox", ["sent_at"], unique=False)
    op.create_table(
        "carried",
        sa.Column("gateway", sa.Text(), nullable=False),
        sa.Column("carrier_id", sa.Text(), nullable=False),
        sa.Column("outbox_id", ROW, nullable=True),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("at", MOMENT, nullable=False),
        sa.CheckConstraint(
            "state IN ('', 'accepted', 'delivered', 'undeliverable')",
            name=op.f("ck_carried_state"),
        ),
        sa.ForeignKeyConstraint(["outbox_id"], ["outbox.id"], name=op.f("fk_carried_outbox_id")),
        sa.PrimaryKeyConstraint("gateway", "carrier_id", name=op.f("pk_carried")),
    )
    op.create_index("ix_carried_outbox_id", "carried", ["outbox_id"], unique=False)
    op.create_table(
        "long_texts",
        sa.Column("id", ROW, autoincrement=True, nullable=False),
        sa.Column("gateway", sa.Text(), nullable=False),
        sa.Column("sender", sa.Text(), nullable=False),
        sa.Column("recipient", sa.Text(), nullable=False),
        sa.Column("ref", sa.Integer(), nullable=False),
        sa.Column("total", sa.Integer(), nullable=False),
        sa.Column("parts", sa.Text(), nullable=False),
        sa.Column("began_at", MOMENT, nullable=False),
        sa.Column("due_at", MOMENT, nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_long_texts")),
        sa.UniqueConstraint(
            *("gateway", "sender", "recipient", "ref", "total"),
            name=op.f("uq_long_texts_gateway_sender_recipient_ref_total"),
        ),
    )
    op.create_index("ix_long_texts_due_at", "long_texts", ["due_at"], unique=False)
