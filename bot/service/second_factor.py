"""The second factor of an account: a secret that a telephone shares, and codes on paper for the
day when the telephone is gone.

Law: proposed first, and asked for only once a code of it was typed. A code counts once, on
whichever process it is typed. Of paper codes only hashes are kept: they have 120 bits, so that a
fast hash is enough (OWASP ASVS 5.0, 6.5.2 asks for a slow one below 112). The secret is encrypted
where a key is set.
"""

from __future__ import annotations

import base64
import hashlib
import secrets
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import delete, func, insert, select, update

from bot.service import tables, totp
from bot.service.accounts import AccountError
from bot.service.columns import Found
from bot.service.database import Database
from bot.service.sealing import PLAIN, Sealer
from bot.service.upsert import upsert

PAPER_CODES, PAPER_BYTES = 8, 15
GROUP = 4
SEALED = "sealed:"
"""Before a secret that is encrypted, in base64; one that is not is base32."""
_F, _R = tables.SecondFactor, tables.RecoveryCode


@dataclass(frozen=True, slots=True)
class Factors:
    """Everybody's second factors."""

    database: Database
    sealer: Sealer = PLAIN

    def since(self, name: str) -> datetime | None:
        """Since when somebody is asked for it; None if he is not."""
        row = self._row(name)
        return row.confirmed_at if row else None

    def propose(self, name: str, now: datetime) -> bytes:
        """A new secret, not yet asked for. AccountError where one is in force."""
        if self.since(name):
            raise AccountError("there is a second factor already: take it away first")
        secret = secrets.token_bytes(totp.SECRET_BYTES)
        row = {"name": name, "secret": seal_secret(secret, name, self.sealer), "made_at": now}
        with self.database.write() as connection:
            upsert(connection, _F, {**row, "confirmed_at": None, "last_step": 0}, ["name"])
        return secret

    def proposed(self, name: str) -> bytes | None:
        """The secret that waits for its first code."""
        row = self._row(name)
        return self._secret(row, name) if row and row.confirmed_at is None else None

    def confirm(self, name: str, typed: str, now: datetime) -> tuple[str, ...]:
        """From now on it is asked for, if the code is of the proposed secret: the codes to be
        written on paper, told this once. Nothing where the code is wrong."""
        if self.proposed(name) is None or not self._take_code(name, typed, now, confirm=True):
            return ()
        return self.renew_paper(name, now)

    def check(self, name: str, typed: str, now: datetime) -> bool:
        """Whether a code is right, of the telephone or of the paper; either counts once."""
        if self._take_code(name, typed, now):
            return True
        mine = (_R.name == name) & (_R.code_hash == _hash(typed)) & _R.used_at.is_(None)
        with self.database.write() as connection:
            return connection.execute(update(_R).where(mine).values(used_at=now)).rowcount == 1

    def renew_paper(self, name: str, now: datetime) -> tuple[str, ...]:
        """New codes on paper; those from before are good for nothing."""
        codes = tuple(_paper_code() for _ in range(PAPER_CODES))
        rows = [{"code_hash": _hash(code), "name": name, "made_at": now} for code in codes]
        with self.database.write() as connection:
            connection.execute(delete(_R).where(_R.name == name))
            connection.execute(insert(_R), rows)
        return codes

    def paper_left(self, name: str) -> int:
        """How many codes on paper are still good."""
        unused = select(func.count()).where(_R.name == name, _R.used_at.is_(None))
        with self.database.read() as connection:
            return connection.scalar(unused) or 0

    def remove(self, name: str) -> None:
        """The password is enough again."""
        with self.database.write() as connection:
            for table in (_F, _R):
                connection.execute(delete(table).where(table.name == name))

    def _take_code(self, name: str, typed: str, now: datetime, *, confirm: bool = False) -> bool:
        row = self._row(name)
        if row is None or (row.confirmed_at is None) is not confirm:
            return False
        code = _plain(typed)
        step = totp.matching_step(self._secret(row, name), code, now, row.last_step)
        if step is None:
            return False
        # Two that type the same code at once: one of them finds it used.
        unused = (_F.name == name) & (_F.secret == row.secret) & (_F.last_step < step)
        values = {"last_step": step, "confirmed_at": row.confirmed_at or now}
        with self.database.write() as connection:
            return connection.execute(update(_F).where(unused).values(values)).rowcount == 1

    def _secret(self, row: Found, name: str) -> bytes:
        return open_secret(row.secret, name, self.sealer)

    def _row(self, name: str) -> Found | None:
        query = select(_F.secret, _F.confirmed_at, _F.last_step).where(_F.name == name)
        with self.database.read() as connection:
            return connection.execute(query).one_or_none()


def seal_secret(secret: bytes, name: str, sealer: Sealer) -> str:
    """A secret as it is stored."""
    if not sealer.on:
        return totp.as_text(secret)
    return SEALED + base64.b64encode(sealer.seal(secret, f"second factor {name}")).decode()


def open_secret(kept: str, name: str, sealer: Sealer) -> bytes:
    """A stored secret; SealError where no key opens it."""
    if not kept.startswith(SEALED):
        return totp.from_text(kept)
    return sealer.open(base64.b64decode(kept.removeprefix(SEALED)), f"second factor {name}")


def _paper_code() -> str:
    whole = base64.b32encode(secrets.token_bytes(PAPER_BYTES)).decode().lower()
    return "-".join(whole[at : at + GROUP] for at in range(0, len(whole), GROUP))


def _plain(typed: str) -> str:
    return "".join(c for c in typed.upper() if c.isascii() and c.isalnum())


def _hash(typed: str) -> str:
    return hashlib.sha256(_plain(typed).encode()).hexdigest()
