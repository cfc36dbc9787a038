"""Pictures, kept in the database beside everything else, so that one backup holds them too."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import msgspec
from sqlalchemy import delete, insert, select

from bot.messages import Pin
from bot.service import tables
from bot.service.database import Database

_P = tables.Photo


@dataclass(frozen=True, slots=True)
class Shelf:
    """Where pictures are kept, by a key that cannot be guessed."""

    database: Database

    def keep(
        self, data: bytes, type: str, pin: Pin | None, taken_at: datetime | None, now: datetime
    ) -> str:
        """Keep one picture, already checked and re-encoded; its key."""
        row = {
            "key": secrets.token_urlsafe(18),
            "type": type,
            "data": data,
            "pin": msgspec.json.encode(pin).decode() if pin else None,
            "taken_at": taken_at,
            "kept_at": now,
        }
        with self.database.write() as connection:
            connection.execute(insert(_P).values(row))
        return str(row["key"])

    def drop(self, keys: Sequence[str]) -> None:
        """Take back what no text owns: pictures of a text that turned out to be a repeat."""
        with self.database.write() as connection:
            connection.execute(delete(_P).where(_P.key.in_(keys), _P.text_id.is_(None)))

    def fetch(self, key: str) -> tuple[str, bytes] | None:
        """Type and bytes of one picture, or None."""
        with self.database.read() as connection:
            row = connection.execute(select(_P.type, _P.data).where(_P.key == key)).one_or_none()
        return (row.type, row.data) if row else None
