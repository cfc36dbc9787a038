"""Which finds' texts stand in an archive's file."""

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None

ROW = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the table; older code shows an archived talk as one in which nothing was said."""
    op.create_table(
        "archived",
        sa.Column("conversation_id", ROW, nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["conversation_id"],
            ["conversations.id"],
            name=op.f("fk_archived_conversation_id"),
        ),
        sa.PrimaryKeyConstraint("conversation_id", name=op.f("pk_archived")),
    )
