"""Photos and second factors encrypted anew with the first key: those from before there was one,
and those of a key that is to be thrown away.

Law: one transaction each, while the service works; what a key is lacking for stays as it is.
"""

from __future__ import annotations

from msgspec import Struct
from sqlalchemy import func, select, update

from bot.service import tables
from bot.service.database import Database
from bot.service.photos import sealed_as
from bot.service.sealing import HEAD, Sealer, SealError
from bot.service.second_factor import open_secret, seal_secret

_P, _F = tables.Photo, tables.SecondFactor


class Resealed(Struct, frozen=True):
    """How many were encrypted now, were so already, and could not be opened."""

    now: int = 0
    already: int = 0
    shut: int = 0


def reseal(database: Database, sealer: Sealer) -> Resealed:
    """Encrypt every photo and second factor with the first key, whatever it is encrypted with
    now."""
    with database.read() as connection:
        starts = connection.execute(select(_P.key, func.substr(_P.data, 1, HEAD))).all()
    old = [key for key, start in starts if not sealer.is_newest(bytes(start))]
    done = [_one(database, sealer, key) for key in old]
    done += [_factor(database, sealer, *row) for row in _factors(database)]
    return Resealed(done.count(True), len(starts) - len(old), done.count(False))


def _factors(database: Database) -> list[tuple[str, str]]:
    with database.read() as connection:
        return [(name, kept) for name, kept in connection.execute(select(_F.name, _F.secret))]


def _factor(database: Database, sealer: Sealer, name: str, kept: str) -> bool:
    """A second factor is 20 bytes, and encrypted anew every time."""
    try:
        sealed = seal_secret(open_secret(kept, name, sealer), name, sealer)
    except SealError:
        return False
    same = (_F.name == name) & (_F.secret == kept)
    with database.write() as connection:
        connection.execute(update(_F).where(same).values(secret=sealed))
    return True


def _one(database: Database, sealer: Sealer, key: str) -> bool | None:
    """None where the photo has gone meanwhile."""
    with database.write() as connection:
        kept = connection.scalar(select(_P.data).where(_P.key == key))
        if kept is None:
            return None
        try:
            plain = sealer.open(bytes(kept), sealed_as(key))
        except SealError:
            return False
        sealed = sealer.seal(plain, sealed_as(key))
        connection.execute(update(_P).where(_P.key == key).values(data=sealed))
    return True
