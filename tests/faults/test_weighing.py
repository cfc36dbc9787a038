"""The weighing finds what it is there to find: a check that cannot fail shows nothing."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlalchemy import delete, update

from bot.programme import Programme
from bot.service import tables as t
from bot.service.database import open_database
from bot.service.outbox import deliver
from bot.service.roster import import_roster
from bot.service.wiring import open_intake
from bot.shipped import dialog_files
from bot.talk.dialog import load_dialog
from tests.faults import weighing
from tests.faults.carrier import HandOver
from tests.faults.schedule import Fault
from tests.service.fakes import HUNTER, FakeGateway, heard

MORNING = datetime(2026, 11, 25, 0, 0, tzinfo=UTC)
FIND = (
    "Shot a boar at -36.9051, 147.1822 yesterday about 9pm, pus in the gland under the jaw. "
    "Head bagged in the freezer at Kerrin Flat depot. State forest. Name's Gil, jaw back please"
)
SENT = [HandOver(f"out-{n}", HUNTER, 10.0 + n, "ok") for n in (1, 2)]
"""The book of a carrier that got the hunter's two texts."""


@pytest.fixture(scope="module")
def stored(tmp_path_factory: pytest.TempPathFactory, programme: Programme) -> Path:
    """A database with one find and its pickup, everything sent."""
    file = tmp_path_factory.mktemp("weighed") / "bushpost.sqlite3"
    database = open_database(f"sqlite:///{file}")
    import_roster(database, programme.roster)
    intake = open_intake(database, load_dialog(dialog_files()), programme)
    intake.hear(heard(FIND, "1", at=MORNING), MORNING)
    while deliver(database, {"paddock": FakeGateway()}, MORNING).sent:
        pass
    database.close()
    return file


CHECKS = {
    "kept_once": lambda database: weighing.kept_once(database, {"1": FIND}),
    "replays": weighing.replays,
    "pickups_once": weighing.pickups_once,
    "handed_over": lambda database: weighing.handed_over(database, SENT, ()),
    "in_order": lambda database: weighing.in_order(database, SENT),
    "nothing_waits": weighing.nothing_waits,
}
TALK = t.Conversation
TO_STAFF = delete(t.TextOut).where(t.TextOut.hunter_id.is_(None))


@pytest.mark.parametrize(
    ("check", "damage"),
    [
        ("kept_once", update(t.TextIn).values(body="other words")),
        ("kept_once", update(t.TextIn).values(gateway_id="2")),
        ("kept_once", update(t.TextIn).values(hunter_id=None)),
        ("replays", update(TALK).values(version=9)),
        ("replays", delete(t.Effect)),
        ("replays", update(t.TextIn).values(body="other words")),
        ("pickups_once", delete(t.Pickup)),
        ("pickups_once", update(t.Pickup).values(version=9)),
        ("handed_over", update(t.TextOut).values(state="failed")),
        ("handed_over", update(t.TextOut).values(number="+61491570110")),
        ("handed_over", delete(t.TextOut)),
        ("nothing_waits", update(t.TextOut).values(state="waiting")),
        ("nothing_waits", update(t.Timer).values(due_at=MORNING, done_at=None)),
    ],
)
def test_damage_is_found(stored: Path, tmp_path: Path, check: str, damage) -> None:
    database = open_database(f"sqlite:///{shutil.copy(stored, tmp_path)}", migrate=False)
    with database.write() as connection:
        connection.execute(TO_STAFF)
        connection.execute(update(t.Timer).values(done_at=MORNING))
    if check != "replays":  # Loading the words for it takes a second; other tests replay.
        assert list(CHECKS[check](database)) == []
    with database.write() as connection:
        connection.execute(damage)
    assert list(CHECKS[check](database))
    database.close()


def again(at: float, answer: str = "ok") -> list[HandOver]:
    return [HandOver("out-1", HUNTER, 10.0, answer), SENT[1], HandOver("out-1", HUNTER, at, "ok")]


@pytest.mark.parametrize(
    ("book", "faults", "found"),
    [
        (again(18.0), [], True),
        (again(18.0, "drop"), [], False),
        (again(18.0, "hang"), [], False),
        (again(18.0), [Fault("kill deliver 1", 10.1, 10.2)], False),
        (again(18.0), [Fault("kill deliver 1", 9.0, 9.5)], True),
        (again(18.0), [Fault("kill deliver 1", 17.0, 17.1)], True),
        (again(18.0), [Fault("kill web 1", 10.1, 10.2)], True),
        (again(18.0), [Fault("500", 10.1, 10.2)], True),
        (SENT[1:], [], True),
    ],
)
def test_a_text_goes_out_again_only_after_what_may_have_lost_its_mark(
    stored: Path, tmp_path: Path, book, faults, found
) -> None:
    database = open_database(f"sqlite:///{shutil.copy(stored, tmp_path)}", migrate=False)
    with database.write() as connection:
        connection.execute(TO_STAFF)
    assert bool(list(weighing.handed_over(database, book, faults))) == found
    database.close()


def test_an_overtaking_text_is_found(stored: Path, tmp_path: Path) -> None:
    database = open_database(f"sqlite:///{shutil.copy(stored, tmp_path)}", migrate=False)
    swapped = [HandOver("out-1", HUNTER, 12.0, "ok"), HandOver("out-2", HUNTER, 11.0, "ok")]
    assert list(weighing.in_order(database, swapped)) == [
        "out-2 (notice) overtook out-1 (advice) by 1.00 s"
    ]
    database.close()
