"""Pictures, kept in the database beside everything else, so that one backup holds them too.

Law: with a key they are encrypted, each bound to its row; those from before stay readable.
"""

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
from bot.service.sealing import PLAIN, Sealer

_P = tables.Photo


@dataclass(frozen=True, slots=True)
class Shelf:
    """Where pictures are kept, by a key that cannot be guessed."""

    database: Database
    sealer: Sealer = PLAIN

    def keep(
        self, data: bytes, type: str, pin: Pin | None, taken_at: datetime | None, now: datetime
    ) -> str:
        """Keep one picture, already checked and re-encoded; its key."""
        key = secrets.token_urlsafe(18)
        row = {
            "key": key,
            "type": type,
            "data": self.sealer.seal(data, sealed_as(key)),
            "pin": msgspec.json.encode(pin).decode() if pin else None,
            "taken_at": taken_at,
            "kept_at": now,
        }
        with self.database.write() as connection:
            connection.execute(insert(_P).values(row))
        return key

    def drop(self, keys: Sequence[str]) -> None:
        """Take back what no text owns: pictures of a text that turned out to be a repeat."""
        with self.database.write() as connection:
            connection.execute(delete(_P).where(_P.key.in_(keys), _P.text_id.is_(None)))

    def fetch(self, key: str) -> tuple[str, bytes] | None:
        """Type and bytes of one picture, or None; SealError where no key opens it."""
        with self.database.read() as connection:
            row = connection.execute(select(_P.type, _P.data).where(_P.key == key)).one_or_none()
        return (row.type, self.sealer.open(row.data, sealed_as(key))) if row else None


def sealed_as(key: str) -> str:
    """What a picture is sealed as: its own row, so that none can stand in for another."""
    return f"photo {key}"
