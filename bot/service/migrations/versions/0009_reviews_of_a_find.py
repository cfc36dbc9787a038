"""An index by which a card finds its own reviews among those of all finds."""

from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the index; older code goes on working, and is quicker by it."""
    op.create_index("ix_reviews_conversation_id", "reviews", ["conversation_id"], unique=False)
