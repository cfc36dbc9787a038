"""Who may log in, and that nothing stored can be read back."""

from __future__ import annotations

import pytest
from argon2 import PasswordHasher

from bot.messages import Pin
from bot.service import tables as t
from bot.service.accounts import Account, AccountError, Accounts, add_account
from bot.service.database import Database
from bot.service.photos import Shelf
from tests.service.fakes import NOON, column

PASSWORD = "brindle hut at dusk"


@pytest.fixture
def database(sqlite: Database) -> Database:
    """SQLite alone: what takes the time here is argon2, and the SQL is the plainest there is."""
    return sqlite


def test_the_right_password_opens(database: Database) -> None:
    accounts = Accounts(database)
    assert not accounts.any()
    add_account(database, "Ines", PASSWORD, NOON)
    assert accounts.any()
    assert accounts.check_password("ines", PASSWORD) == Account("ines", "coordinator")
    assert accounts.check_password(" INES ", PASSWORD) is not None
    assert accounts.account("ines") == Account("ines", "coordinator")


@pytest.mark.parametrize(
    ("name", "password"), [("ines", ""), ("ines", PASSWORD + "x"), ("tom", PASSWORD), ("", "")]
)
def test_anything_else_does_not(database: Database, name: str, password: str) -> None:
    add_account(database, "ines", PASSWORD, NOON)
    assert Accounts(database).check_password(name, password) is None
    assert Accounts(database).account("tom") is None


def test_only_an_argon2id_hash_is_kept(database: Database) -> None:
    add_account(database, "ines", PASSWORD, NOON)
    (kept,) = column(database, t.Account.password_hash)
    assert kept.startswith("$argon2id$")
    assert PASSWORD not in kept


def test_a_weaker_hash_is_renewed_on_the_way(database: Database) -> None:
    add_account(database, "ines", PASSWORD, NOON)
    weak = PasswordHasher(time_cost=1, memory_cost=64, parallelism=1).hash(PASSWORD)
    with database.write() as connection:
        connection.execute(t.Account.__table__.update().values(password_hash=weak))
    assert Accounts(database).check_password("ines", PASSWORD) is not None
    (kept,) = column(database, t.Account.password_hash)
    assert kept != weak
    assert Accounts(database).check_password("ines", PASSWORD) is not None


@pytest.mark.parametrize(
    ("name", "password"),
    [
        ("ines", "short"),
        ("", PASSWORD),
        ("x" * 65, PASSWORD),
        ("a\nb", PASSWORD),
        ("ok", "x" * 257),
    ],
)
def test_an_account_must_be_worth_having(database: Database, name: str, password: str) -> None:
    with pytest.raises(AccountError):
        add_account(database, name, password, NOON)


@pytest.mark.parametrize(
    "password",
    [
        # Of zxcvbn's 30,000 from breaches, the first of twelve characters and more; then the same
        # rules on what is only like them.
        *("1q2w3e4r5t6y", "passwordpassword", "123456789123456", "qwertyuiop[]"),
        *("password1234", "aaaaaaaaaaaaaaaa", "P@ssw0rdP@ssw0rd", "Bushpost2026!", "inesines2026"),
    ],
)
def test_what_is_tried_first_is_refused(database: Database, password: str) -> None:
    with pytest.raises(AccountError, match="tried first"):
        add_account(database, "ines", password, NOON)


def test_the_programmes_own_words_make_no_password(database: Database) -> None:
    """What stands for a good password elsewhere is easy where everybody knows its words."""
    words = "tallow range wildlife"
    add_account(database, "tom", words, NOON)
    with pytest.raises(AccountError, match="tried first"):
        add_account(database, "ines", words, NOON, words=["Tallow Range Wildlife Health Programme"])


def test_any_characters_and_any_length_will_do(database: Database) -> None:
    """OWASP ASVS 5.0, 6.2.5 and 6.2.9: no rules of composition, and 64 characters at least."""
    for n, password in enumerate(
        ("hut gums dusk fern", "ночь у старой хижины", "é" * 3 + "q8" * 126)
    ):
        add_account(database, f"n{n}", password, NOON)
        assert Accounts(database).check_password(f"n{n}", password)


def test_a_name_is_given_once(database: Database) -> None:
    add_account(database, "ines", PASSWORD, NOON)
    with pytest.raises(AccountError):
        add_account(database, "INES", PASSWORD, NOON)


def test_a_picture_is_kept_under_a_key_of_its_own(database: Database) -> None:
    shelf = Shelf(database)
    keys = {shelf.keep(b"\xff\xd8", "image/jpeg", Pin(-36.8, 147.1), NOON, NOON) for _ in range(3)}
    assert len(keys) == 3
    assert shelf.fetch(keys.pop()) == ("image/jpeg", b"\xff\xd8")
    assert shelf.fetch("nothing") is None
