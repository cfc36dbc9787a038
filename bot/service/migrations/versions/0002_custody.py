"""Specimens, and the custody trail that tells of them."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

ROW = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
AT = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Make the two tables; neither points to another, since a code outlives what it names."""
    op.create_table(
        "custody",
        sa.Column("id", ROW, autoincrement=True, nullable=False),
        sa.Column("root", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("at", AT, nullable=False),
        sa.Column("kept_at", AT, nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_custody")),
    )
    op.create_index("ix_custody_root", "custody", ["root"], unique=False)
    op.create_table(
        "specimens",
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("root", sa.Text(), nullable=False),
        sa.Column("find", sa.Text(), nullable=False),
        sa.Column("candidates", sa.Text(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_specimens")),
    )
    op.create_index("ix_specimens_find", "specimens", ["find"], unique=False)
    op.create_index("ix_specimens_root", "specimens", ["root"], unique=False)
