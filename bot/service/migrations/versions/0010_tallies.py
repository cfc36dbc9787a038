"""What strangers tried, counted for all processes together."""

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None

MOMENT = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Make the table; older code goes on counting in each process."""
    op.create_table(
        "tallies",
        sa.Column("who_hash", sa.Text(), nullable=False),
        sa.Column("count", sa.Integer(), nullable=False),
        sa.Column("began_at", MOMENT, nullable=False),
        sa.Column("latest_at", MOMENT, nullable=False),
        sa.Column("until", MOMENT, nullable=False),
        sa.PrimaryKeyConstraint("who_hash", name=op.f("pk_tallies")),
    )
    op.create_index("ix_tallies_until", "tallies", ["until"], unique=False)
