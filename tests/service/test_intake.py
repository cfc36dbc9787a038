"""One text, one transaction: kept once, answered in order, never lost, whatever breaks."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from itertools import count

import msgspec
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from sqlalchemy import delete
from sqlalchemy.exc import OperationalError

from bot.messages import Event, Heard, OpenPickup, PersonWrote, PickupNews, Pin, TellHunter
from bot.programme import Programme
from bot.service import tables as t
from bot.service.database import Database, open_database
from bot.service.desk import Desk
from bot.service.intake import Intake
from bot.service.outbox import LEASE, claim
from bot.service.roster import import_roster
from bot.service.sorting_door import MovedOnError
from bot.talk.state import Conversation, PickupView, dump, load
from tests.service.fakes import (
    HOUR,
    HUNTER,
    MATE,
    NOON,
    column,
    heard,
    new_intake,
    rows,
    step,
)


@pytest.fixture
def intake(database: Database, programme: Programme) -> Intake:
    import_roster(database, programme.roster)
    return new_intake(database, programme)


def state_of(database: Database, code: str) -> Conversation:
    (stored,) = column(database, t.Conversation.state, t.Conversation.code == code)
    return load(stored)


def test_a_text_is_kept_and_answered(intake: Intake) -> None:
    database = intake.database
    receipt = intake.hear(heard("lumpy boar"), NOON)
    assert (receipt.repeat, receipt.fault) == (False, False)
    assert rows(database, t.TextIn.body, t.TextIn.sender) == [("lumpy boar", HUNTER)]
    out = rows(database, t.TextOut.body, t.TextOut.gateway, t.TextOut.number, t.TextOut.state)
    assert out == [("noted lumpy boar", "paddock", HUNTER, "waiting")]
    assert state_of(database, receipt.code).held == ("lumpy boar",)
    assert rows(database, t.Event.seq, t.Event.kind, t.Event.dialog_hash) == [
        (1, "text", "dialog-1")
    ]


def test_a_repeat_changes_nothing(intake: Intake) -> None:
    first = intake.hear(heard("lumpy boar"), NOON)
    again = intake.hear(heard("lumpy boar"), NOON + HOUR)
    assert again.repeat
    assert not first.repeat
    assert len(column(intake.database, t.TextIn.id)) == 1
    assert len(column(intake.database, t.TextOut.id)) == 1


def test_the_same_id_from_another_gateway_is_another_text(intake: Intake) -> None:
    intake.hear(heard("one"), NOON)
    other = Heard("1", "ridge", HUNTER, "two", NOON)
    assert not intake.hear(other, NOON).repeat


@pytest.mark.parametrize("written", ["0491 570 006", "61491570006", "+61 491 570 006"])
def test_a_number_is_one_hunter_however_it_is_written(intake: Intake, written: str) -> None:
    first = intake.hear(heard("one", "1"), NOON)
    second = intake.hear(heard("two", "2", written), NOON)
    assert second.code == first.code
    assert column(intake.database, t.Hunter.number) == [HUNTER]


def test_a_hunter_is_answered_where_he_last_wrote(intake: Intake) -> None:
    intake.hear(heard("one", "1"), NOON)
    intake.hear(Heard("2", "ridge", HUNTER, "two", NOON), NOON)
    assert column(intake.database, t.TextOut.gateway, order=t.TextOut.id) == ["paddock", "ridge"]
    assert len(column(intake.database, t.Hunter.id)) == 1


def test_a_chat_session_is_a_hunter_of_its_own(intake: Intake) -> None:
    intake.hear(heard("one", "1"), NOON)
    intake.hear(Heard("2", "chat", HUNTER, "two", NOON), NOON)
    assert rows(intake.database, t.Hunter.channel, t.Hunter.number) == [
        ("chat", HUNTER),
        ("sms", HUNTER),
    ]


def test_a_sender_that_is_no_number_is_kept_raw_and_a_person_told(intake: Intake) -> None:
    intake.hear(heard("one", sender="BUSHSAT"), NOON)
    assert column(intake.database, t.Hunter.number) == ["BUSHSAT"]
    assert column(intake.database, t.Review.reason) == ["sender_unreadable"]


@pytest.mark.parametrize(
    ("claimed", "believed"),
    [
        (NOON - HOUR, NOON - HOUR),
        (NOON + HOUR, NOON),
        (NOON - timedelta(days=29), NOON - timedelta(days=29)),
        (NOON - timedelta(days=400), NOON - timedelta(days=30)),
    ],
)
def test_the_time_of_sending_is_believed_within_reason(intake: Intake, claimed, believed) -> None:
    intake.hear(heard("one", at=claimed), NOON)
    assert rows(intake.database, t.TextIn.sent_at, t.TextIn.arrived_at) == [(believed, NOON)]


def test_what_a_database_cannot_hold_is_still_kept(intake: Intake) -> None:
    receipt = intake.hear(heard("a\x00b \ud83d c"), NOON)
    assert not receipt.fault
    assert column(intake.database, t.TextIn.body) == ["a\ufffdb ? c"]


def test_pin_is_kept_with_its_text(intake: Intake) -> None:
    intake.hear(Heard("1", "paddock", HUNTER, "here", NOON, Pin(-36.8, 147.1)), NOON)
    assert column(intake.database, t.TextIn.pin) == ['{"lat":-36.8,"lon":147.1,"accuracy_m":50.0}']


def test_eight_first_texts_at_once_are_one_conversation(intake: Intake) -> None:
    with ThreadPoolExecutor(8) as pool:
        texts = [heard(f"part {n}", str(n)) for n in range(8)]
        receipts = list(pool.map(lambda text: intake.hear(text, NOON), texts))
    assert len({r.code for r in receipts}) == 1
    assert sorted(state_of(intake.database, receipts[0].code).held) == [
        f"part {n}" for n in range(8)
    ]
    assert column(intake.database, t.Event.seq) == list(range(1, 9))


def test_one_text_delivered_eight_times_at_once_is_one(intake: Intake) -> None:
    with ThreadPoolExecutor(8) as pool:
        receipts = list(pool.map(lambda n: intake.hear(heard("once"), NOON), range(8)))
    assert [r.repeat for r in receipts].count(False) == 1
    assert len(column(intake.database, t.TextOut.id)) == 1


EXAMPLES = count()

deliveries = st.lists(
    st.tuples(
        st.sampled_from([HUNTER, MATE]),
        st.integers(0, 5),
        st.sampled_from(["ask seen", "answer pus", "hello", "boom", "stop", "pickup", "forget"]),
    ),
    min_size=1,
    max_size=12,
)


@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(deliveries)
def test_whatever_is_delivered_is_kept_once_and_replays(intake: Intake, deliveries) -> None:
    """The first of those with one id counts; every conversation is the replay of its events."""
    example = next(EXAMPLES)
    first: dict[str, str] = {}
    for minute, (who, n, body) in enumerate(deliveries):
        text = heard(body, f"{example}-{who}-{n}", who)
        receipt = intake.hear(text, NOON + timedelta(minutes=minute))
        assert receipt.repeat == (text.id in first)
        first.setdefault(text.id, body)
    kept = rows(intake.database, t.TextIn.gateway_id, t.TextIn.body)
    assert {i: b for i, b in kept if i.startswith(f"{example}-")} == first
    desk = Desk(intake.database)
    for code in column(intake.database, t.Conversation.code):
        history = desk.history(code)
        talk = history.first
        for row in history.events:
            if row.stream == "conversation":
                talk, _ = step(talk, msgspec.json.decode(row.body, type=Event))
        assert talk == desk.find_card(code).conversation


# ------------------------------------------------------------------------------ what can break


def test_a_machine_that_raises_loses_no_text(intake: Intake, caplog) -> None:
    intake.hear(heard("ask seen", "1"), NOON)
    receipt = intake.hear(heard("boom now", "2"), NOON)
    assert receipt.fault
    assert column(intake.database, t.TextIn.body, order=t.TextIn.id) == ["ask seen", "boom now"]
    assert rows(intake.database, t.Review.reason, t.Review.heard, t.Review.at_once) == [
        ("software_fault", "boom now", True)
    ]
    assert state_of(intake.database, receipt.code).held == ("ask seen",)
    assert [r.fault.partition("@")[0] for r in caplog.records] == ["ValueError"]
    assert "boom now" not in caplog.text
    assert intake.hear(heard("boom now", "2"), NOON).repeat


def test_a_first_text_that_breaks_still_gets_a_find(intake: Intake) -> None:
    receipt = intake.hear(heard("boom"), NOON)
    assert receipt.fault
    assert intake.hear(heard("again", "2"), NOON).code == receipt.code


def test_a_stored_state_that_cannot_be_read_loses_no_text(intake: Intake) -> None:
    code = intake.hear(heard("one"), NOON).code
    with intake.database.write() as connection:
        connection.execute(t.Conversation.__table__.update().values(state="{"))
    receipt = intake.hear(heard("two", "2"), NOON)
    assert (receipt.fault, receipt.code) == (True, code)


def test_machines_that_talk_in_circles_are_stopped(
    database: Database, programme: Programme, caplog
) -> None:
    def step(talk, event):
        order = OpenPickup(-36.8, 147.1, 50.0, "the hut")
        return Conversation(talk.code, NOON, turn=talk.turn + 1, pickup=PickupView()), (order,)

    def move(pickup, event, roster):
        return pickup, (TellHunter(PickupNews(event.at, "offered")),)

    intake = new_intake(database, programme, step=step, move=move)
    assert intake.hear(heard("one"), NOON).fault
    assert caplog.records[0].fault.startswith("EndlessTalkError@bot.service.unfold:")
    assert column(database, t.Pickup.id) == []


def test_a_routing_that_raises_loses_no_text(
    database: Database, programme: Programme, caplog
) -> None:
    def broken(*args: object) -> None:
        raise KeyError("which")

    intake = new_intake(database, programme, choose=broken)
    assert intake.hear(heard("one"), NOON).fault
    assert caplog.records[0].fault.startswith("KeyError@")
    assert column(database, t.TextIn.body) == ["one"]


def test_where_nothing_could_be_kept_the_carrier_is_not_told_it_was(programme: Programme) -> None:
    nowhere = open_database("postgresql://nobody@127.0.0.1:1/none", migrate=False)
    with pytest.raises(OperationalError):
        new_intake(nowhere, programme).hear(heard("one"), NOON)


# ------------------------------------------------------------------- what a text brings about


def test_answers_are_only_ever_added(intake: Intake) -> None:
    for n, body in enumerate(["ask seen", "answer pus", "ask seen", "answer lump", "forget"]):
        intake.hear(heard(body, str(n)), NOON + n * HOUR)
    found = rows(intake.database, t.Answer.id, t.Answer.question, t.Answer.heard, t.Answer.value)
    assert [row[1:] for row in found] == [
        ("seen", "pus", '{"type":"said","keys":[],"words":"pus"}'),
        ("seen", "lump", '{"type":"said","keys":[],"words":"lump"}'),
        ("seen", "lump", "null"),
    ]


def test_an_answered_question_is_withdrawn_and_advice_is_not(intake: Intake) -> None:
    intake.hear(heard("ask seen", "1"), NOON)
    intake.hear(heard("answer pus", "2"), NOON)
    out = rows(intake.database, t.TextOut.id, t.TextOut.body, t.TextOut.state)
    assert [row[1:] for row in out] == [
        ("advice", "waiting"),
        ("seen?", "withdrawn"),
        ("thanks", "waiting"),
    ]


def test_a_question_that_a_worker_has_on_lease_is_left_to_it(intake: Intake) -> None:
    intake.hear(heard("ask seen", "1"), NOON)
    with intake.database.write() as connection:
        connection.execute(delete(t.TextOut).where(t.TextOut.body == "advice"))
    assert [text.body for text in claim(intake.database, NOON, 5)] == ["seen?"]
    intake.hear(heard("answer pus", "2"), NOON)
    out = rows(intake.database, t.TextOut.id, t.TextOut.body, t.TextOut.state)
    assert [row[1:] for row in out] == [("seen?", "waiting"), ("thanks", "waiting")]
    assert claim(intake.database, NOON, 5) == (), "nothing overtakes what is on its way"


def test_a_question_whose_lease_has_run_out_is_withdrawn(intake: Intake) -> None:
    intake.hear(heard("ask seen", "1"), NOON)
    with intake.database.write() as connection:
        connection.execute(delete(t.TextOut).where(t.TextOut.body == "advice"))
    claim(intake.database, NOON, 5)
    intake.hear(heard("answer pus", "2"), NOON + LEASE)
    assert [text.body for text in claim(intake.database, NOON + LEASE, 5)] == ["thanks"]


def test_a_question_asked_anew_is_sent_once(intake: Intake) -> None:
    intake.hear(heard("ask seen", "1"), NOON)
    intake.hear(heard("ask seen", "2"), NOON)
    waiting = column(
        intake.database, t.TextOut.id, t.TextOut.kind == "question", t.TextOut.state == "waiting"
    )
    assert len(waiting) == 1


def test_reviews_stand_once_a_reason_and_are_settled(intake: Intake) -> None:
    for n, body in enumerate(["review first", "review now", "review"]):
        intake.hear(heard(body, str(n)), NOON + n * HOUR)
    reviews = rows(intake.database, t.Review.heard, t.Review.at_once, t.Review.opened_at)
    assert reviews == [("now", True, NOON)]
    intake.hear(heard("settle", "8"), NOON + 8 * HOUR)
    intake.hear(heard("review again", "9"), NOON + 9 * HOUR)
    assert rows(intake.database, t.Review.heard, t.Review.closed_at) == [
        ("again", None),
        ("now", NOON + 8 * HOUR),
    ]


def test_who_stops_gets_the_confirmation_and_nothing_more(intake: Intake) -> None:
    for n, body in enumerate(["ask seen", "stop", "hello", "danger", "start", "hello"]):
        intake.hear(heard(body, str(n)), NOON)
    out = rows(intake.database, t.TextOut.id, t.TextOut.body, t.TextOut.state, t.TextOut.error)
    assert [row[1:] for row in out] == [
        ("advice", "waiting", ""),
        ("seen?", "withdrawn", "opted_out"),
        ("stopped", "waiting", ""),
        ("noted hello", "withdrawn", "opted_out"),
        ("keep off", "waiting", ""),
        ("which?", "withdrawn", "opted_out"),
        ("started", "waiting", ""),
        ("noted hello", "waiting", ""),
    ]


def test_two_hunters_have_finds_of_their_own(intake: Intake) -> None:
    first = intake.hear(heard("one", "1"), NOON)
    second = intake.hear(heard("two", "2", MATE), NOON)
    assert first.code != second.code


def test_a_taken_code_is_drawn_again(database: Database, programme: Programme) -> None:
    first = new_intake(database, programme, seed=3).hear(heard("one", "1"), NOON)
    second = new_intake(database, programme, seed=3).hear(heard("two", "2", MATE), NOON)
    assert first.code != second.code


def test_a_crowded_programme_gets_longer_codes(database: Database, programme: Programme) -> None:
    intake = Intake(
        database,
        new_intake(database, programme).rules,
        programme,
        lambda longer: "K7R-4TX" + "2" * longer,
    )
    codes = [intake.hear(heard("x", str(n), f"+6149157{n:04}"), NOON).code for n in (156, 157)]
    assert codes == ["K7R-4TX", "K7R-4TX2"]


# -------------------------------------------------------------------------------- from the desk


def test_the_desk_tells_a_find_at_the_turn_it_saw(intake: Intake) -> None:
    code = intake.hear(heard("one", "1"), NOON).code
    intake.tell(code, PersonWrote(NOON, "ines", "hi"), NOON, expect_turn=1)
    with pytest.raises(MovedOnError):
        intake.tell(code, PersonWrote(NOON, "tom", "hi"), NOON, expect_turn=1)
    assert state_of(intake.database, code).turn == 2
    with pytest.raises(LookupError):
        intake.tell("K2K-2K2", PersonWrote(NOON, "ines", "hi"), NOON)


def test_another_find_is_not_touched_by_anothers_text(intake: Intake) -> None:
    code = intake.hear(heard("one", "1"), NOON).code
    intake.hear(heard("two", "2", MATE), NOON)
    assert state_of(intake.database, code).held == ("one",)


def test_known_hunters_are_not_greeted_again(intake: Intake) -> None:
    code = intake.hear(heard("one", "1"), NOON).code
    assert not load(column(intake.database, t.Conversation.first_state)[0]).greeted
    with intake.database.write() as connection:
        stored = dump(replace(state_of(intake.database, code), stage="closed")).decode()
        connection.execute(t.Conversation.__table__.update().values(state=stored))
    later = NOON + timedelta(days=20)
    again = intake.hear(heard("two", "2", at=later), later).code
    assert again != code
    (first,) = column(intake.database, t.Conversation.first_state, t.Conversation.code == again)
    assert load(first).greeted
