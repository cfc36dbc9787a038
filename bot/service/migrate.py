"""Bring a database's schema up to date with Alembic, from inside the program."""

from __future__ import annotations

from alembic import command
from alembic.config import Config
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
    command.upgrade(settings(connection), to)
