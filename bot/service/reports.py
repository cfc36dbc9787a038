"""What carriers report of texts that they took: kept a part, told a text.

Law: a report may come twice, late, out of order, or before the hand-over it speaks of is marked.
A part's state only rises (accepted, undeliverable, delivered): a telephone that has the text has
it. A text is undeliverable if a part is, delivered if all are. A text that became undeliverable
comes to the coordinator with the carrier's reason, and an offer that did is an event of its
pickup, told after the commit: should that be lost, or the report come before the mark, the offer
lapses in its time. Rows are taken in one order: part, text, review.
"""

from __future__ import annotations

import logging
from collections.abc import Iterable
from datetime import datetime

from sqlalchemy import Connection, bindparam, select, update

from bot.gateways.protocol import Report
from bot.messages import AskCoordinator, Unreached
from bot.service import tables
from bot.service.columns import Found
from bot.service.database import Database
from bot.service.reviewing import open_review
from bot.service.roster import member_at
from bot.service.upsert import insert_into

LOG = logging.getLogger(__name__)

UNDELIVERED = "undelivered"
"""The reason by which a text that did not arrive comes to the coordinator."""

RANK = ("", "accepted", "undeliverable", "delivered")
LONGEST_REASON = 60

_P, _O, _C = tables.Carried, tables.TextOut, tables.Conversation
_PART = (
    select(_P.outbox_id, _P.state)
    .where(_P.gateway == bindparam("named"), _P.carrier_id == bindparam("theirs"))
    .with_for_update()
)
_TEXT = (
    select(_O.report, _O.body, _O.conversation_id, _O.kind, _O.number, _O.decided_at)
    .where(_O.id == bindparam("text"))
    .with_for_update()
)
_PARTS = select(_P.state, _P.reason).where(_P.outbox_id == bindparam("text")).order_by(_P.at)


def note_ids(
    connection: Connection, gateway: str, text: int, ids: tuple[str, ...], now: datetime
) -> None:
    """Write down under which names a carrier will report on a text, and what it has reported."""
    for name in ids:
        _make(connection, gateway, name, now)
        part = _lock(connection, gateway, name)
        # A name that stood for another text: carriers count anew after months.
        anew = {} if part.outbox_id in (None, text) else {"state": "", "reason": ""}
        _change(connection, gateway, name, {"outbox_id": text, "at": now, **anew})
    if ids:
        _settle(connection, text, now)


def take_reports(
    database: Database, gateway: str, reports: Iterable[Report], now: datetime
) -> tuple[tuple[str, Unreached], ...]:
    """Keep what a carrier reports, and tell of what did not arrive: the pickups, by their finds'
    codes, whose offer did not."""
    missed: list[tuple[str, Unreached]] = []
    for report in reports:
        with database.write() as connection:
            _make(connection, gateway, report.id, now)
            part = _lock(connection, gateway, report.id)
            if RANK.index(report.state) <= RANK.index(part.state):
                continue
            said = {"state": report.state, "reason": _code(report), "at": min(report.at, now)}
            _change(connection, gateway, report.id, said)
            if part.outbox_id is not None:
                missed += _settle(connection, part.outbox_id, now)
    return tuple(missed)


def _code(report: Report) -> str:
    """The carrier's reason as a short code: what it writes is shown, and is not to be trusted."""
    words = " ".join(report.reason.split()) if report.state == "undeliverable" else ""
    return "".join(c for c in words if c.isprintable())[:LONGEST_REASON]


def _make(connection: Connection, gateway: str, name: str, now: datetime) -> None:
    row = {"gateway": gateway, "carrier_id": name, "state": "", "reason": "", "at": now}
    statement = insert_into(connection.dialect.name, _P).values(row)
    connection.execute(statement.on_conflict_do_nothing())


def _lock(connection: Connection, gateway: str, name: str) -> Found:
    return connection.execute(_PART, {"named": gateway, "theirs": name}).one()


def _change(connection: Connection, gateway: str, name: str, fields: dict[str, object]) -> None:
    mine = (_P.gateway == gateway) & (_P.carrier_id == name)
    connection.execute(update(_P).where(mine).values(fields))


def _settle(connection: Connection, text: int, now: datetime) -> tuple[tuple[str, Unreached], ...]:
    """Give a text the state that its parts have together; the offer that did not arrive by it."""
    row = connection.execute(_TEXT, {"text": text}).one()
    parts = connection.execute(_PARTS, {"text": text}).all()
    state = _together([part.state for part in parts])
    if state == row.report:
        return ()
    reason = next((part.reason for part in parts if part.state == "undeliverable"), "")
    told = {"report": state, "reported_at": now, "error": reason}
    connection.execute(update(_O).where(_O.id == text).values(told))
    if state != "undeliverable":
        return ()
    LOG.warning("not_delivered", extra={"outbox_id": text, "reason": reason})
    if row.conversation_id is None:
        return ()
    order = AskCoordinator(UNDELIVERED, f"{reason or state}: {row.body}")
    open_review(connection, row.conversation_id, order, now)
    return _missed(connection, row, now) if row.kind == "offer" else ()


def _missed(
    connection: Connection, offer: Found, now: datetime
) -> tuple[tuple[str, Unreached], ...]:
    """Which pickup was offered to whom by a text that did not arrive."""
    member = member_at(connection, offer.number)
    code = connection.scalar(select(_C.code).where(_C.id == offer.conversation_id))
    if member is None or code is None:
        return ()
    return ((code, Unreached(now, member.id, offer.decided_at)),)


def _together(states: list[str]) -> str:
    if "undeliverable" in states:
        return "undeliverable"
    if all(state == "delivered" for state in states):
        return "delivered"
    return "accepted" if any(states) else ""
