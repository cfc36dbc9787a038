"""Who may log in to the desk: names with argon2id hashes, and nothing that could be read back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from argon2 import PasswordHasher
from argon2.exceptions import VerificationError
from msgspec import Struct
from sqlalchemy import insert, select, update
from zxcvbn import zxcvbn

from bot.service import tables
from bot.service.columns import Found
from bot.service.database import Database

LEAST_PASSWORD = 12
"""Characters. OWASP ASVS 5.0, 6.2.1 asks for 8 and recommends 15 or more."""
LONGEST_PASSWORD = 256
LEAST_SCORE = 3
"""By zxcvbn (Wheeler, "zxcvbn: low-budget password strength estimation", USENIX Security 2016):
more than 10^8 guesses, with 30,000 passwords from breaches among the first."""
MOST_WEIGHED = 72
"""Characters that it looks at: what is longer is not the weaker for it."""
OWN_WORDS = ("bushpost", "coordinator", "administrator", "viewer", "desk", "hunter", "pickup")
"""What an attacker would try here, besides the programme's name and one's own."""

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
    database: Database,
    name: str,
    password: str,
    now: datetime,
    role: str = "coordinator",
    words: Sequence[str] = (),
) -> Account:
    """Make an account; AccountError if the name is taken, or the password too short or easily
    guessed by who knows these words."""
    name = name.strip().lower()
    if not name or len(name) > 64 or not name.isprintable():
        raise AccountError("the name is empty, longer than 64 characters or not printable")
    _must_be_good(password, (name, *words))
    row = {"name": name, "password_hash": _HASHER.hash(password), "role": role, "created_at": now}
    with database.write() as connection:
        if connection.scalar(select(_A.name).where(_A.name == name)):
            raise AccountError(f"there is already an account {name!r}")
        connection.execute(insert(_A).values(row))
    return Account(name, role)


def _must_be_good(password: str, words: Sequence[str]) -> None:
    if not LEAST_PASSWORD <= len(password) <= LONGEST_PASSWORD:
        raise AccountError(
            f"the password must have {LEAST_PASSWORD} to {LONGEST_PASSWORD} characters"
        )
    if zxcvbn(_without(password, words)[:MOST_WEIGHED])["score"] < LEAST_SCORE:
        raise AccountError(
            "the password is one of those that are tried first: four words that have nothing to"
            " do with each other are better"
        )


def _without(password: str, words: Sequence[str]) -> str:
    """What is left of a password without the words that everybody knows here: they make it no
    better, and no worse where enough stands beside them."""
    known = {w for phrase in (*words, *OWN_WORDS) for w in phrase.casefold().split() if len(w) > 2}
    left = password.casefold()
    for word in sorted(known, key=len, reverse=True):
        left = left.replace(word, " ")
    return left


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

    def change_password(self, name: str, password: str, words: Sequence[str] = ()) -> None:
        """Another password for somebody; AccountError as for `add_account`."""
        _must_be_good(password, (name, *words))
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
