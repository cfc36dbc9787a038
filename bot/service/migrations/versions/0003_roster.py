"""Leave, nights on call, what somebody fetches, his channel and his load."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """One column for all of it, as JSON: nothing looks for a member by these."""
    op.add_column("staff", sa.Column("terms", sa.Text(), nullable=False, server_default="{}"))
