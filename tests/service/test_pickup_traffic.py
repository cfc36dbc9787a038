"""Both machines in one transaction: orders become events of the pickup, news of the hunter's."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import date, timedelta

import pytest
from msgspec.structs import replace

from bot.fieldwork.state import load
from bot.messages import Assigned, CalledOff, Closed
from bot.programme import Programme
from bot.service import tables as t
from bot.service.database import Database
from bot.service.intake import Intake
from bot.service.roster import import_roster, member_at, roster
from bot.talk import state as talk_state
from tests.service.fakes import HOUR, HUNTER, NELL, NOON, TOM, column, heard, new_intake, rows


@pytest.fixture
def intake(database: Database, programme: Programme) -> Intake:
    import_roster(database, programme.roster)
    return new_intake(database, programme)


@pytest.fixture
def code(intake: Intake, caplog: pytest.LogCaptureFixture) -> Iterator[str]:
    """A find whose pickup is offered to Nell; whatever follows, no machine may have raised."""
    yield intake.hear(heard("pickup please"), NOON).code
    assert [r.message for r in caplog.records if r.message.endswith("fault")] == []


def pickup_states(intake: Intake) -> list[tuple[str, str]]:
    return rows(intake.database, t.Pickup.name, t.Pickup.staff_id)


def out(intake: Intake) -> list[tuple[str, str]]:
    found = rows(intake.database, t.TextOut.id, t.TextOut.number, t.TextOut.body)
    return [row[1:] for row in found]


def test_an_order_opens_the_pickup_and_offers_it(intake: Intake, code: str) -> None:
    assert pickup_states(intake) == [("offered", "f1")]
    assert out(intake) == [(NELL, f"fetch {code}?")]
    assert column(intake.database, t.TextOut.gateway) == ["paddock"]
    assert column(intake.database, t.Conversation.find_state) == ["suspect"]


def test_staff_can_ring_whoever_texts(intake: Intake, code: str) -> None:
    (state,) = column(intake.database, t.Pickup.state)
    assert load(state).contact == HUNTER


def test_ordered_twice_it_is_one_pickup(intake: Intake, code: str) -> None:
    intake.hear(heard("pickup again", "2"), NOON)
    assert len(column(intake.database, t.Pickup.id)) == 1
    assert column(intake.database, t.Event.kind, t.Event.stream == "pickup") == [
        "opened",
        "pickup_changed",
    ]


def test_a_yes_takes_it_and_the_hunter_hears(intake: Intake, code: str) -> None:
    receipt = intake.hear(heard("yes", "2", NELL), NOON + HOUR)
    assert receipt.code == code
    assert pickup_states(intake) == [("taken", "f1")]
    assert out(intake)[1:] == [(HUNTER, "news taken")]
    events = rows(intake.database, t.Event.id, t.Event.stream, t.Event.seq, t.Event.kind)
    assert [row[1:] for row in events] == [
        ("conversation", 1, "text"),
        ("pickup", 1, "opened"),
        ("pickup", 2, "field_reply"),
        ("conversation", 2, "pickup_news"),
    ]
    (state,) = column(intake.database, t.Conversation.state)
    assert talk_state.load(state).pickup.staff_name == "Nell Abbery"


def test_an_answer_counts_only_from_whom_it_was_offered_to(intake: Intake, code: str) -> None:
    """Tom has no offer: he is told so, and it opens no find of his own."""
    receipt = intake.hear(heard("yes", "2", TOM), NOON)
    assert (receipt.fault, receipt.code) == (False, "")
    assert out(intake)[-1] == (TOM, "nothing open")
    assert pickup_states(intake) == [("offered", "f1")]
    assert len(rows(intake.database, t.Conversation.code)) == 1


def test_an_answer_in_his_own_talk_is_a_hunters(intake: Intake, code: str) -> None:
    own = intake.hear(heard("lumpy boar of my own", "2", TOM), NOON).code
    assert intake.hear(heard("yes", "3", TOM), NOON + HOUR).code == own
    assert out(intake)[-1] != (TOM, "nothing open")


def test_staff_who_report_a_find_are_hunters(intake: Intake, code: str) -> None:
    receipt = intake.hear(heard("lumpy boar of my own", "2", NELL), NOON)
    assert receipt.code != code
    assert out(intake)[-1] == (NELL, "noted lumpy boar of my own")


def test_staff_are_asked_back_once_and_then_a_person_reads(intake: Intake, code: str) -> None:
    intake.hear(heard("what hut", "2", NELL), NOON)
    intake.hear(heard("what what", "3", NELL), NOON)
    assert out(intake)[1:] == [(NELL, "pardon unsure"), (NELL, "passed on")]
    assert rows(intake.database, t.Review.reason, t.Review.heard) == [("staff_unread", "what what")]
    assert len(column(intake.database, t.TextIn.id, t.TextIn.conversation_id.is_(None))) == 0


def test_what_was_asked_back_about_is_taken_as_the_report_it_was(intake: Intake, code: str) -> None:
    intake.hear(heard("what about lumps 3 km north", "2", NELL), NOON)
    own = intake.hear(heard("report", "3", NELL), NOON + HOUR).code
    (state,) = column(intake.database, t.Conversation.state, t.Conversation.code == own)
    assert talk_state.load(state).held == ("what about lumps 3 km north",)
    assert len(column(intake.database, t.TextIn.id, t.TextIn.conversation_id.is_(None))) == 0


def test_a_report_that_follows_what_was_asked_back_about_is_heard_too(
    intake: Intake, code: str
) -> None:
    intake.hear(heard("what about it", "2", NELL), NOON)
    own = intake.hear(heard("report: boar with lumps", "3", NELL), NOON + HOUR).code
    (state,) = column(intake.database, t.Conversation.state, t.Conversation.code == own)
    assert talk_state.load(state).held == ("what about it", "report: boar with lumps")


def test_a_word_that_fits_his_own_talk_too_is_asked(intake: Intake, code: str) -> None:
    """Nell has an offer and a question of her own open: a bare yes fits both."""
    own = intake.hear(heard("ask seen", "2", NELL), NOON).code
    intake.hear(heard("yes", "3", NELL), NOON)
    assert out(intake)[-1] == (NELL, "pardon report")
    assert pickup_states(intake) == [("offered", "f1")]
    intake.hear(heard("report", "4", NELL), NOON)
    (state,) = column(intake.database, t.Conversation.state, t.Conversation.code == own)
    assert talk_state.load(state).held == ("ask seen", "yes")


def test_once_asked_a_second_yes_is_the_jobs(intake: Intake, code: str) -> None:
    intake.hear(heard("ask seen", "2", NELL), NOON)
    intake.hear(heard("yes", "3", NELL), NOON)
    intake.hear(heard("yes", "4", NELL), NOON)
    assert pickup_states(intake) == [("taken", "f1")]
    assert column(intake.database, t.TextIn.id, t.TextIn.conversation_id.is_(None)) == []


def test_the_desk_moves_a_pickup(intake: Intake, code: str) -> None:
    intake.tell_pickup(code, CalledOff(NOON, "ines", "found by somebody else"), NOON)
    assert pickup_states(intake)[0][0] == "called_off"
    with pytest.raises(LookupError):
        intake.tell_pickup("K2K-2K2", Assigned(NOON, "ines", "f2"), NOON)


def test_a_pickup_that_is_not_there_cannot_be_moved(intake: Intake) -> None:
    code = intake.hear(heard("hello"), NOON).code
    with pytest.raises(LookupError):
        intake.tell_pickup(code, CalledOff(NOON, "ines"), NOON)


def test_the_hunter_calls_it_off(intake: Intake, code: str) -> None:
    intake.hear(heard("cancel it", "2"), NOON)
    (body,) = column(intake.database, t.Event.body, t.Event.kind == "called_off")
    assert '"by":"hunter"' in body
    assert pickup_states(intake)[0][0] == "called_off"


def test_the_desk_tells_and_no_pickup_is_needed(intake: Intake, code: str) -> None:
    intake.tell(code, Closed(NOON, "ines"), NOON)
    assert out(intake)[-1] == (HUNTER, "Closed")


# ---------------------------------------------------------------------------------- the roster


def test_the_roster_comes_back_as_it_was_imported(database: Database, programme) -> None:
    import_roster(database, programme.roster)
    with database.read() as connection:
        assert roster(connection).members == tuple(sorted(programme.roster, key=lambda m: m.id))
        assert member_at(connection, NELL).id == "f1"
        assert member_at(connection, HUNTER) is None


def test_who_is_left_out_of_an_import_is_no_longer_on_the_roster(
    database: Database, programme: Programme
) -> None:
    import_roster(database, programme.roster)
    import_roster(database, programme.roster[1:])
    import_roster(database, programme.roster[1:])
    with database.read() as connection:
        assert member_at(connection, NELL) is None
        assert len(roster(connection).members) == len(programme.roster) - 1
    assert len(column(database, t.Staff.id)) == len(programme.roster)


def test_a_telephone_may_pass_to_somebody_else(database: Database, programme) -> None:
    import_roster(database, programme.roster)
    successor = replace(programme.roster[0], id="f9", name="Abe Tarn")
    import_roster(database, [successor])
    with database.read() as connection:
        assert member_at(connection, NELL).name == "Abe Tarn"


def test_open_jobs_are_counted(intake: Intake, code: str) -> None:
    with intake.database.read() as connection:
        assert roster(connection).open_jobs == {"f1": 1}


# ------------------------------------------------------------------------------------- waiting


def test_an_offer_lapses_when_its_time_is_up(intake: Intake, code: str) -> None:
    assert intake.run_due(NOON + timedelta(minutes=59)) == 0
    assert intake.run_due(NOON + HOUR) == 1
    assert pickup_states(intake) == [("with_coordinator", "")]
    assert column(intake.database, t.Review.reason) == ["nobody"]
    assert intake.run_due(NOON + 9 * HOUR) == 0


def test_a_stale_lapse_does_nothing_and_is_not_an_event(intake: Intake, code: str) -> None:
    with intake.database.write() as connection:
        connection.execute(t.Timer.__table__.update().values(mark=99))
    assert intake.run_due(NOON + HOUR) == 1
    assert pickup_states(intake) == [("offered", "f1")]
    assert len(column(intake.database, t.Event.id, t.Event.stream == "pickup")) == 1


def test_a_days_downtime_yields_one_reminder(intake: Intake) -> None:
    for n in range(10):
        intake.hear(heard("ask seen", str(n)), NOON + n * HOUR)
    morning = NOON + timedelta(days=1)
    assert intake.run_due(morning) == 10
    reminders = column(intake.database, t.TextOut.body, t.TextOut.kind == "reminder")
    assert reminders == ["well?"]
    assert intake.run_due(morning) == 0
    assert len(column(intake.database, t.Timer.id, t.Timer.done_at.is_(None))) == 0


def test_work_is_bounded_by_the_limit(intake: Intake) -> None:
    for n in range(5):
        intake.hear(heard("ask seen", str(n)), NOON)
    assert intake.run_due(NOON + HOUR, limit=3) == 3
    assert intake.run_due(NOON + HOUR, limit=3) == 2


def test_a_wake_that_breaks_is_done_with_and_a_person_told(
    database: Database, programme: Programme, caplog
) -> None:
    intake = new_intake(database, programme)
    intake.hear(heard("ask seen"), NOON)

    def broken(*args: object) -> None:
        raise RuntimeError("the words of a hunter")

    broken_intake = new_intake(database, programme, step=broken)
    assert broken_intake.run_due(NOON + HOUR) == 1
    assert caplog.records[0].fault.startswith("RuntimeError@")
    assert "words of a hunter" not in caplog.text
    assert column(database, t.Review.reason) == ["software_fault"]
    assert broken_intake.run_due(NOON + HOUR) == 0


def test_six_workers_wake_each_find_once(intake: Intake) -> None:
    for n in range(12):
        intake.hear(heard("ask seen", str(n), f"+614915710{n:02}"), NOON)
    with ThreadPoolExecutor(6) as pool:
        rounds = [pool.submit(intake.run_due, NOON + HOUR) for _ in range(6)]
        woken = sum(each.result() for each in rounds)
    # A worker passes over a find that another has in hand, and comes back to it.
    assert woken + intake.run_due(NOON + HOUR) == 12
    assert len(column(intake.database, t.TextOut.id, t.TextOut.kind == "reminder")) == 12


def test_hunter_and_staff_at_once_lose_nothing(intake: Intake, code: str) -> None:
    texts = [heard(f"word {n}", f"h{n}") for n in range(6)] + [heard("yes", "y", NELL)]
    with ThreadPoolExecutor(7) as pool:
        receipts = list(pool.map(lambda text: intake.hear(text, NOON), texts))
    assert not any(r.fault for r in receipts)
    assert pickup_states(intake) == [("taken", "f1")]
    events = column(intake.database, t.Event.seq, t.Event.stream == "conversation")
    assert events == list(range(1, len(events) + 1))
    assert len(events) == 8


def test_all_that_a_roster_says_of_somebody_comes_back(database: Database, programme) -> None:
    member = replace(
        programme.roster[0],
        leave=((date(2026, 12, 20), date(2027, 1, 5)),),
        on_call=(4, 5),
        call_from=1200,
        fetches=("pig",),
        whole_carcase=True,
        channel="paddock",
        most_jobs=3,
    )
    import_roster(database, [member])
    with database.read() as connection:
        assert roster(connection).members == (member,)
        assert member_at(connection, member.number) == member
