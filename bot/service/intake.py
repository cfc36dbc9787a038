"""One transaction for each event: a text, a desk's order, a wait that has run out.

Law: gather under locks, decide in memory, write down. Whatever a machine raises rolls all of it
back; a text is then taken a second time without the machines, so that it is kept, the
coordinator is told, and the carrier may have its 200.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache, partial
from typing import TypeVar

from msgspec.structs import replace
from sqlalchemy import Connection
from sqlalchemy.exc import InterfaceError, OperationalError

from bot.fieldwork.custody import CustodyEvent
from bot.gateways.protocol import Report
from bot.messages import AskCoordinator, Event, Heard, PickupEvent, Text
from bot.programme import Programme
from bot.service.beginning import begin_find
from bot.service.codes import Draw, draw
from bot.service.custody_door import CustodyDoor
from bot.service.database import Database
from bot.service.gather import (
    Find,
    Hunter,
    Talk,
    find_of,
    lock_find,
    newest_find,
    sender_row,
    talks_of,
)
from bot.service.joining import INCOMPLETE, HandedOn, due_rows, take_overdue, take_part
from bot.service.ledger import USUAL, Ledger
from bot.service.links import NO_LINKS, Links
from bot.service.logs import fault_code
from bot.service.number_door import CodeOrder, NumberDoor, address_of
from bot.service.reports import take_reports
from bot.service.reviewing import FAULT, open_review
from bot.service.roster import member_at, roster
from bot.service.sheet import Sheet
from bot.service.sorting_door import DESK, Entry, SortingDoor, on_turn
from bot.service.staff_door import StaffDoor
from bot.service.staffing import open_talk
from bot.service.taking import (
    Arrived,
    Receipt,
    claim_on,
    claim_text,
    find_of_text,
    keep_text,
    sender_of,
    text_of,
)
from bot.service.unfold import Rules, unfold
from bot.service.waking import run_due
from bot.talk.route import Facts

LOG = logging.getLogger(__name__)
T = TypeVar("T")

UNREADABLE_SENDER = "sender_unreadable"


@dataclass(frozen=True, slots=True)
class Intake:
    """The door for everything that happens. Safe to share between threads."""

    database: Database
    rules: Rules
    programme: Programme
    draw: Draw = draw
    links: Links = NO_LINKS

    @property
    def sms(self) -> str:
        """The gateway for texts to people who are known by their number only."""
        gateways = self.programme.head.gateways
        return next((name for name, row in gateways.items() if row.kind != "chat"), "")

    # --------------------------------------------------------------------------- from a gateway

    def hear(self, heard: Heard, now: datetime) -> Receipt:
        """Take one text: keep it, answer it into the outbox, all or nothing.

        Raises only where nothing could be kept (the database is away), so that the carrier
        tries again.
        """
        return self._twice(heard.gateway, partial(self._take, heard, now))

    def _twice(self, gateway: str, take: Callable[[bool], T]) -> T:
        """Take something, and once more without the machines where one of them raises."""
        try:
            return take(False)
        except (OperationalError, InterfaceError):
            raise
        except Exception as fault:
            LOG.error("text_fault", extra={"gateway": gateway, "fault": fault_code(fault)})
            return take(True)

    def _take(self, heard: Heard, now: datetime, aside: bool) -> Receipt:
        with self.database.write() as connection:
            if heard.part is None:
                return self._take_whole(connection, heard, now, aside)
            wait = timedelta(minutes=self.programme.head.patience.parts)
            for joined in take_part(connection, heard, heard.part, wait, now):
                self._take_joined(connection, joined, now, aside)
        return Receipt()

    def _take_whole(
        self, connection: Connection, heard: Heard, now: datetime, aside: bool
    ) -> Receipt:
        text, sender = text_of(heard, now), sender_of(heard, self.programme)
        called = sender.number if sender.channel == "sms" else ""
        kept = keep_text(connection, heard, text, called)
        if kept is None:
            return Receipt(repeat=True)
        arrived = Arrived(kept.row, text, sender, heard.gateway)
        if aside:
            return self._set_aside(connection, arrived)
        return self._answer(connection, arrived, kept.staff_id)

    def _take_joined(
        self, connection: Connection, joined: HandedOn, now: datetime, aside: bool
    ) -> None:
        """Take a text that came in parts; one with a gap is for a person to read as well."""
        receipt = self._take_whole(connection, joined.heard, now, aside)
        find = find_of_text(connection, receipt.text_id) if joined.incomplete else None
        if find is not None:
            order = AskCoordinator(INCOMPLETE, joined.heard.body)
            open_review(connection, find, order, now)

    def _hand_on(self, row: int, now: datetime, aside: bool) -> bool:
        """Take a text whose missing parts were waited for long enough; whether it was left."""
        with self.database.write() as connection:
            joined = take_overdue(connection, row, now)
            if joined is not None:
                self._take_joined(connection, joined, now, aside)
        return joined is not None

    def report(self, gateway: str, reports: Sequence[Report], now: datetime) -> None:
        """Keep what a carrier says became of texts that it took; an offer that did not arrive
        goes on to the next."""
        for code, missed in take_reports(self.database, gateway, reports, now):
            self.tell_pickup(code, missed, now)

    def _answer(self, connection: Connection, arrived: Arrived, staff_id: str) -> Receipt:
        """Who is on the roster may be answering an offer; anybody else reports a find."""
        member = member_at(connection, arrived.sender.number) if staff_id else None
        if member is None or member.role != "field":
            return self._as_hunter(connection, arrived, arrived.text)
        sender = self._sender(connection, arrived, lock=False)
        door = StaffDoor(connection, self.rules, self._play, member, sender, self.links)
        done = door.take(arrived)
        if isinstance(done, Receipt):
            return done
        for text in done.texts:
            receipt = self._as_hunter(connection, arrived, text)
        door.hand_over(done, receipt.code)
        return receipt

    def _as_hunter(self, connection: Connection, arrived: Arrived, text: Text) -> Receipt:
        """Take a text into the conversation it belongs to, or into a new one."""
        hunter = self._sender(connection, arrived)
        talks = talks_of(connection, hunter)
        facts = Facts(text.at, tuple(map(open_talk, talks)))
        code = self.rules.choose(facts, text.body, text.sent_at, False).code
        talk = next((t for t in talks if t.conversation.code == code), None)
        find = find_of(hunter, talk or self._begin(connection, hunter, text.at, bool(talks)))
        if arrived.sender.channel != find.conversation.channel:
            text = replace(text, channel=arrived.sender.channel)
        sheet = Sheet(connection, USUAL)
        claim_on(sheet, arrived.row, arrived.text, hunter.id, find.id)
        self._write(sheet, find, text, text.at)
        if talk is None and not arrived.sender.readable:
            order = AskCoordinator(UNREADABLE_SENDER, hunter.number)
            open_review(connection, find.id, order, text.at)
        return Receipt(text_id=arrived.row, code=find.conversation.code)

    def _set_aside(self, connection: Connection, arrived: Arrived) -> Receipt:
        """Keep a text that our own software cannot take, for a person to read at once."""
        hunter = self._sender(connection, arrived)
        known = newest_find(connection, hunter)
        if known is None:
            talk = self._begin(connection, hunter, arrived.text.at, greeted=False)
            known = talk.id, talk.conversation.code
        find_id, code = known
        claim_text(connection, arrived.row, arrived.text, hunter.id, find_id)
        order = AskCoordinator(FAULT, arrived.text.body, at_once=True)
        open_review(connection, find_id, order, arrived.text.at)
        return Receipt(text_id=arrived.row, code=code, fault=True)

    def _begin(self, connection: Connection, hunter: Hunter, now: datetime, greeted: bool) -> Talk:
        return begin_find(connection, hunter, self.rules, self.draw, now, greeted=greeted)

    def _sender(self, connection: Connection, arrived: Arrived, *, lock: bool = True) -> Hunter:
        address = address_of(connection, arrived.sender.channel, arrived.sender.number)
        return sender_row(connection, address, arrived.gateway, arrived.text.at, lock=lock)

    # ------------------------------------------------------------- from the desk and the clock

    def tell(self, code: str, event: Event, now: datetime, expect_turn: int | None = None) -> None:
        """An order of the desk for one find. MovedOnError if the talk is past the turn that was
        seen, LookupError if there is no such find; what the machine refuses comes through."""
        with self.database.write() as connection:
            find = lock_find(connection, code)
            on_turn(find, expect_turn)
            self._play(connection, find, event, now)

    def tell_pickup(
        self, code: str, event: PickupEvent, now: datetime, expect_turn: int | None = None
    ) -> None:
        """An order of the desk for the pickup of one find; LookupError if there is none,
        MovedOnError as for `tell`."""
        with self.database.write() as connection:
            find = lock_find(connection, code)
            on_turn(find, expect_turn)
            self._play(connection, find, event, now)

    def tell_custody(
        self, events: Sequence[CustodyEvent], now: datetime, seen: int | None = None
    ) -> tuple[str, ...]:
        """What people say of specimens, all of it or none; the codes of the trails. LookupError
        for an unknown code, TrailMovedOnError past the number of events that was `seen`."""
        with self.database.write() as connection:
            return CustodyDoor(connection, self._play, self.draw, now).take(events, seen)

    def enter(self, entry: Entry, now: datetime) -> str:
        """A find from what was told at the desk; its code. CannotSort, in words, if it cannot
        be."""
        with self.database.write() as connection:
            return self._sorting(connection, now).enter(entry)

    def join(self, code: str, into: str, by: str, now: datetime, seen: int) -> None:
        """End a conversation into another about the same animal; errors as for `tell`, and
        CannotSort."""
        with self.database.write() as connection:
            self._sorting(connection, now).join(code, into, by, seen)

    def split(
        self, code: str, by: str, words: str, keys: tuple[str, ...], now: datetime, seen: int
    ) -> str:
        """A find of its own for a second animal of a conversation; its code. Errors as for
        `join`."""
        with self.database.write() as connection:
            return self._sorting(connection, now).split(code, by, words, keys, seen)

    def ask_code(self, order: CodeOrder, key: str, now: datetime) -> bool:
        """Send the code that proves a chat's number; False where too many were asked for."""
        with self.database.write() as connection:
            return NumberDoor(connection, self._play, self.sms, key, now).ask(order)

    def prove_number(self, session: str, typed: str, fresh: str, key: str, now: datetime) -> str:
        """The number (E.164) that a chat has proved by what was typed, "" if none; the session
        is known by its `fresh` name then."""
        with self.database.write() as connection:
            return NumberDoor(connection, self._play, self.sms, key, now).prove(
                session, typed, fresh
            )

    def _sorting(self, connection: Connection, now: datetime) -> SortingDoor:
        return SortingDoor(
            connection, self._play, self.rules, self.draw, self.programme, self.sms, now
        )

    def run_due(self, now: datetime, limit: int = 100) -> int:
        """Wake every machine whose wait has run out and take long texts that lack parts, at most
        `limit` of each; how many waits are done."""
        rows = due_rows(self.database, now, limit)
        late = sum(self._twice("", partial(self._hand_on, row, now)) for row in rows)
        return late + run_due(self.database, self._play, now, limit)

    def _play(
        self, connection: Connection, find: Find, event: Event | PickupEvent, now: datetime
    ) -> None:
        self._write(Sheet(connection, USUAL), find, event, now)

    def _write(self, sheet: Sheet, find: Find, event: Event | PickupEvent, now: datetime) -> None:
        """Let an event run its course, and write down what came of it with the sheet."""
        people = cache(partial(roster, sheet.connection))
        hunter = find.hunter
        # Whoever told it at the desk and left no number is known by the form's name alone.
        number = "" if hunter.channel == DESK and hunter.number[0] != "+" else hunter.number
        story = unfold(event, find.conversation, find.pickup, self.rules, people, number)
        Ledger(sheet, self.rules, self.sms, now, self.links).record(find, story)
