"""The same finds for the same words on both databases, kept in the transaction of the text."""

from __future__ import annotations

import pytest
from sqlalchemy import delete, select

from bot.messages import PersonWrote
from bot.programme import Programme
from bot.service import findable
from bot.service import tables as t
from bot.service.codes import seeded
from bot.service.database import Database
from bot.service.erasing import erase, hunters_of
from bot.service.findable import fold, found_finds, keep_missing, lines_with, search, tokens
from bot.service.intake import Intake
from bot.service.roster import import_roster
from bot.service.wiring import open_intake
from bot.shipped import dialog_files
from bot.talk.dialog import load_dialog
from tests.service.fakes import HUNTER, MATE, NOON, heard, new_intake

DIALOG = load_dialog(dialog_files())


@pytest.mark.parametrize(
    ("words", "folded"),
    [
        ("Où est-elle, Zoë?", "ou est elle zoe"),
        ("2026-11-25 at -36.87", "20261125 at 36 87"),
        ("no code k7r 4t", "no code k7r 4t"),
        ("x" * 60, "x" * 40),
        ("'\"*:&|!() AND OR NEAR", "and or near"),
        ("", ""),
    ],
)
def test_words_are_folded_in_one_way(words: str, folded: str) -> None:
    assert fold(words) == folded


def test_codes_stay_whole_however_written() -> None:
    code = seeded(1)(0)
    plain = code.replace("-", "").lower()
    for written in (code, code.lower(), code.replace("-", " "), code.replace("-", "")):
        assert fold(f"for {written} now") == f"for {plain} now"


def test_a_number_is_one_word_in_full() -> None:
    assert tokens("0491 570 006", "AU") == tokens("+61 491 570 006", "AU") == ("61491570006",)
    assert tokens("boar 25 nov", "AU") == ("boar", "25", "nov")


@pytest.fixture
def intake(database: Database, programme: Programme) -> Intake:
    import_roster(database, programme.roster)
    return open_intake(database, DIALOG, programme, seeded(3))


@pytest.fixture
def finds(intake: Intake) -> dict[str, str]:
    one = "Boar, lump under the jaw with pus, 2 km N of Brindle Hut, yesterday, my mate Zoë shot it"
    two = "Sow with lumps in the lungs near Tallow Saddle on sunday, 'OR' \"quotes\" (and) : * & |"
    return {
        "boar": intake.hear(heard(one, "1"), NOON).code,
        "sow": intake.hear(heard(two, "2", MATE), NOON).code,
    }


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ("brindle", ["boar"]),
        ("Brindle hut boar", ["boar"]),
        ("brindle sow", []),
        ("tallow sad", ["sow"]),
        ("zoe", ["boar"]),
        ("ZOË", ["boar"]),
        ("lump", ["sow", "boar"]),
        ("2026-11-24", ["boar"]),
        ("24 nov", ["boar"]),
        ("sunday 22", ["sow"]),
        ("0491 570 006", ["boar"]),
        ("+61491570110", ["sow"]),
        ("tallow north", ["sow", "boar"]),
        ("quotes", ["sow"]),
        ("OR", ["sow"]),
        ("* & | : ( ) ' \"", []),
        ("gloves", []),
        ("", []),
        ("nothing like it", []),
    ],
)
def test_both_databases_find_the_same(
    database: Database, finds: dict[str, str], asked: str, found: list[str]
) -> None:
    names = {code: name for name, code in finds.items()}
    rows = search(database, tokens(asked, "AU"))
    assert [names[row.code] for row in found_finds(database, rows)] == found


def test_a_code_is_found_however_typed(database: Database, finds: dict[str, str]) -> None:
    code = finds["sow"]
    for typed in (code, code.lower().replace("-", ""), code[:3] + " " + code[4:], code[:3]):
        rows = search(database, tokens(typed, "AU"))
        assert code in [row.code for row in found_finds(database, rows)]


def test_pages_follow_each_other(database: Database, finds: dict[str, str]) -> None:
    first = search(database, ("lump",), most=1)
    second = search(database, ("lump",), before=first[-1], most=1)
    assert len({*first, *second}) == 2
    assert search(database, ("lump",), before=second[-1]) == ()


def test_a_line_says_why(database: Database, finds: dict[str, str]) -> None:
    rows = search(database, ("zoe",))
    (line,) = lines_with(database, rows, ("zoe",)).values()
    assert "my mate Zoë" in line


def test_what_is_rolled_back_is_not_found(database: Database, programme: Programme) -> None:
    intake = new_intake(database, programme)
    intake.hear(heard("boom goes the bandicoot", "9", HUNTER), NOON)
    assert search(database, ("bandicoot",)) == ()


def test_what_is_taken_away_is_not_found(database: Database, finds: dict[str, str]) -> None:
    with database.write() as connection:
        row = connection.scalar(
            select(t.Conversation.id).where(t.Conversation.code == finds["sow"])
        )
        connection.execute(delete(t.Findable).where(t.Findable.conversation_id == row))
    assert search(database, ("tallow", "saddle")) == ()


def test_finds_that_are_older_than_the_search_become_searchable_once(
    database: Database, programme: Programme, intake: Intake, finds: dict[str, str]
) -> None:
    intake.tell(finds["boar"], PersonWrote(NOON, "ines", "ring the bandicoot warden"), NOON)
    erase(database, hunters_of(database, programme, MATE), NOON)
    query = select(t.Findable.conversation_id, t.Findable.card, t.Findable.said)
    with database.write() as connection:
        before = connection.execute(query).all()
        connection.execute(delete(t.Findable))
    assert search(database, ("bandicoot",)) == ()
    assert keep_missing(database, intake.rules.describe) == 1
    assert keep_missing(database, intake.rules.describe) == 0
    with database.read() as connection:
        assert connection.execute(query).all() == before
    (row,) = found_finds(database, search(database, ("bandicoot", "brindle", "61491570006")))
    assert row.code == finds["boar"]
    assert search(database, ("quotes",)) == ()


def test_more_finds_than_one_transaction_takes(
    database: Database, intake: Intake, finds: dict[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(findable, "AT_ONCE", 1)
    monkeypatch.setattr(findable, "_MISSING", findable._MISSING.limit(1))
    with database.write() as connection:
        connection.execute(delete(t.Findable))
    assert keep_missing(database, intake.rules.describe) == 2
    assert len(search(database, ("lump",))) == 2
