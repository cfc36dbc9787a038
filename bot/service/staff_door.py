"""What is done with a text from field staff, once it is known what it is.

Of the hunters' rows only that of the find is locked, never the writer's own, so that two
members of staff who answer about each other's finds do not wait for each other.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import NamedTuple

from sqlalchemy import Connection, insert, select

from bot.fieldwork.replies import Ask, Noted, NothingOpen, NotStaff, PassOn, StaffReply
from bot.messages import Address, AskCoordinator, Event, FieldReply, PickupEvent, SendText, Text
from bot.programme import Member
from bot.service import tables
from bot.service.days import in_hand
from bot.service.gather import Find, Hunter, lock_find, talks_of
from bot.service.links import NO_LINKS, Links
from bot.service.posting import out_row
from bot.service.reviewing import open_review
from bot.service.staffing import Work, weigh, work_of
from bot.service.taking import Arrived, Receipt, claim_text
from bot.service.unfold import Rules

STAFF_UNREAD = "staff_unread"
"""A member of staff was asked back once and still cannot be read."""

Play = Callable[[Connection, Find, Event | PickupEvent, datetime], object]


CHOICE_WORDS = 3
"""A reply of so few words to "job or report?" is the choice alone, and reports nothing."""


class Released(NamedTuple):
    """Texts that are a hunter's after all, oldest first, and the work that they are none of."""

    texts: tuple[Text, ...]
    work: Work


@dataclass(frozen=True, slots=True)
class StaffDoor:
    """One transaction's way with one member of staff; `sender` is his row, not locked."""

    connection: Connection
    rules: Rules
    play: Play
    member: Member
    sender: Hunter
    links: Links = NO_LINKS

    def take(self, arrived: Arrived) -> Receipt | Released:
        """Do what a text of his asks for; or give back what is a hunter's like any other."""
        if aged := self._take_age(arrived):
            return aged
        asked = self.rules.staff.round_asked(arrived.text.body)
        if asked == "alone":
            self._claim(arrived, None)
            return self._tell_round(arrived)
        work = self._work(arrived.text.at)
        if not work.codes:
            return self._with_nothing_open(work, arrived)
        heard = self.rules.staff.read(arrived.text.body, work.offers, work.jobs, len(work.held))
        if isinstance(heard, NotStaff):
            return Released(_reported(work, arrived.text), work)
        talks = talks_of(self.connection, self.sender)
        said = weigh(heard, work, arrived.text, talks, self.rules)
        match said:
            case NotStaff() | NothingOpen():
                return Released((arrived.text,), work)
            case StaffReply():
                self._answer(said, work, arrived)
                if asked:
                    self._tell_round(arrived)
                return Receipt(text_id=arrived.row, code=said.code)
            case Ask():
                self._claim(arrived, None)
                self._say(self.rules.staff.ask(said), arrived)
            case PassOn():
                self._pass_on(said, work, arrived)
            case Noted():
                self._claim(arrived, self._find_id(work.codes[0]))
        return Receipt(text_id=arrived.row)

    def _take_age(self, arrived: Arrived) -> Receipt | None:
        """What the teeth of some head showed; it needs no open work, and changes none."""
        ages, text = self.rules.ages, arrived.text
        said = ages.take(self.connection, text, self.member.id) if ages else None
        if said is None:
            return None
        words, find_id = said
        self._claim(arrived, find_id)
        self._say(words, arrived)
        return Receipt(text_id=arrived.row)

    def _with_nothing_open(self, work: Work, arrived: Arrived) -> Receipt | Released:
        """Whoever answers where nothing is open to him is told so, unless he is in a talk of his
        own, or reports: then he is a hunter like any other."""
        text = arrived.text
        said = self.rules.staff.read(text.body, (), (), 0)
        if not isinstance(said, NothingOpen) or text.pin or text.photos:
            return Released((text,), work)
        if any(t.conversation.stage != "closed" for t in talks_of(self.connection, self.sender)):
            return Released((text,), work)
        self._claim(arrived, None)
        self._say(self.rules.staff.ask(said), arrived)
        return Receipt(text_id=arrived.row)

    def hand_over(self, released: Released, code: str) -> None:
        """Write on the texts that were asked back about that this find has them now."""
        if released.work.held:
            self._claim_held(released.work, self._find_id(code))

    def _work(self, now: datetime) -> Work:
        """What a text of his may answer. One that asked for the round, or told an age, was
        answered at once, and is not held for anything."""
        work = work_of(self.connection, self.member, self.sender, now)
        return replace(work, held=tuple(h for h in work.held if not self._settled(h.text.body)))

    def _settled(self, body: str) -> bool:
        ages = self.rules.ages
        return self.rules.staff.round_asked(body) == "alone" or bool(ages and ages.asks(body))

    def _tell_round(self, arrived: Arrived) -> Receipt:
        """The round as it is now, an answer in the same text counted in."""
        link = self.links.round(self.member.id, arrived.text.at)
        pickups = in_hand(self.connection, self.member.id)
        self._say(self.rules.staff.round(self.member, pickups, link), arrived)
        return Receipt(text_id=arrived.row)

    def _answer(self, reply: StaffReply, work: Work, arrived: Arrived) -> None:
        """The pickup itself says, under its lock, whether the answer still counts."""
        find = lock_find(self.connection, reply.code)
        self._claim(arrived, find.id)
        self._claim_held(work, find.id)
        event = FieldReply(
            arrived.text.at, self.member.id, reply.answer, reply.words, arrived.text.body
        )
        self.play(self.connection, find, event, arrived.text.at)

    def _pass_on(self, said: PassOn, work: Work, arrived: Arrived) -> None:
        """The words go to the coordinator, once for each pickup they may be about."""
        order = AskCoordinator(STAFF_UNREAD, said.heard)
        finds = [self._find_id(code) for code in said.codes]
        for find_id in finds:
            open_review(self.connection, find_id, order, arrived.text.at)
        self._claim(arrived, finds[0])
        self._claim_held(work, finds[0])
        self._say(self.rules.staff.ask(said), arrived)

    def _say(self, words: str, arrived: Arrived) -> None:
        to = Address(arrived.gateway, self.sender.number)
        row = out_row(SendText(words, "notice"), to, arrived.text.at)
        self.connection.execute(insert(tables.TextOut).values(row))

    def _claim(self, arrived: Arrived, find_id: int | None) -> None:
        claim_text(self.connection, arrived.row, arrived.text, self.sender.id, find_id)

    def _claim_held(self, work: Work, find_id: int) -> None:
        for held in work.held:
            claim_text(self.connection, held.row, held.text, self.sender.id, find_id)

    def _find_id(self, code: str) -> int:
        find = tables.Conversation
        return self.connection.execute(select(find.id).where(find.code == code)).scalar_one()


def _reported(work: Work, text: Text) -> tuple[Text, ...]:
    """What was asked back about is heard now, as it was sent; then the text that says so, if
    it says more than that."""
    held = tuple(h.text for h in reversed(work.held))
    return held if held and len(text.body.split()) <= CHOICE_WORDS else (*held, text)
