"""Where Alembic gets its connection: from the caller, whose transaction this runs in."""

from alembic import context

from bot.service.ages import Base  # The last file that has a table: with it all are known.

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Base.metadata,
    render_as_batch=True,
    compare_type=True,
)
context.run_migrations()
