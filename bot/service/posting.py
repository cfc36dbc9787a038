"""Which texts go into the outbox, to whom, and which leave it again unsent.

Law: who wants no texts gets none, save the one that says so, and the safety advice that answers
his own words. A question that was answered meanwhile is withdrawn; advice never is.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from msgspec.structs import replace
from sqlalchemy import ColumnElement, bindparam, not_, or_, update

from bot.messages import Address, Effect, OptIn, OptOut, PickupNews, SendText, Text
from bot.service import tables
from bot.service.gather import Find, Hunter
from bot.service.links import NO_LINKS, Links
from bot.service.roster import member_at
from bot.service.sheet import Change, Rows, Sheet
from bot.service.unfold import Moved
from bot.talk.segments import MOST_SEGMENTS, segments_of, spell_for_sms
from bot.talk.state import Conversation

CHAT = "chat"
"""The web chat, as a channel and as a gateway."""

AT_ONCE = datetime(2000, 1, 1, tzinfo=UTC)
"""When a new text may first be tried: so long ago that it never waits for a worker's clock which
is behind the one that it was decided by, and goes before those that were tried already."""

_O = tables.TextOut
OUT = Rows(
    _O,
    (
        *("gateway", "number", "hunter_id", "conversation_id", "body", "kind", "question"),
        *("segments", "state", "decided_at", "next_try_at", "attempts", "carrier_id", "error"),
        "report",
    ),
)
# A worker that has a text on lease may be handing it over this moment: taken out now, it would
# still arrive, and what was decided after it might arrive before.
_ON_ITS_WAY = (_O.attempts > 0) & (_O.error == "") & (_O.next_try_at > bindparam("asked_until"))


def _taken_out(name: str, why: str, *where: ColumnElement[bool]) -> Change:
    """The change that takes those of the waiting texts out."""
    waiting = update(_O).where(_O.state == "waiting", *where)
    return Change(name, waiting.values(state="withdrawn", error=why))


WITHDRAW_ASKED = _taken_out(
    "asked",
    "answered",
    _O.conversation_id == bindparam("asked_in"),
    or_(_O.kind == "question", _O.kind == "reminder"),
    not_(_ON_ITS_WAY),
)
_WITHDRAW_ALL = _taken_out(
    "unwanted", "opted_out", _O.hunter_id == bindparam("unwanted_by"), _O.kind != "advice"
)


@dataclass(slots=True)
class Post:
    """The outbox as one transaction sees it. `sms` is the gateway for people known by number
    only; `opted_out` is the hunter's wish as it stands after what was posted so far."""

    sheet: Sheet
    sms: str
    now: datetime
    opted_out: bool
    links: Links = NO_LINKS

    def take(self, find: Find, moved: Moved) -> None:
        """Put the texts of one move into the outbox, and take out what it makes idle."""
        self._hear_wish(find.hunter, moved.effects)
        # One statement changes a row once: who wants no texts is asked nothing either.
        if _asks_no_more(moved) and _WITHDRAW_ALL not in self.sheet.changes:
            self._take_out(WITHDRAW_ASKED, {"asked_in": find.id, "asked_until": self.now})
        self.sheet.add(OUT, *self._rows(find, moved))

    def _take_out(self, what: Change, values: dict[str, Any]) -> None:
        """Of what was posted before; what stands on the sheet already is to be found as well."""
        if OUT in self.sheet.rows:
            self.sheet.write()
        self.sheet.change(what, values)

    def _hear_wish(self, hunter: Hunter, effects: tuple[Effect, ...]) -> None:
        wishes = [e for e in effects if isinstance(e, OptIn | OptOut)]
        if not wishes:
            return
        self.opted_out = isinstance(wishes[-1], OptOut)
        if self.opted_out:
            self._take_out(_WITHDRAW_ALL, {"unwanted_by": hunter.id})

    def _rows(self, find: Find, moved: Moved) -> Iterator[dict[str, Any]]:
        for effect in moved.effects:
            if isinstance(effect, SendText):
                own = effect.to is None
                barred = own and self.opted_out and not _passes(effect, moved)
                text = self._with_link(effect, find.conversation.code)
                to = self._address(find.hunter, effect.to, told=isinstance(moved.event, Text))
                if find.conversation.channel == CHAT and to.gateway != CHAT:
                    text = replace(text, body=spell_for_sms(text.body))
                yield out_row(text, to, self.now) | {
                    "hunter_id": find.hunter.id if own else None,
                    "conversation_id": find.id,
                    **_fate(barred=barred, spoken=own and find.hunter.channel == "desk"),
                }

    def _with_link(self, text: SendText, code: str) -> SendText:
        """An offer with the address of its page, where it still keeps to its length."""
        if text.kind != "offer" or text.to is None or not self.links.public_url:
            return text
        member = member_at(self.sheet.connection, text.to.number)
        address = self.links.job(code, member.id, self.now) if member else ""
        longer = f"{text.body} {address}"
        fits = address and segments_of(longer) <= MOST_SEGMENTS
        return replace(text, body=longer) if fits else text

    def _address(self, hunter: Hunter, to: Address | None, *, told: bool) -> Address:
        """Where a text goes: for the hunter, where he wrote last. What he did not just ask for
        goes to the number that he has proved: nobody sits before a page for hours."""
        if to is None:
            waits = told or hunter.gateway != CHAT or hunter.channel == CHAT
            return Address(hunter.gateway if waits else self.sms, hunter.number)
        return to if to.gateway else Address(self.sms, to.number)


def out_row(text: SendText, to: Address, now: datetime) -> dict[str, Any]:
    """A row of the outbox for one text, without whose it is."""
    return {
        "gateway": to.gateway,
        "number": to.number,
        "body": text.body,
        "kind": text.kind,
        "question": text.question,
        "segments": segments_of(text.body),
        "decided_at": now,
        "next_try_at": AT_ONCE,
        "hunter_id": None,
        "conversation_id": None,
        "state": "waiting",
        "attempts": 0,
        "carrier_id": "",
        "error": "",
        "report": "",
    }


def _asks_no_more(moved: Moved) -> bool:
    """Whether the question that was open is answered, left, or asked anew by this move."""
    if not isinstance(moved.before, Conversation) or not isinstance(moved.after, Conversation):
        return False
    was, now = moved.before.asked, moved.after.asked
    if was is None or isinstance(moved.event, PickupNews):
        return False
    asks = any(isinstance(e, SendText) and e.question for e in moved.effects)
    return asks or now is None or now.question != was.question


def _passes(text: SendText, moved: Moved) -> bool:
    """Whether a text goes even to somebody who wants none."""
    if any(isinstance(e, OptOut) for e in moved.effects):
        return text.kind in ("notice", "advice")
    return isinstance(moved.event, Text) and text.kind == "advice"


def _fate(*, barred: bool, spoken: bool) -> dict[str, str]:
    """Whether a text waits to be sent. What is said aloud at the desk is kept and never sent."""
    why = "opted_out" if barred else "by_voice" if spoken else ""
    return {"state": "withdrawn" if why else "waiting", "error": why}
