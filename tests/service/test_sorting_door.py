"""Typed in, joined and split, on both databases, with the real machines: all or nothing, once."""

from __future__ import annotations

import pytest
from sqlalchemy import func, select

from bot.programme import Programme
from bot.service import tables as t
from bot.service.beginning import TakenCode
from bot.service.codes import draw, seeded
from bot.service.database import Database
from bot.service.desk import Desk
from bot.service.intake import Intake
from bot.service.roster import import_roster
from bot.service.sorting_door import Entry, MovedOnError
from bot.service.wiring import open_intake
from bot.shipped import dialog_files
from bot.talk.dialog import load_dialog
from bot.talk.sorting import CannotSort
from bot.talk.state import Conversation
from tests.service.fakes import HUNTER, MATE, NOON, heard

DIALOG = load_dialog(dialog_files())
RICH = (
    "Boar, lump under the jaw with pus, 2 km N of Brindle Hut, yesterday, "
    "head is at Brindle Hut in the freezer, double bagged"
)


@pytest.fixture
def intake(database: Database, programme: Programme) -> Intake:
    import_roster(database, programme.roster)
    return open_intake(database, DIALOG, programme, seeded(3))


def entry(id: str = "e1", words: str = RICH, how: str = "telephone", **more: object) -> Entry:
    return Entry(id, "ines", how, words, **more)  # type: ignore[arg-type]


def talk_of(database: Database, code: str) -> Conversation:
    card = Desk(database).find_card(code)
    assert card is not None
    return card.conversation


def outbox(database: Database, code: str) -> set[tuple[str, str, str]]:
    query = select(t.TextOut.gateway, t.TextOut.state, t.TextOut.error).join(
        t.Conversation, t.Conversation.id == t.TextOut.conversation_id
    )
    mine = query.where(t.Conversation.code == code, t.TextOut.hunter_id.is_not(None))
    with database.read() as connection:
        return {tuple(row) for row in connection.execute(mine)}


def finds(database: Database) -> int:
    with database.read() as connection:
        return connection.scalar(select(func.count()).select_from(t.Conversation)) or 0


def test_what_was_told_goes_through_the_same_machine(intake: Intake, database: Database) -> None:
    code = intake.enter(entry(), NOON)
    talk = talk_of(database, code)
    assert talk.kind == "head"
    assert {"seen", "kill_place", "when", "species", "head_at"} <= set(talk.answers)
    assert talk.with_person
    assert outbox(database, code) == {("desk", "withdrawn", "by_voice")}


def test_a_number_can_be_rung_by_staff_but_gets_no_text(intake: Intake, database: Database) -> None:
    code = intake.enter(entry(number="0491 570 006"), NOON)
    card = Desk(database).find_card(code)
    assert card is not None
    assert card.pickup is not None
    assert card.pickup.contact == HUNTER
    assert outbox(database, code) == {("desk", "withdrawn", "by_voice")}


def test_the_bot_texts_who_wants_it(intake: Intake, database: Database) -> None:
    code = intake.enter(entry(number="0491 570 006", texts=True), NOON)
    assert not talk_of(database, code).with_person
    assert outbox(database, code) == {("paddock", "waiting", "")}


def test_a_form_that_comes_twice_is_one_find(intake: Intake, database: Database) -> None:
    assert intake.enter(entry(), NOON) == intake.enter(entry(), NOON)
    assert finds(database) == 1


def test_a_crate_goes_in_under_printed_codes(intake: Intake, database: Database) -> None:
    codes = [draw(1) for _ in range(4)]
    for n, code in enumerate(codes):
        typed = code.lower().replace("-", " ")
        assert intake.enter(entry(f"c{n}", how="crate", code=typed), NOON) == code
    with pytest.raises(TakenCode):
        intake.enter(entry("again", how="crate", code=codes[0]), NOON)
    assert finds(database) == len(codes)


@pytest.mark.parametrize("bad", [{"code": "K7R-4T9X"}, {"number": "12"}, {"number": "no idea"}])
def test_what_cannot_be_is_refused_whole(
    intake: Intake, database: Database, bad: dict[str, str]
) -> None:
    with pytest.raises(CannotSort):
        intake.enter(entry(**bad), NOON)
    assert finds(database) == 0
    with database.read() as connection:
        assert connection.scalar(select(func.count()).select_from(t.TextIn)) == 0


def test_two_hunters_talks_of_one_animal_are_joined(intake: Intake, database: Database) -> None:
    one = intake.hear(heard(RICH, "1"), NOON).code
    two = intake.hear(heard("lump in the jaw of a boar", "2", MATE), NOON).code
    seen = talk_of(database, one).turn
    with pytest.raises(MovedOnError):
        intake.join(one, two, "ines", NOON, seen - 1)
    intake.join(one, two, "ines", NOON, seen)
    ended, stays = talk_of(database, one), talk_of(database, two)
    assert ended.stage == "closed"
    assert stays.answers["when"] == ended.answers["when"]
    old, new = Desk(database).find_card(one), Desk(database).find_card(two)
    assert old is not None
    assert new is not None
    assert old.find_state == "no_find"
    assert old.pickup is not None
    assert old.pickup.state == "called_off"
    assert new.pickup is not None
    assert new.pickup.state != "called_off"
    kinds = [(e.stream, e.kind) for e in old.events]
    assert kinds.index(("conversation", "joined")) < kinds.index(("pickup", "called_off"))


@pytest.mark.parametrize("into", ["K7R-4TR", ""])
def test_only_what_is_there_can_be_joined(intake: Intake, into: str) -> None:
    code = intake.hear(heard(RICH, "1"), NOON).code
    with pytest.raises(LookupError):
        intake.join(code, into, "ines", NOON, 1)
    with pytest.raises(CannotSort, match="itself"):
        intake.join(code, code, "ines", NOON, 1)


def test_a_second_animal_gets_a_find_of_its_own(intake: Intake, database: Database) -> None:
    one = intake.hear(heard(RICH, "1"), NOON).code
    before = talk_of(database, one)
    shared = ("kill_place", "when", "head_at", "storage")
    two = intake.split(one, "ines", "sow, lumps in the jaw", shared, NOON, before.turn)
    new = talk_of(database, two)
    assert two != one
    assert new.answers["species"].value.sort == "sow"  # type: ignore[union-attr]
    assert new.answers["when"] == before.answers["when"]
    assert talk_of(database, one).answers == before.answers
    card = Desk(database).find_card(two)
    assert card is not None
    assert card.number == HUNTER
    assert card.find_state == "suspect"


def test_a_split_that_nobody_can_read_leaves_nothing(intake: Intake, database: Database) -> None:
    one = intake.hear(heard(RICH, "1"), NOON).code
    before = talk_of(database, one)
    with pytest.raises(CannotSort):
        intake.split(one, "ines", "qwertz", (), NOON, before.turn)
    assert finds(database) == 1
    assert talk_of(database, one) == before
