"""The watchdog's figures and the check of durable writing, on both databases."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import update

from bot.commands.readiness import sync_lacks
from bot.programme import Programme
from bot.service import tables as t
from bot.service.codes import seeded
from bot.service.database import Database
from bot.service.figures import figures
from bot.service.wiring import open_intake
from bot.shipped import dialog_files
from bot.talk.dialog import load_dialog
from tests.service.fakes import NOON, heard


@pytest.fixture
def told(database: Database, programme: Programme) -> Database:
    open_intake(database, load_dialog(dialog_files()), programme, seeded(3)).hear(
        heard("Boar, lump under the jaw with pus"), NOON
    )
    return database


def test_what_waits_and_for_how_long(told):
    now = figures(told, NOON + timedelta(seconds=40))
    assert now.waiting > 0
    assert (now.held, now.oldest_out, now.sent_hour, now.timers) == (0, 40, {}, 0)


def test_what_is_held_is_no_alarm_and_what_went_is_counted_for_an_hour(told):
    with told.write() as connection:
        connection.execute(update(t.TextOut).values(error="quiet_hours"))
    now = figures(told, NOON + timedelta(seconds=40))
    assert (now.held, now.oldest_out) == (now.waiting, 0)
    with told.write() as connection:
        sent = {"state": "sent", "sent_at": NOON, "report": "delivered", "error": ""}
        connection.execute(update(t.TextOut).values(sent))
    assert figures(told, NOON + timedelta(minutes=59)).sent_hour == {"delivered": now.waiting}
    assert figures(told, NOON + timedelta(minutes=61)).sent_hour == {}


def test_waits_that_ran_out_are_counted(told):
    late = figures(told, NOON + timedelta(days=3))
    assert late.timers > 0
    assert late.oldest_timer > 0


def test_lax_writing_is_seen_on_either_database(database):
    lax = "PRAGMA synchronous = OFF" if database.is_sqlite else "SET synchronous_commit = off"
    with database.engine.connect() as connection:
        before = set(sync_lacks(connection))
        if database.is_sqlite:
            connection.exec_driver_sql("COMMIT")  # Within a transaction the PRAGMA does nothing.
        connection.exec_driver_sql(lax)
        (lack,) = set(sync_lacks(connection)) - before
        connection.invalidate()
    assert "synchronous" in lack.what
