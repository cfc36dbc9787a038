"""Old texts leave for a file, and nothing else changes; what is not settled stays."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import func, insert, select, update

from bot.__main__ import main
from bot.programme import Programme
from bot.service import tables as t
from bot.service.archiving import copy_old_texts, let_go, too_young
from bot.service.codes import seeded
from bot.service.copying import opened_backup
from bot.service.database import Database, open_database
from bot.service.desk import Desk
from bot.service.intake import Intake
from bot.service.outbox import deliver
from bot.service.replaying import replay_stored
from bot.service.wiring import open_intake
from bot.shipped import dialog_files
from bot.talk.dialog import load_dialog
from tests.service.fakes import HUNTER, MATE, NOON, FakeGateway, heard

CLEAN = "Boar, clean, nothing wrong, looked at all the glands, 2 km N of Brindle Hut, yesterday"
DAY = timedelta(days=1)
LATER = NOON + 200 * DAY
BEFORE = NOON + 50 * DAY


@pytest.fixture
def intake(database: Database, programme: Programme) -> Intake:
    return open_intake(database, load_dialog(dialog_files()), programme, seeded(3))


def settled(intake: Intake, key: str, sender: str = HUNTER, at=NOON) -> str:
    """A clean find whose texts have all gone out; its code."""
    for place, body in enumerate((CLEAN, "cheers")):
        when = at + place * timedelta(minutes=1)
        intake.hear(heard(body, f"{key}-{place}", sender=sender, at=when), when)
    gateways = {name: FakeGateway() for name in intake.programme.head.gateways}
    while deliver(intake.database, gateways, at + timedelta(hours=1)).sent:
        pass
    with intake.database.read() as connection:
        code = connection.scalar(select(t.Conversation.code).order_by(t.Conversation.id.desc()))
    assert code
    return code


def archived(source: Database, folder: Path, before=BEFORE) -> tuple[int, int]:
    """(texts in the file, finds that have let go of theirs)."""
    target = open_database(f"sqlite:///{folder / 'archive.sqlite3'}")
    texts = copy_old_texts(source, target, before, silent).texts
    finds = let_go(source, target, before, LATER, silent)
    target.close()
    return texts, finds


def silent(doing: str, done: int, goal: int) -> None:
    assert 0 <= done <= goal


def count(database: Database, *models: type[t.Base]) -> list[int]:
    with database.read() as connection:
        return [connection.scalar(select(func.count()).select_from(m)) or 0 for m in models]


def rest(database: Database) -> Iterable[int]:
    """Rows of all tables that an archive leaves alone."""
    goes = {t.TextIn, t.TextOut, t.Photo, t.Carried, t.Archived}
    return count(database, *(m.class_ for m in t.Base.registry.mappers if m.class_ not in goes))


def test_the_texts_go_and_all_else_stays(intake: Intake, database: Database, tmp_path: Path):
    code = settled(intake, "old")
    with database.write() as connection:
        text = connection.scalar(select(func.min(t.TextIn.id)))
        picture = {"key": "k", "type": "image/jpeg", "data": b"x", "kept_at": NOON}
        connection.execute(insert(t.Photo).values(text_id=text, **picture))
    new = settled(intake, "new", MATE, NOON + 100 * DAY)
    stays, (came, went) = rest(database), count(database, t.TextIn, t.TextOut)
    shown = Desk(database).find_card(code)
    texts, finds = archived(database, tmp_path)
    assert finds == 1
    assert rest(database) == stays
    left = count(database, t.TextIn, t.TextOut)
    assert texts == came + went - sum(left) > 2
    assert count(database, t.Photo) == [0]
    card = Desk(database).find_card(code)
    assert shown
    assert card
    assert (card.lines, card.archived_at) == ((), LATER)
    assert card.answers == shown.answers != ()
    assert Desk(database).find_card(new).lines
    assert replay_stored(database) == replay_stored(database)
    assert replay_stored(database).differing == ()


def test_the_file_opens_as_a_backup_and_plays_again(intake, database, tmp_path):
    code = settled(intake, "old")
    archived(database, tmp_path)
    file = tmp_path / "archive.sqlite3"
    with opened_backup(file) as archive:
        card = Desk(archive).find_card(code)
        assert [line.body for line in card.lines if line.body in (CLEAN, "cheers")] == [
            CLEAN,
            "cheers",
        ]
        assert replay_stored(archive) == replay_stored(database)
    restored = f"sqlite:///{tmp_path / 'restored.sqlite3'}"
    assert main(["restore", str(file), "--database", restored]) == 0


@pytest.mark.parametrize(
    "keeps",
    [
        pytest.param(update(t.TextOut).values(state="waiting"), id="a text still to go out"),
        pytest.param(update(t.Conversation).values(last_event_at=BEFORE), id="a younger event"),
        pytest.param(update(t.TextIn).values(arrived_at=BEFORE), id="a younger text"),
        pytest.param(update(t.Hunter).values(channel="chat"), id="a talk in the chat"),
        pytest.param(
            insert(t.ChatLink).from_select(
                ["session", "hunter_id", "made_at"],
                select(t.Hunter.number, t.Hunter.id, t.Hunter.first_text_at),
            ),
            id="a browser that speaks for the hunter",
        ),
        pytest.param(
            insert(t.Review).from_select(
                ["conversation_id", "reason", "opened_at", "heard", "at_once", "taken_by"],
                select(
                    *(t.Conversation.id, t.Conversation.code, t.Conversation.opened_at),
                    *(t.Conversation.code, t.Hunter.opted_out, t.Conversation.code),
                ).join(t.Hunter, t.Hunter.id == t.Conversation.hunter_id),
            ),
            id="something for a person",
        ),
    ],
)
def test_what_is_not_settled_stays(intake, database, tmp_path, keeps):
    settled(intake, "old")
    with database.write() as connection:
        connection.execute(keeps)
    before = count(database, t.TextIn, t.TextOut)
    assert archived(database, tmp_path) == (0, 0)
    assert count(database, t.TextIn, t.TextOut) == before


def test_a_find_that_speaks_again_meanwhile_keeps_its_texts(intake, database, tmp_path):
    settled(intake, "old")
    target = open_database(f"sqlite:///{tmp_path / 'archive.sqlite3'}")
    assert copy_old_texts(database, target, BEFORE, silent).texts
    before = count(database, t.TextIn, t.TextOut)
    with database.write() as connection:
        row = {"gateway_id": "more", "body": "?", "sent_at": NOON, "arrived_at": NOON}
        find = connection.scalar(select(t.Conversation.id))
        more = {"gateway": "paddock", "sender": HUNTER, "conversation_id": find, **row}
        connection.execute(insert(t.TextIn).values(more))
    assert let_go(database, target, BEFORE, LATER, silent) == 0
    assert count(database, t.TextIn, t.TextOut) == [before[0] + 1, before[1]]


def test_nothing_younger_than_ninety_days_is_old():
    assert too_young(NOON, NOON + 89 * DAY)
    assert not too_young(NOON, NOON + 90 * DAY)


@pytest.fixture
def file(tmp_path: Path, migrated_file: Path, programme: Programme) -> str:
    """The address of a SQLite database with one find of last year."""
    address = f"sqlite:///{tmp_path / 'live.sqlite3'}"
    database = open_database(address)
    intake = open_intake(database, load_dialog(dialog_files()), programme, seeded(3))
    settled(intake, "old", at=NOON - 400 * DAY)
    database.close()
    return address


def test_the_command_says_what_it_moved(file, tmp_path, capsys):
    day = f"{NOON - 300 * DAY:%Y-%m-%d}"
    words = ["archive", str(tmp_path / "2025.archive"), "--before", day, "--database", file]
    assert main(words) == 0
    said = capsys.readouterr().out
    assert "of 1 finds" in said
    assert "1 finds have let go" in said
    assert (tmp_path / "2025.archive").stat().st_mode & 0o077 == 0
    assert main(words) == 2
    assert "is there already" in capsys.readouterr().err
    words[1] = str(tmp_path / "again")
    assert main(words) == 2
    assert "nothing so old" in capsys.readouterr().err
    assert not list(tmp_path.glob("again*"))


@pytest.mark.parametrize(
    ("day", "words"), [("last year", "--before: 'last year'"), ("2099-01-01", "90 days")]
)
def test_the_command_names_a_day_that_will_not_do(file, tmp_path, capsys, day, words):
    assert main(["archive", str(tmp_path / "a"), "--before", day, "--database", file]) == 2
    assert words in capsys.readouterr().err
