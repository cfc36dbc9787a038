"""After erasing, no table on either database holds a word, number or name of the hunter; the
values that make the find evidence are as they were."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import select, text

from bot.evidence.told_age import AgeTold
from bot.fieldwork.custody import HUNTER as HUNTER_HAS_IT
from bot.fieldwork.custody import HandedOver, LabSaid
from bot.messages import PersonWrote, Photo, Pin
from bot.programme import Programme
from bot.service import tables as t
from bot.service.ages import ages_of, keep_age
from bot.service.codes import seeded
from bot.service.custody import keep_custody, trail_of
from bot.service.database import Database
from bot.service.desk import Desk
from bot.service.erasing import NobodyError, erase, export, hunters_of
from bot.service.findable import search
from bot.service.intake import Intake
from bot.service.photos import Shelf
from bot.service.resealing import reseal
from bot.service.roster import import_roster
from bot.service.sealing import Sealer, SealError
from bot.service.wiring import open_intake
from bot.shipped import dialog_files
from bot.talk.dialog import load_dialog
from tests.service.fakes import HUNTER, MATE, NOON, heard, new_intake

DIALOG = load_dialog(dialog_files())
SAID = (
    "Boar, lump under the jaw with pus, 2 km N of Brindle Hut, yesterday, "
    "head is at Brindle Hut in the freezer, double bagged, zanzibarred",
    "private, owner knows",
    "my name is Quentin Marchbanks",
    "ring 0491 570 157 rather",
    "flibbertigibbet",
)
SECRETS = (
    "zanzibarred",
    "Quentin",
    "Marchbanks",
    "570006",
    "flibbertigibbet",
    "Xylophonic",
    "jpegpixels",
)


@pytest.fixture
def intake(database: Database, programme: Programme) -> Intake:
    import_roster(database, programme.roster)
    return open_intake(database, DIALOG, programme, seeded(3))


@pytest.fixture
def code(intake: Intake, database: Database) -> str:
    key = Shelf(database).keep(b"jpegpixels", "image/jpeg", Pin(1, 2), NOON, NOON)
    code = ""
    for n, words in enumerate(SAID):
        at = NOON + timedelta(minutes=n)
        said = heard(words, str(n), at=at)
        if n == 0:
            said = type(said)(said.id, said.gateway, said.sender, words, at, photos=(Photo(key),))
        code = intake.hear(said, at).code
    intake.tell(code, PersonWrote(NOON, "ines", "Dear Xylophonic Quentin"), NOON)
    return code


def everything(database: Database) -> str:
    """Every column of every table as text, the full-text index among them."""
    found: list[str] = []
    with database.read() as connection:
        for table in t.Base.metadata.sorted_tables:
            found += [str(tuple(row)) for row in connection.execute(table.select())]
        if database.is_sqlite:
            words = "SELECT group_concat(c0 || c1) FROM findable_words_content"
            exists = text("SELECT 1 FROM sqlite_master WHERE name = 'findable_words_content'")
            if connection.scalar(exists):
                found.append(str(connection.scalar(text(words))))
    return "\n".join(found)


def test_no_table_holds_a_word_of_the_hunter(
    intake: Intake, database: Database, programme: Programme, code: str
) -> None:
    intake.hear(heard("another hunter, a sow with lumps", "m", MATE), NOON)
    before = everything(database)
    assert [s for s in SECRETS if s not in before] == []
    card = Desk(database).find_card(code)
    assert card is not None
    values = {
        k: card.conversation.answers[k].value for k in ("kill_place", "when", "species", "seen")
    }
    done = erase(database, hunters_of(database, programme, HUNTER), NOON)
    assert done.talks == 1
    assert done.texts >= len(SAID)
    after = everything(database)
    assert [s for s in SECRETS if s in after] == []
    assert "another hunter" in after
    again = Desk(database).find_card(code)
    assert again is not None
    assert {k: again.conversation.answers[k].value for k in values} == values
    assert "name" not in again.conversation.answers
    assert again.find_state == card.find_state
    assert Desk(database).history(code) is None
    assert search(database, ("flibbertigibbet",)) == ()
    assert [w.code for w in Desk(database).review_list(NOON) if w.code == code] == []


def test_notes_on_the_head_and_its_age_go_and_what_they_prove_stays(
    intake: Intake, database: Database, programme: Programme, code: str
) -> None:
    other = intake.hear(heard("Sow with lumps in the jaw at Tallow Saddle", "m", MATE), NOON).code
    with database.write() as connection:
        for find in (code, other):
            note = f"Marchbanks of {find} was rude"
            given = HandedOver(NOON, "f1", find, HUNTER_HAS_IT, "f1", words=note)
            said = LabSaid(NOON, "lab", find, "final", outcome="negative", words=note)
            keep_custody(connection, find, [given, said], NOON)
            aged = AgeTold(NOON, "lab", "laboratory", "pig", {}, 10.0, 18.0, note)
            keep_age(connection, find, aged)
    erase(database, hunters_of(database, programme, HUNTER), NOON)
    after = everything(database)
    assert f"{code} was rude" not in after
    assert f"{other} was rude" in after
    with database.read() as connection:
        trail, told = trail_of(connection, code), ages_of(connection, code)
    assert [type(event) for event in trail.events][-2:] == [HandedOver, LabSaid]
    assert [s.outcome for s in trail.specimens] == ["negative"]
    assert [(t.lower, t.upper, t.method) for t in told] == [(10.0, 18.0, "erased")]


def test_nothing_more_is_sent_and_a_new_text_begins_anew(
    intake: Intake, database: Database, programme: Programme, code: str
) -> None:
    erase(database, hunters_of(database, programme, code), NOON)
    with database.read() as connection:
        states = set(connection.scalars(select(t.TextOut.state)))
    assert states <= {"withdrawn", "sent", "failed"}
    assert intake.hear(heard("Sow, lump in the jaw", "new"), NOON).code != code
    assert intake.run_due(NOON + timedelta(days=3)) >= 0


def test_nobody_is_erased_for_an_unknown_name(database: Database, programme: Programme) -> None:
    for named in ("0491 570 158", "M2M-2MM", "", "%"):
        with pytest.raises(NobodyError):
            hunters_of(database, programme, named)


def test_an_export_holds_what_was_said_both_ways(
    intake: Intake, database: Database, programme: Programme, code: str
) -> None:
    held = export(database, hunters_of(database, programme, code))
    for words in ("zanzibarred", "Xylophonic", HUNTER, code, "anBlZ3BpeGVscw=="):
        assert words in held


def test_an_export_opens_what_is_encrypted(
    intake: Intake, database: Database, programme: Programme, code: str
) -> None:
    sealer = Sealer((bytes(32),))
    assert reseal(database, sealer).now == 1
    assert "anBlZ3BpeGVscw==" in export(database, hunters_of(database, programme, code), sealer)
    with pytest.raises(SealError, match="no key is set"):
        export(database, hunters_of(database, programme, code))


def test_machines_that_raise_leave_erasing_possible(
    database: Database, programme: Programme
) -> None:
    new_intake(database, programme).hear(heard("boom secret", "1"), NOON)
    erase(database, hunters_of(database, programme, HUNTER), NOON)
    assert "boom secret" not in everything(database)
