"""A text from a number on the roster: an answer about a pickup, a question back, or a find.

Law: whatever a member of staff answers counts only for what was offered to that number, and
only by an event of the pickup itself, which checks it again under the lock.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import NamedTuple

import msgspec
from sqlalchemy import Connection, or_, select

from bot.fieldwork.replies import (
    Ask,
    JobView,
    NotStaff,
    OfferView,
    StaffReading,
    StaffReply,
)
from bot.fieldwork.state import LIVE, Pickup, load
from bot.messages import Photo, Pin, Text
from bot.programme import Member
from bot.service import tables
from bot.service.gather import Hunter, Talk
from bot.service.unfold import Rules
from bot.talk.planning import is_core_known
from bot.talk.route import Facts, OpenTalk

LAPSED = timedelta(days=2)
"""So long after an offer has lapsed, or a pickup has ended, an answer to it is still known for
one, and answered in turn."""

_T, _P = tables.TextIn, tables.Pickup


class Held(NamedTuple):
    """A text that was asked back about and is nobody's yet."""

    row: int
    text: Text


@dataclass(frozen=True, slots=True)
class Work:
    """What one member of staff may be answering: offers, jobs, and the texts still held."""

    offers: tuple[OfferView, ...]
    jobs: tuple[JobView, ...]
    held: tuple[Held, ...]

    @property
    def codes(self) -> tuple[str, ...]:
        """The codes of all of it, each once."""
        return tuple(dict.fromkeys([*(o.code for o in self.offers), *(j.code for j in self.jobs)]))


def work_of(connection: Connection, member: Member, sender: Hunter, now: datetime) -> Work:
    """Read what a member has and was asked for. Locks nothing: the pickup checks again."""
    recent = or_(_P.name.in_(sorted(LIVE)), _P.last_event_at >= now - LAPSED)
    # Of a morning's thousands only those are decoded in which the member is named at all.
    named = _P.state.contains(f'"staff_id":{_quoted(member.id)}', autoescape=True)
    pickups = [load(state) for state in connection.scalars(select(_P.state).where(recent, named))]
    offers = tuple(
        OfferView(p.code, open=any(o.staff_id == member.id for o in p.open_offers))
        for p in pickups
        if _was_offered(p, member.id, now)
    )
    jobs = tuple(_job(p) for p in pickups if p.staff_id == member.id and p.state in _HELD)
    return Work(offers, jobs, _held(connection, sender, now))


def _quoted(staff_id: str) -> str:
    """As a stored pickup has it."""
    return msgspec.json.encode(staff_id).decode()


def open_talk(talk: Talk) -> OpenTalk:
    """A conversation as routing sees it."""
    state = talk.conversation
    asked = state.asked.question if state.asked else ""
    when = state.answers.get("when")
    return OpenTalk(
        state.code,
        state.stage,
        talk.last_at,
        asked,
        is_core_known(state),
        when.at if when else None,
    )


def weigh(
    said: StaffReading, work: Work, text: Text, talks: tuple[Talk, ...], rules: Rules
) -> StaffReading:
    """What was read as staff's, beside what else it may be: an answer in a talk of his own, or
    a report. NotStaff: it belongs in a conversation. Where both fit, it is asked."""
    facts = Facts(
        text.at,
        tuple(map(open_talk, talks)),
        tuple(o.code for o in work.offers),
        tuple(j.code for j in work.jobs),
        is_staff=True,
        held_choice=bool(work.held),
    )
    understood = isinstance(said, StaffReply)
    kind = rules.choose(facts, text.body, text.sent_at, understood).kind
    if kind == "which":
        return Ask("report", work.codes, text.body)
    if kind == "field":
        return said
    if understood or any(t.asked for t in facts.talks) or _reports(facts, text, rules):
        return NotStaff(text.body)
    return said


def _reports(facts: Facts, text: Text, rules: Rules) -> bool:
    """Whether the words alone read as a report of a find: one without talks of his own would
    be asked which it is."""
    alone = msgspec.structs.replace(facts, talks=(), held_choice=False)
    return rules.choose(alone, text.body, text.sent_at, True).kind == "which"


_HELD = ("taken", "collected")


def _job(pickup: Pickup) -> JobView:
    return JobView(pickup.code, "collected" if pickup.state == "collected" else "taken")


def _was_offered(pickup: Pickup, staff_id: str, now: datetime) -> bool:
    if pickup.staff_id == staff_id:
        return False
    return any(o.staff_id == staff_id and now - o.until < LAPSED for o in pickup.offers)


def _held(connection: Connection, sender: Hunter, now: datetime) -> tuple[Held, ...]:
    """The newest texts of a sender that belong nowhere yet, newest first."""
    rows = connection.execute(
        select(_T.id, _T.conversation_id, _T.body, _T.sent_at, _T.pin, _T.photos)
        .where(_T.hunter_id == sender.id, _T.arrived_at >= now - LAPSED)
        .order_by(_T.id.desc())
        .limit(4)
    )
    held: list[Held] = []
    for row in rows:
        if row.conversation_id is not None:
            break
        pin = msgspec.json.decode(row.pin, type=Pin) if row.pin else None
        photos = msgspec.json.decode(row.photos, type=tuple[Photo, ...]) if row.photos else ()
        held.append(Held(row.id, Text(row.body, row.sent_at, now, pin, photos)))
    return tuple(held)
