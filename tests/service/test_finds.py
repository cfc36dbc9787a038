"""Texts go in by the one door; the evidence reads the finds and the laboratory's word back."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import create_engine, select, text

from bot.commands.loading import loaded_dialog, loaded_programme
from bot.fieldwork.custody import HUNTER, HandedOver, LabSaid
from bot.messages import Closed, Correction, Heard
from bot.service import tables
from bot.service.custody import keep_custody
from bot.service.database import Database
from bot.service.finds import kept_finds
from bot.service.migrate import upgrade
from bot.service.wiring import open_intake

AT = datetime(2026, 11, 16, 19, 30, tzinfo=UTC)
CLEAN = "checked all six glands in the head, all clear. boar shot 5am today, -36.766 147.119"
SUSPECT = "sow shot 5am today at -36.70 147.20, pus in the jaw gland, head is in the ute"


@pytest.fixture
def texted(database):
    """A clean find and a suspect one, from two hunters."""
    intake = open_intake(database, loaded_dialog(None), loaded_programme(None))
    for number, (sender, body) in enumerate(
        [("+61491573770", CLEAN), ("+61491570006", SUSPECT)], 1
    ):
        intake.hear(Heard(f"t{number}", "paddock", sender, body, AT), AT)
    return database


def read(database, until=AT + timedelta(days=1)):
    with database.read() as connection:
        finds = kept_finds(connection, until)
    return [finds.find(n) for n in range(len(finds))]


def test_finds_come_back_as_evidence(texted):
    clean, suspect = read(texted)
    assert (clean.state, clean.outcome, clean.looked.count) == ("clean", "", 6)
    assert (clean.animal.species, clean.animal.sort) == ("pig", "boar")
    assert (clean.lat, clean.lon) == pytest.approx((-36.766, 147.119))
    assert suspect.state == "suspect"
    assert suspect.when.earliest < AT


def test_what_was_opened_later_is_not_read(texted):
    assert read(texted, AT) == []


@pytest.mark.parametrize(
    ("status", "outcome", "heard"),
    [("final", "positive", "positive"), ("final", "negative", "negative"), ("received", "", "")],
)
def test_the_laboratorys_word_stands_with_its_find(texted, status, outcome, heard):
    code = next(k.code for k in read(texted) if k.state == "suspect")
    given = HandedOver(AT, "f1", code, HUNTER, "f1")
    said = LabSaid(AT, "lab", code, status, outcome=outcome)
    with texted.write() as connection:
        keep_custody(connection, code, [given, said], AT)
    assert [k.outcome for k in read(texted)] == ["", heard]


def test_a_correction_changes_the_row_and_no_find_takes_it_out(database):
    intake = open_intake(database, loaded_dialog(None), loaded_programme(None))
    code = intake.hear(Heard("t1", "paddock", "+61491573770", CLEAN, AT), AT).code
    later = AT + timedelta(minutes=5)
    intake.tell(code, Correction(later, "ines", "kill_place", "-36.70 147.20"), later)
    (moved,) = read(database)
    assert (moved.lat, moved.lon) == pytest.approx((-36.70, 147.20))
    intake.tell(code, Closed(later, "ines", "no_find", ""), later)
    assert read(database) == []


def test_an_older_database_gets_the_rows_that_writing_makes(tmp_path, sqlite):
    """The migration reads stored JSON by itself; what it makes is what the ledger would."""
    intake = open_intake(sqlite, loaded_dialog(None), loaded_programme(None))
    for n, body in enumerate((CLEAN, SUSPECT, "3 clean, 2 sows 1 boar, Sat 14 Nov, Brindle Hut")):
        intake.hear(Heard(f"m{n}", "paddock", f"+6149157015{6 + n}", body, AT), AT)
    old = Database(create_engine(f"sqlite:///{tmp_path / 'old.sqlite3'}"))
    every = select(tables.Evidence.__table__).order_by(tables.Evidence.conversation_id)
    with sqlite.read() as now, old.engine.begin() as then:
        upgrade(then, "0005")
        for table in ("hunters", "conversations"):
            rows = now.execute(text(f"SELECT * FROM {table}")).mappings().all()
            names = ", ".join(rows[0])
            values = ", ".join(f":{name}" for name in rows[0])
            then.execute(text(f"INSERT INTO {table} ({names}) VALUES ({values})"), [*rows])
        upgrade(then, "0006")
        made, written = then.execute(every).all(), now.execute(every).all()
    old.close()
    assert len(written) == 3
    assert made == written
