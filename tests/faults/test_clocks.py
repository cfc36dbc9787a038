"""Clocks that are wrong, days that are odd, and a server that stands in another time zone."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import msgspec
import pytest

from bot.programme import Programme
from bot.reading.values import When
from bot.service import tables as t
from bot.service.database import Database
from bot.service.outbox import LEASE, claim, deliver
from bot.service.wiring import open_intake
from bot.shipped import dialog_files
from bot.talk.dialog import Dialog, load_dialog
from tests.service.fakes import HOUR, NOON, FakeGateway, column, heard, new_intake, rows


@pytest.fixture(scope="module")
def dialog() -> Dialog:
    return load_dialog(dialog_files())


@pytest.fixture(params=["UTC", "Pacific/Chatham", "America/St_Johns"])
def server_zone(request: pytest.FixtureRequest) -> Iterator[str]:
    """The process's own zone; both of the others are off by parts of an hour, and have DST."""
    before = os.environ.get("TZ")
    os.environ["TZ"] = request.param
    time.tzset()
    yield request.param
    os.environ.pop("TZ") if before is None else os.environ.__setitem__("TZ", before)
    time.tzset()


@pytest.mark.parametrize("step", [-HOUR, HOUR, -timedelta(days=400), timedelta(days=400)])
def test_a_clock_that_steps_loses_no_text_and_sends_at_once(
    database: Database, programme: Programme, step: timedelta
) -> None:
    intake, gateway = new_intake(database, programme), FakeGateway()
    intake.hear(heard("ask seen", "1"), NOON)
    intake.hear(heard("answer pus", "2"), NOON + step)
    while deliver(database, {"paddock": gateway}, NOON + step).sent:
        pass
    assert [body for _, body in gateway.sent] == ["advice", "thanks"]
    assert sorted(column(database, t.TextIn.gateway_id)) == ["1", "2"]
    assert rows(database, t.Event.seq, t.Event.stream) == [(1, "conversation"), (2, "conversation")]


def test_a_worker_whose_clock_is_behind_sends_what_was_decided_by_one_ahead(
    database: Database, programme: Programme
) -> None:
    new_intake(database, programme).hear(heard("one"), NOON + HOUR)
    assert deliver(database, {"paddock": FakeGateway()}, NOON).sent == 1


def test_a_lease_ends_after_its_time_however_long_the_clock_was_ahead(
    database: Database, programme: Programme
) -> None:
    """What waits for a clock that was set back waits by no more than the step."""
    new_intake(database, programme).hear(heard("one"), NOON)
    assert len(claim(database, NOON + HOUR, 10)) == 1
    assert claim(database, NOON, 10) == ()
    assert len(claim(database, NOON + HOUR + LEASE, 10)) == 1


def test_postgresql_is_every_workers_clock(postgres: Database, server_zone: str) -> None:
    assert postgres.now().tzinfo is UTC
    assert abs(postgres.now() - datetime.now(UTC)) < timedelta(seconds=5)


ODD = [
    # Melbourne goes from UTC+11 to UTC+10 on Sunday 5 April 2026 at 03:00, and back on Sunday
    # 4 October at 02:00 (IANA tz database, rule AV: the first Sundays of April and October).
    # 2028 is a leap year.
    ("2026-04-05T03:00Z", "this morning at 3.30am", ["2026-04-04T17:30Z"]),
    ("2026-10-04T03:00Z", "yesterday at 6pm", ["2026-10-03T08:00Z"]),
    ("2028-03-01T03:00Z", "yesterday at 3pm", ["2028-02-29T04:00Z"]),
    ("2028-02-29T03:00Z", "on 29 feb at 10am", ["2028-02-28T23:00Z"]),
]


@pytest.mark.parametrize(("now", "words", "moments"), ODD)
def test_odd_days_are_read_in_the_programmes_zone_whatever_the_servers(
    sqlite: Database,
    programme: Programme,
    dialog: Dialog,
    server_zone: str,
    now: str,
    words: str,
    moments: list[str],
) -> None:
    at = datetime.fromisoformat(now)
    intake = open_intake(sqlite, dialog, programme)
    intake.hear(heard(f"shot a boar {words} at -36.9051, 147.1822, pus in jaw", at=at), at)
    (stored,) = column(sqlite, t.Answer.value, t.Answer.question == "when")
    when = msgspec.json.decode(stored, type=When)
    assert when.latest - when.earliest <= 3 * HOUR
    for moment in map(datetime.fromisoformat, moments):
        assert when.earliest <= moment <= when.latest
