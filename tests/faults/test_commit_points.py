"""One conversation, killed at every commit: before it, and after it and before anybody heard.

A child process plays it and kills itself with signal 9 at the n-th commit; then everything is
brought in and sent once more, as carriers and init systems do. What stands in the database must
be what stands there when nothing is killed. A kill is no power cut: see test_sync_settings.
"""

from __future__ import annotations

import os
import signal
from collections import Counter
from datetime import datetime, timedelta
from pathlib import Path

from sqlalchemy import select

from bot.gateways.protocol import Sent
from bot.messages import Address
from bot.programme import Programme
from bot.service import tables as t
from bot.service.database import Database
from bot.service.outbox import deliver
from bot.service.roster import import_roster
from tests.service.fakes import HUNTER, NELL, NOON, heard, new_intake

TALK = (
    (HUNTER, "ask seen"),
    (HUNTER, "answer pus"),
    (HUNTER, "pickup now"),
    (NELL, "yes"),
    (HUNTER, "review odd"),
)
LATER = timedelta(minutes=30)
COMMITS = 15
"""Of the conversation when nothing is killed: one for each text, one for each claim, one for each
mark. The test itself sees that they are so many."""

KEPT = (
    (t.TextIn.gateway_id, t.TextIn.body, t.TextIn.sender),
    (t.Conversation.code, t.Conversation.version, t.Conversation.state),
    (t.Event.stream, t.Event.seq, t.Event.kind, t.Event.body),
    (t.Effect.position, t.Effect.body),
    (t.Answer.question, t.Answer.value, t.Answer.heard),
    (t.Pickup.code, t.Pickup.version, t.Pickup.state),
    (t.TextOut.number, t.TextOut.body, t.TextOut.state),
    (t.Timer.stream, t.Timer.mark, t.Timer.due_at),
    (t.Review.reason, t.Review.heard),
)


class Book:
    """A carrier that writes on disk what it got, so that it outlives whoever handed it over."""

    def __init__(self, file: Path) -> None:
        self.file = file
        file.write_text("")

    def send(self, address: Address, body: str, key: str) -> Sent:
        with self.file.open("a") as book:
            book.write(f"{address.number} {body}\n")
        return Sent(key)

    def counts(self) -> Counter[str]:
        return Counter(self.file.read_text().splitlines())


def play(database: Database, programme: Programme, book: Book, now: datetime) -> None:
    """Bring every text in, and send what is due after each."""
    intake = new_intake(database, programme)
    for n, (sender, body) in enumerate(TALK):
        intake.hear(heard(body, str(n), sender), NOON)
        while deliver(database, {"paddock": book}, now).sent:
            pass


def counting(database: Database, at: int = 0, after: bool = False) -> list[int]:
    """Count commits; kill this very process at one of them."""
    commit, seen = database.engine.dialect.do_commit, [0]

    def watched(driver) -> None:
        seen[0] += 1
        if seen[0] == at and not after:
            os.kill(os.getpid(), signal.SIGKILL)
        commit(driver)
        if seen[0] == at:
            os.kill(os.getpid(), signal.SIGKILL)

    database.engine.dialect.do_commit = watched
    return seen


def killed(database: Database, programme: Programme, book: Book, at: int, after: bool) -> bool:
    """Play in a child that dies at a commit; whether it did. No connection crosses the fork."""
    database.close()
    child = os.fork()
    if child == 0:
        try:
            counting(database, at, after)
            play(database, programme, book, NOON)
        finally:
            os._exit(0)
    return os.WIFSIGNALED(os.waitpid(child, 0)[1])


def kept(database: Database) -> list[list[tuple]]:
    """What stands in the database, without row numbers, tries and moments of sending."""
    with database.read() as connection:
        return [sorted(map(tuple, connection.execute(select(*columns)))) for columns in KEPT]


def emptied(database: Database, programme: Programme) -> None:
    with database.write() as connection:
        for table in reversed(t.Base.metadata.sorted_tables):
            connection.execute(table.delete())
    import_roster(database, programme.roster)


def test_a_conversation_survives_a_kill_at_every_commit(
    database: Database, programme: Programme, tmp_path: Path
) -> None:
    book = Book(tmp_path / "book")
    emptied(database, programme)
    commits = counting(database)
    play(database, programme, book, NOON)
    assert commits == [COMMITS]
    del database.engine.dialect.do_commit
    undisturbed, sent = kept(database), book.counts()
    assert len(sent) == sent.total() > 4
    for at in range(1, COMMITS + 1):
        for after in (False, True):
            emptied(database, programme)
            book = Book(tmp_path / "book")
            assert killed(database, programme, book, at, after), (at, after)
            play(database, programme, book, NOON + LATER)
            assert kept(database) == undisturbed, (at, after)
            again = book.counts() - sent
            assert not sent - book.counts(), (at, after)
            # Only a mark that was lost sends a text again, and each kill loses one at most.
            assert again.total() <= (not after), (at, after)
