"""`ready` finds each thing that is wrong by itself, and nothing where nothing is.

Standard Webhooks wants keys of 24 to 64 bytes; SQLite's and PostgreSQL's durable settings are
those of their own manuals (PRAGMA synchronous; "Reliability").
"""

from __future__ import annotations

import base64
from datetime import UTC, datetime, timedelta

import pytest
from msgspec.structs import replace
from sqlalchemy import text

from bot.__main__ import main
from bot.commands.opening import with_demo_secrets
from bot.commands.readiness import lacks, staff_lacks, sync_lacks
from bot.commands.secret_checks import DEMO_SECRETS, KEY_NAME, secret_faults
from bot.fieldwork.dispatch import Roster
from bot.programme import load_programme
from bot.service.accounts import add_account
from bot.service.database import open_database
from bot.service.roster import import_roster
from bot.settings import Settings
from tests.commands.test_serving import OWN
from tests.web.wires import PROGRAMME

NOW = datetime.now(UTC)
GOOD = Settings(secret_key=OWN[KEY_NAME], public_url="https://bushpost.example", behind_proxy=True)
TOML = PROGRAMME.files["programme.toml"].replace("invented = true", "invented = false")
SENDS = TOML.replace('kind = "signed"\n', 'kind = "signed"\nsend_url = "https://c.example/out"\n')


def programme(toml: str = SENDS):
    return load_programme({**PROGRAMME.files, "programme.toml": toml})


@pytest.fixture
def address(tmp_path):
    address = f"sqlite:///{tmp_path / 'live.sqlite3'}"
    database = open_database(address)
    import_roster(database, PROGRAMME.roster)
    add_account(database, "ines", "brindle hut at dusk", NOW)
    database.close()
    return address


def told(address, *, toml=SENDS, settings=GOOD, env=OWN, now=NOW):
    return {f"{a.where}: {a.what}" for a in lacks(programme(toml), settings, env, address, now)}


def test_nothing_is_found_where_all_is_well(address):
    assert told(address) == set()


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"env": {**OWN, KEY_NAME: DEMO_SECRETS[KEY_NAME]}}, "is the demo's"),
        ({"env": {}}, "BUSHPOST_PADDOCK_SECRET is not set"),
        ({"settings": Settings(behind_proxy=True)}, "BUSHPOST_PUBLIC_URL is not set"),
        ({"settings": Settings(public_url="http://b.example", behind_proxy=True)}, "in clear"),
        ({"settings": Settings(public_url="https://b.example")}, "BUSHPOST_BEHIND_PROXY=yes"),
        ({"toml": SENDS.replace('"000"', '""')}, "emergency in programme.toml"),
        ({"toml": TOML}, "paddock has no send_url"),
        ({"toml": SENDS.replace("https://c", "http://c")}, "paddock sends over http"),
        ({"toml": SENDS.replace("= false", "= true", 1)}, "invented"),
        ({"now": NOW - timedelta(days=1)}, ""),
    ],
)
def test_each_lack_is_told_by_itself(address, changes, words):
    found = told(address, **changes)
    assert any(words in line for line in found) if words else found == set()


def test_texts_from_the_future_are_a_clock_that_went_back(address):
    database = open_database(address)
    with database.write() as connection:
        connection.execute(
            text(
                "INSERT INTO texts_in (gateway, gateway_id, sender, body, sent_at, arrived_at)"
                " VALUES ('a', '1', 's', '', '2099-01-01 00:00:00', '2099-01-01 00:00:00.000000')"
            )
        )
    database.close()
    assert any(line.startswith("clock: ") for line in told(address))


def test_an_older_schema_and_an_empty_desk_are_told(tmp_path, address):
    assert told(f"sqlite:///{tmp_path / 'none'}") == {
        "database: there is none yet: bushpost add-coordinator NAME makes it"
    }
    assert not (tmp_path / "none").exists()
    database = open_database(address)
    with database.write() as connection:
        connection.execute(text("DELETE FROM accounts"))
    assert told(address) == {"people: nobody can log in: bushpost add-coordinator NAME"}
    with database.write() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '0001'"))
    database.close()
    assert any("its schema is 0001" in line for line in told(address))


def test_lax_writing_is_told(address):
    database = open_database(address)
    with database.engine.connect() as connection:
        assert list(sync_lacks(connection)) == []
        connection.exec_driver_sql("COMMIT")
        connection.exec_driver_sql("PRAGMA synchronous = NORMAL")
        assert ["FULL" in lack.what for lack in sync_lacks(connection)] == [True]
    database.close()


def test_staff_out_of_reach_of_every_zone_are_told():
    near = next(m for m in PROGRAMME.roster if m.role == "field")
    far = replace(near, lat=-12.4, lon=130.8, reach_km=80.0)
    assert list(staff_lacks(Roster((near,), {}), PROGRAMME)) == []
    (lack,) = staff_lacks(Roster((far,), {}), PROGRAMME)
    assert f"{far.id} lives" in lack.what
    (nobody,) = staff_lacks(Roster((), {}), PROGRAMME)
    assert "nobody on the roster" in nobody.what


@pytest.mark.parametrize(
    ("value", "words"),
    [
        ("pigs on the hill", "shorter than 32"),
        ("ab" * 30, "different characters"),
        ("whsec_" + base64.b64encode(b"x" * 23).decode(), "fewer than 24 bytes"),
        ("whsec_???", "fewer than 24 bytes"),
    ],
)
def test_a_weak_secret_is_named_and_not_repeated(value, words):
    ((name, why),) = secret_faults({KEY_NAME: value}, [KEY_NAME])
    assert (name, words in why, value in why) == (KEY_NAME, True, False)
    with pytest.raises(ValueError, match=words):
        with_demo_secrets({KEY_NAME: value}, [KEY_NAME], public=True)


def test_one_secret_for_two_doors_is_told():
    env = {"A": OWN[KEY_NAME], "B": OWN[KEY_NAME]}
    assert list(secret_faults(env, ["A", "B"])) == [("B", "is the same as A")]


def test_the_command_says_so_by_its_exit_code(tmp_path, monkeypatch, capsys):
    monkeypatch.delenv(KEY_NAME, raising=False)
    assert main(["ready", "--database", f"sqlite:///{tmp_path / 'x'}"]) == 1
    out = capsys.readouterr().out
    assert f"secrets: {KEY_NAME} is not set\n" in out
    assert "Not ready: " in out
    assert "Photos and backups are not encrypted" in out
    monkeypatch.setenv("BUSHPOST_ENCRYPTION_KEY", base64.b64encode(bytes(32)).decode())
    main(["ready", "--database", f"sqlite:///{tmp_path / 'x'}"])
    assert "Photos and backups are encrypted" in capsys.readouterr().out
    assert main(["ready", "--programme", "/nowhere/at/all"]) == 2
