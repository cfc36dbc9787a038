"""What the pages read is what was stored, in the order in which a person needs it."""

from __future__ import annotations

import msgspec
import pytest

from bot.messages import Heard, Photo, Text
from bot.programme import Programme
from bot.service import tables as t
from bot.service.beginning import keep_contents
from bot.service.database import Database
from bot.service.desk import Desk
from bot.service.intake import Intake
from bot.service.photos import Shelf
from bot.service.reviewing import claim, release
from bot.service.roster import import_roster
from tests.service.fakes import (
    HOUR,
    HUNTER,
    MATE,
    NELL,
    NOON,
    RULES,
    column,
    heard,
    new_intake,
)


@pytest.fixture
def intake(database: Database, programme: Programme) -> Intake:
    import_roster(database, programme.roster)
    return new_intake(database, programme)


@pytest.fixture
def desk(database: Database) -> Desk:
    return Desk(database)


def test_the_review_list_has_a_row_a_find(intake: Intake, desk: Desk) -> None:
    calm = intake.hear(heard("review calm", "1"), NOON).code
    urgent = intake.hear(heard("review now", "2", MATE), NOON + HOUR).code
    intake.hear(heard("boom", "3", MATE), NOON + HOUR)
    first, second = desk.review_list(NOON + HOUR)
    assert (first.code, first.at_once) == (urgent, True)
    assert set(first.reasons) == {"odd", "software_fault"}
    assert first.heard == ("now", "boom")
    assert (second.code, second.reasons, second.opened_at) == (calm, ("odd",), NOON)


def test_a_settled_find_leaves_the_list(intake: Intake, desk: Desk) -> None:
    intake.hear(heard("review x", "1"), NOON)
    intake.hear(heard("settle", "2"), NOON)
    assert desk.review_list(NOON) == ()


def test_a_find_is_one_persons_until_released(intake: Intake, desk: Desk) -> None:
    code = intake.hear(heard("review x", "1"), NOON).code
    assert claim(intake.database, code, "ines")
    assert claim(intake.database, code, "ines")
    assert not claim(intake.database, code, "tom")
    assert desk.review_list(NOON)[0].taken_by == "ines"
    release(intake.database, code, "tom")
    assert not claim(intake.database, code, "tom")
    release(intake.database, code, "ines")
    assert claim(intake.database, code, "tom")


def test_the_card_shows_everything(intake: Intake, desk: Desk) -> None:
    code = intake.hear(heard("ask seen", "1"), NOON).code
    intake.hear(heard("answer pus", "2", at=NOON), NOON + HOUR)
    intake.hear(heard("pickup", "3"), NOON + 2 * HOUR)
    intake.hear(heard("yes", "4", NELL), NOON + 3 * HOUR)
    card = desk.find_card(code)
    assert (card.code, card.turn, card.number, card.channel) == (code, 4, HUNTER, "sms")
    assert (card.opened_at, card.last_event_at) == (NOON, NOON + 3 * HOUR)
    assert [a.heard for a in card.answers] == ["pus"]
    assert (card.pickup.state, card.find_state) == ("taken", "suspect")
    assert [(x.body, x.state, x.with_staff) for x in card.lines] == [
        ("ask seen", "", False),
        ("advice", "waiting", False),
        ("seen?", "withdrawn", False),
        ("answer pus", "", False),
        ("thanks", "waiting", False),
        ("pickup", "", False),
        (f"fetch {code}?", "waiting", True),
        ("yes", "", True),
        ("news taken", "waiting", False),
    ]
    assert [x.segments for x in card.lines if not x.inward] == [1] * 5
    assert [(e.stream, e.seq) for e in card.events][-2:] == [("pickup", 2), ("conversation", 4)]
    assert desk.find_card("K2K-2K2") is None


def test_finds_are_listed_newest_first_a_page_at_a_time(intake: Intake, desk: Desk) -> None:
    codes = [intake.hear(heard("x", str(n), f"+6149157{n:04}"), NOON).code for n in range(5)]
    page = desk.finds(limit=3)
    rest = desk.finds(before=page[-1].id)
    assert [row.code for row in (*page, *rest)] == codes[::-1]


def test_the_outbox_says_how_it_stands(intake: Intake, desk: Desk) -> None:
    assert (desk.outbox_state().waiting, desk.outbox_state().oldest) == (0, None)
    intake.hear(heard("one", "1"), NOON)
    intake.hear(heard("two", "2"), NOON + HOUR)
    state = desk.outbox_state()
    assert (state.waiting, state.failed, state.oldest) == (2, 0, NOON)


# ------------------------------------------------------------------------------------- the chat


def say(intake: Intake, body: str, id: str, **more) -> None:
    intake.hear(Heard(id, "chat", "session-1", body, NOON, **more), NOON)


def test_a_chat_reads_on_from_where_it_was(intake: Intake, desk: Desk) -> None:
    assert desk.chat_talk("session-1").entries == ()
    say(intake, "one", "1")
    first = desk.chat_talk("session-1", 0)
    assert [(e.inward, e.body) for e in first.entries] == [(True, "one"), (False, "noted one")]
    assert desk.chat_talk("session-1", first.after).entries == ()
    say(intake, "two", "2")
    assert [e.body for e in desk.chat_talk("session-1", first.after).entries] == [
        "two",
        "noted two",
    ]
    assert desk.chat_talk("session-2").entries == ()


def test_what_was_withdrawn_is_not_shown_in_the_chat(intake: Intake, desk: Desk) -> None:
    say(intake, "ask seen", "1")
    say(intake, "answer pus", "2")
    talk = desk.chat_talk("session-1")
    assert sorted(e.body for e in talk.entries) == ["advice", "answer pus", "ask seen", "thanks"]
    assert desk.chat_talk("session-1", talk.after).entries == ()


def test_a_photo_stays_with_its_text(intake: Intake, desk: Desk) -> None:
    key = Shelf(intake.database).keep(b"\xff\xd8", "image/jpeg", None, None, NOON)
    say(intake, "", "1", photos=(Photo(key),))
    assert desk.chat_talk("session-1").entries[0].photos == (Photo(key),)
    (text_id,) = column(intake.database, t.TextIn.id)
    assert column(intake.database, t.Photo.text_id) == [text_id]


# --------------------------------------------------------------------------------------- replay


def test_a_conversation_is_the_replay_of_its_events(intake: Intake, desk: Desk) -> None:
    for n, body in enumerate(["ask seen", "answer pus", "review x", "stop"]):
        code = intake.hear(heard(body, str(n)), NOON + n * HOUR).code
    history = desk.history(code)
    state = history.first
    for event in history.events:
        state, _ = RULES.step(state, msgspec.json.decode(event.body, type=Text))
    assert state == desk.find_card(code).conversation
    assert desk.history("K2K-2K2") is None


def test_the_files_behind_a_hash_are_kept(database: Database, desk: Desk) -> None:
    for files in ({"report.toml": "version = 1"}, {"report.toml": "other"}):
        keep_contents(database, {"abc": files})
    assert desk.contents("abc") == {"report.toml": "version = 1"}
    assert desk.contents("def") is None
