"""Where Alembic gets its connection: from the caller, whose transaction this runs in."""

from alembic import context

from bot.service.tables import Base

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Base.metadata,
    render_as_batch=True,
    compare_type=True,
)
context.run_migrations()
