"""Bring a database's schema up to date with Alembic, from inside the program.

Law: a migration only adds, with defaults, what the version before does not need; what nobody
uses any more is taken away a version later. So processes of two versions work side by side on
the newer schema, and one of the older version that starts again leaves it as it is.
"""

from __future__ import annotations

from alembic import command
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, text

LOCK = 0x6275_7368
"""Any number that is ours: two programs that start at once upgrade one after the other."""


def settings(connection: Connection) -> Config:
    """Alembic's settings for one connection; no file is read."""
    config = Config()
    config.set_main_option("script_location", "bot.service:migrations")
    config.attributes["connection"] = connection
    return config


def upgrade(connection: Connection, to: str = "head") -> None:
    """Take the schema to a revision within the caller's transaction."""
    if connection.dialect.name == "postgresql":
        connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": LOCK})
    config = settings(connection)
    if not _is_newer(connection, config):
        command.upgrade(config, to)


def revision(connection: Connection) -> str:
    """Which revision a schema is of; "" where there is none yet."""
    return MigrationContext.configure(connection).get_current_revision() or ""


def newest() -> str:
    """The revision that this program brings a schema to."""
    config = Config()
    config.set_main_option("script_location", "bot.service:migrations")
    return ScriptDirectory.from_config(config).get_current_head() or ""


def _is_newer(connection: Connection, config: Config) -> bool:
    """Whether a later version of the program has changed the schema already."""
    known = {script.revision for script in ScriptDirectory.from_config(config).walk_revisions()}
    return revision(connection) not in {"", *known}
