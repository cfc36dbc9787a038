"""What is written at once: whose effect is whose, in which order, and what stops it all."""

from __future__ import annotations

import pytest
from sqlalchemy import bindparam, select, text, update
from sqlalchemy.exc import IntegrityError, OperationalError

from bot.programme import Programme
from bot.service import tables as t
from bot.service.database import Database
from bot.service.intake import Intake
from bot.service.prepared import prepared
from bot.service.roster import import_roster
from bot.service.sheet import Change, OvertakenError, Rows, Sheet
from tests.service.fakes import NELL, NOON, column, heard, new_intake

WAITS = Rows(t.Timer, ("stream", "stream_id", "mark", "due_at"))
CHANGE = Change(
    "pickup",
    update(t.Pickup).where(t.Pickup.id == bindparam("row")).values(name=bindparam("standing")),
    sure=True,
)


@pytest.fixture
def intake(database: Database, programme: Programme) -> Intake:
    import_roster(database, programme.roster)
    return new_intake(database, programme)


def test_each_event_of_a_text_has_its_own_effects_in_their_order(intake: Intake) -> None:
    intake.hear(heard("pickup now"), NOON)
    with intake.database.read() as connection:
        found = connection.execute(
            select(t.Event.stream, t.Event.seq, t.Event.kind, t.Effect.body)
            .join(t.Effect, t.Effect.event_id == t.Event.id)
            .order_by(t.Event.id, t.Effect.position)
        ).all()
    kinds = [(row.stream, row.seq, row.kind, row.body.split('"')[3]) for row in found]
    assert kinds == [
        ("conversation", 1, "text", "open_pickup"),
        ("conversation", 1, "text", "keep_find"),
        ("pickup", 1, "opened", "send_text"),
        ("pickup", 1, "opened", "wait_for"),
    ]


def test_texts_out_are_numbered_in_the_order_in_which_they_were_decided(intake: Intake) -> None:
    for n in range(12):
        intake.hear(heard("danger", str(n)), NOON)
    with intake.database.read() as connection:
        bodies = connection.scalars(select(t.TextOut.body).order_by(t.TextOut.id)).all()
    assert bodies == ["keep off", "which?"] * 12


def test_words_with_every_sign_are_written_as_they_were_sent(intake: Intake) -> None:
    body = 'answer "quoted" \\ back\\u0000slash, {braces} %s %(gateway)s $1 :name\nnew 🐗 \x7f'
    intake.hear(heard(body), NOON)
    assert column(intake.database, t.TextIn.body) == [body]
    assert column(intake.database, t.Answer.heard) == [body.partition(" ")[2]]


def test_who_is_on_the_roster_is_known_as_the_text_is_kept(intake: Intake) -> None:
    intake.hear(heard("pickup now"), NOON)
    intake.hear(heard("yes", "2", NELL), NOON)
    assert column(intake.database, t.Pickup.name) == ["taken"]
    assert len(column(intake.database, t.Conversation.code)) == 1


def written(database: Database, change: Change | None = None, rows: Rows | None = None) -> None:
    """A sheet with one change or one row that cannot be."""
    with database.write() as connection:
        sheet = Sheet(connection)
        if change:
            sheet.change(change, {"row": -1, "standing": "taken"})
        if rows:
            sheet.add(rows, {"stream": "nobody", "stream_id": 1, "mark": 1, "due_at": NOON})
        sheet.write()


def test_a_change_that_finds_no_row_is_our_own_fault(database: Database) -> None:
    with pytest.raises(OvertakenError):
        written(database, change=CHANGE)


def test_what_the_database_refuses_is_told_as_the_engine_tells_it(database: Database) -> None:
    with pytest.raises(IntegrityError):
        written(database, rows=WAITS)


def test_a_connection_that_is_cut_is_told_as_the_engine_tells_it(postgres: Database) -> None:
    ask, own, pids = prepared(select(t.Staff.id)), text("SELECT pg_backend_pid()"), list[int]()

    def cut() -> None:
        with postgres.write() as connection:
            pids.append(connection.execute(own).scalar_one())
            with postgres.engine.connect() as other:
                other.execute(text("SELECT pg_terminate_backend(:pid)"), {"pid": pids[0]})
            ask.all(connection, {})

    with pytest.raises(OperationalError):
        cut()
    with postgres.write() as connection:
        assert connection.scalar(own) != pids[0]
        assert isinstance(ask.all(connection, {}), list)
