"""What is asked for besides a password, and the codes on paper that stand in for it."""

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None

ROW = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
MOMENT = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Make both tables. Older code asks for no second factor: while some of it still runs, who
    has one can come in there without."""
    op.create_table(
        "second_factors",
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("secret", sa.Text(), nullable=False),
        sa.Column("made_at", MOMENT, nullable=False),
        sa.Column("confirmed_at", MOMENT, nullable=True),
        sa.Column("last_step", ROW, nullable=False),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_second_factors")),
    )
    op.create_table(
        "recovery_codes",
        sa.Column("code_hash", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("made_at", MOMENT, nullable=False),
        sa.Column("used_at", MOMENT, nullable=True),
        sa.PrimaryKeyConstraint("code_hash", name=op.f("pk_recovery_codes")),
    )
    op.create_index("ix_recovery_codes_name", "recovery_codes", ["name"], unique=False)
