"""What is too old is blank afterwards, the rest is as it was, and evidence stays."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import func, select, text

from bot.programme import Privacy, Programme, ProgrammeError, load_programme
from bot.service import tables as t
from bot.service.audit import noted
from bot.service.codes import seeded
from bot.service.database import Database
from bot.service.photos import Shelf
from bot.service.retention import Blanked, Daily, blank_old
from bot.service.roster import import_roster
from bot.service.wiring import open_intake
from bot.shipped import dialog_files
from bot.talk.dialog import load_dialog
from tests.service.fakes import HUNTER, MATE, NOON, heard

DIALOG = load_dialog(dialog_files())
FOUND = "Boar, clean, nothing wrong, 2 km N of Brindle Hut, yesterday, zanzibarred"
DAY = timedelta(days=1)
KEEP = Privacy("us", words_days=100, photos_days=30)


@pytest.fixture
def intake(database: Database, programme: Programme):
    import_roster(database, programme.roster)
    return open_intake(database, DIALOG, programme, seeded(3))


def scalar(database, query):
    with database.read() as connection:
        return connection.scalar(query)


def test_it_is_off_until_an_age_is_named(intake, database):
    intake.hear(heard(FOUND, "1"), NOON)
    assert blank_old(database, Privacy("us"), NOON + 9000 * DAY) == Blanked()
    assert scalar(database, select(t.Hunter.number)) == HUNTER


def test_the_old_hunter_is_blanked_the_newer_is_not_and_finds_stay(intake, database):
    intake.hear(heard(FOUND, "1"), NOON)
    intake.hear(heard(FOUND, "2", sender=MATE), NOON + 50 * DAY)
    answers = select(func.count()).select_from(t.Answer).where(t.Answer.value != "null")
    before = scalar(database, answers)
    done = blank_old(database, KEEP, NOON + 101 * DAY)
    assert done.hunters == 1
    assert done.texts > 1
    assert scalar(database, answers) == before
    with database.read() as connection:
        numbers = set(connection.scalars(select(t.Hunter.number)))
        bodies = set(connection.scalars(select(t.TextIn.body)))
    assert (HUNTER in numbers, MATE in numbers) == (False, True)
    assert bodies == {"", FOUND}
    (line,) = noted(database)
    assert (line.who, line.act) == ("service", "retention")
    assert line.what.startswith("1 hunters, ")
    assert blank_old(database, KEEP, NOON + 102 * DAY) == Blanked()


def test_whose_head_is_still_to_be_fetched_waits(intake, database):
    intake.hear(heard(FOUND, "1"), NOON)
    with database.write() as connection:
        connection.execute(
            text(
                "INSERT INTO pickups (conversation_id, code, name, staff_id, version, state,"
                " first_state, opened_at, last_event_at) SELECT id, code, 'taken', 's', 1, '{}',"
                " '{}', opened_at, last_event_at FROM conversations"
            )
        )
    assert blank_old(database, KEEP, NOON + 500 * DAY).hunters == 0


def test_photos_go_by_their_own_age(intake, database):
    shelf = Shelf(database)
    old = shelf.keep(b"old", "image/jpeg", None, None, NOON)
    new = shelf.keep(b"new", "image/jpeg", None, None, NOON + 20 * DAY)
    assert blank_old(database, KEEP, NOON + 31 * DAY) == Blanked(photos=1)
    assert (shelf.fetch(old), shelf.fetch(new)) == (None, ("image/jpeg", b"new"))


def test_a_days_work_is_done_once_a_day_and_again_an_hour_after_a_fault():
    done, broken = [], [True]

    def work(now):
        if broken:
            raise RuntimeError(broken.pop())
        done.append(now)

    daily = Daily(work)
    with pytest.raises(RuntimeError):
        daily.run_if_due(NOON)
    hours = [NOON + timedelta(hours=h) for h in (0, 0.5, 1, 2, 24.5, 25, 26)]
    assert [daily.run_if_due(at) for at in hours] == [False, False, True, False, False, True, False]
    assert done == [hours[2], hours[5]]


def test_an_age_below_nothing_is_refused(programme: Programme):
    head = programme.files["programme.toml"].replace("[privacy]\n", "[privacy]\nwords_days = -1\n")
    with pytest.raises(ProgrammeError, match="words_days"):
        load_programme({**programme.files, "programme.toml": head})
