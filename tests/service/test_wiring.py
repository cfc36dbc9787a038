"""The real machines behind the door: a hunter's text becomes a pickup in somebody's hands."""

from __future__ import annotations

from datetime import timedelta

import msgspec
import pytest

from bot.fieldwork.pickups import move
from bot.fieldwork.staff_dialog import load_staff_dialog
from bot.messages import Event, Heard, PickupEvent
from bot.programme import Programme
from bot.service import tables as t
from bot.service.codes import seeded
from bot.service.database import Database
from bot.service.desk import Desk
from bot.service.intake import Intake
from bot.service.outbox import deliver
from bot.service.roster import import_roster, roster
from bot.service.wiring import open_intake
from bot.shipped import dialog_files
from bot.talk.conversation import step
from bot.talk.dialog import Dialog, load_dialog
from tests.service.fakes import HUNTER, NELL, NOON, FakeGateway, column, heard

MORNING = NOON - timedelta(hours=9)
"""14:00 in Melbourne, when everybody of the demo's roster is on duty."""

REPORT = (
    "Shot a boar this morning, cheesy lumps in the jaw glands, at -36.75, 147.10. "
    "Head bagged in the hut freezer at -36.75, 147.10"
)


@pytest.fixture(scope="module")
def dialog() -> Dialog:
    return load_dialog(dialog_files())


@pytest.fixture
def intake(database: Database, programme: Programme, dialog: Dialog) -> Intake:
    import_roster(database, programme.roster)
    return open_intake(database, dialog, programme, seeded(1))


def play(intake: Intake) -> str:
    """A report, a yes, a collection; the find's code."""
    says = [(HUNTER, REPORT), (NELL, "yes about 4pm"), (NELL, "got it"), (HUNTER, "thanks")]
    for n, (who, body) in enumerate(says):
        at = MORNING + timedelta(minutes=5 * n)
        receipt = intake.hear(Heard(str(n), "paddock", who, body, at), at)
        assert not receipt.fault
    return column(intake.database, t.Conversation.code)[0]


def test_one_rich_text_becomes_a_pickup_in_somebodys_hands(intake: Intake) -> None:
    card = Desk(intake.database).find_card(play(intake))
    assert card.pickup.state == "collected"
    assert card.pickup.staff_id == "f1"
    first = next(line for line in card.lines if not line.inward)
    assert first.kind == "advice"
    assert card.code in first.body
    assert max(line.segments for line in card.lines) <= 2
    assert column(intake.database, t.Review.reason) == []


def test_everything_goes_out_in_order(intake: Intake) -> None:
    play(intake)
    gateway = FakeGateway()
    while deliver(intake.database, {"paddock": gateway}, MORNING + timedelta(hours=1)).sent:
        pass
    hunters = [body for number, body in gateway.sent if number == HUNTER]
    assert hunters[0].startswith("Stop cutting")
    assert len(gateway.keys) == len(set(gateway.keys))


def test_both_machines_are_the_replay_of_their_events(
    intake: Intake, programme: Programme, dialog: Dialog
) -> None:
    desk = Desk(intake.database)
    code = play(intake)
    history, card = desk.history(code), desk.find_card(code)
    staff = load_staff_dialog(dialog.files)
    with intake.database.read() as connection:
        people = roster(connection)
    talk, pickup = history.first, history.first_pickup
    for row in history.events:
        if row.stream == "pickup":
            event = msgspec.json.decode(row.body, type=PickupEvent)
            pickup, _ = move(pickup, event, people, programme, staff)
        else:
            talk, _ = step(talk, msgspec.json.decode(row.body, type=Event), dialog, programme)
    assert (talk, pickup) == (card.conversation, card.pickup)


def test_what_was_in_force_is_kept(intake: Intake, dialog: Dialog) -> None:
    intake.hear(heard("hello"), NOON)
    desk = Desk(intake.database)
    (row,) = column(intake.database, t.Event.dialog_hash)
    assert load_dialog(desk.contents(row)).hash == dialog.hash


def test_a_night_without_a_worker_yields_one_reminder(intake: Intake) -> None:
    intake.hear(heard("lumps in the throat of a boar"), MORNING)
    morning = MORNING + timedelta(days=1)
    assert intake.run_due(morning) == 1
    assert intake.run_due(morning) == 0
    assert len(column(intake.database, t.TextOut.id, t.TextOut.kind == "reminder")) == 1
