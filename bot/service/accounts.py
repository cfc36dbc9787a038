"""Who may log in to the desk: names with argon2id hashes, and nothing that could be read back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from argon2 import PasswordHasher
from argon2.exceptions import VerificationError
from msgspec import Struct
from sqlalchemy import insert, select, update

from bot.service import tables
from bot.service.columns import Found
from bot.service.database import Database

LEAST_PASSWORD = 12
"""Characters. OWASP ASVS 5.0, 6.2.1 asks for 8 and recommends 15 or more."""
LONGEST_PASSWORD = 256

ROLES = ("viewer", "coordinator", "administrator")
"""Each may all that those before it may."""

_A = tables.Account
_HASHER = PasswordHasher()
# Checked where the name is unknown, so that the time taken does not tell which names exist.
_NOBODY = _HASHER.hash("nobody has this password")


class AccountError(ValueError):
    """The account cannot be made as asked."""


class Account(Struct, frozen=True):
    """Somebody who is logged in: the name that stands beside whatever he does, and whether he
    has a second factor."""

    name: str
    role: str
    second: bool = False


def add_account(
    database: Database, name: str, password: str, now: datetime, role: str = "coordinator"
) -> Account:
    """Make an account; AccountError if the name is taken or the password too short."""
    name = name.strip().lower()
    if not name or len(name) > 64 or not name.isprintable():
        raise AccountError("the name is empty, longer than 64 characters or not printable")
    _must_be_long(password)
    row = {"name": name, "password_hash": _HASHER.hash(password), "role": role, "created_at": now}
    with database.write() as connection:
        if connection.scalar(select(_A.name).where(_A.name == name)):
            raise AccountError(f"there is already an account {name!r}")
        connection.execute(insert(_A).values(row))
    return Account(name, role)


def _must_be_long(password: str) -> None:
    if not LEAST_PASSWORD <= len(password) <= LONGEST_PASSWORD:
        raise AccountError(
            f"the password must have {LEAST_PASSWORD} to {LONGEST_PASSWORD} characters"
        )


@dataclass(frozen=True, slots=True)
class Accounts:
    """Who may log in, by password and by the name that a session remembers."""

    database: Database

    def check_password(self, name: str, password: str) -> Account | None:
        """The account, if the password is right. A hash of older strength is renewed."""
        found = self._row(name.strip().lower())
        try:
            _HASHER.verify(found.password_hash if found else _NOBODY, password[:LONGEST_PASSWORD])
        except VerificationError:
            return None
        if found is None:
            return None
        if _HASHER.check_needs_rehash(found.password_hash):
            renewed = update(_A).where(_A.name == found.name)
            with self.database.write() as connection:
                connection.execute(renewed.values(password_hash=_HASHER.hash(password)))
        return Account(found.name, found.role)

    def change_password(self, name: str, password: str) -> None:
        """Another password for somebody; AccountError if it is too short."""
        _must_be_long(password)
        changed = update(_A).where(_A.name == name)
        with self.database.write() as connection:
            connection.execute(changed.values(password_hash=_HASHER.hash(password)))

    def account(self, name: str) -> Account | None:
        """The account of a name, or None if it is gone."""
        found = self._row(name)
        return Account(found.name, found.role) if found else None

    def any(self) -> bool:
        """Whether anybody at all may log in."""
        with self.database.read() as connection:
            return connection.scalar(select(_A.name).limit(1)) is not None

    def _row(self, name: str) -> Found | None:
        columns = select(_A.name, _A.password_hash, _A.role)
        with self.database.read() as connection:
            return connection.execute(columns.where(_A.name == name)).one_or_none()
