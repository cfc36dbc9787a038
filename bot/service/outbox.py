"""Texts leave the outbox: claimed by lease, sent after the commit, marked.

Law: of one recipient only the oldest waiting text is ever claimed, so that one person's texts
arrive in order. A text may go out twice only where a worker died between the hand-over and the
mark, after the lease; it is never lost. The gateway gets the same key for the same text.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from random import random

from msgspec import Struct
from sqlalchemy import Connection, bindparam, exists, select, update

from bot.gateways.protocol import Gateway, NotSent, Sent
from bot.messages import Address, AskCoordinator
from bot.service import tables
from bot.service.database import Database
from bot.service.logs import fault_code
from bot.service.reviewing import open_review

LOG = logging.getLogger(__name__)

LEASE = timedelta(minutes=2)
"""How long a worker has for what it claimed: ten times a gateway's own time-out."""

FIRST_WAIT = timedelta(seconds=20)
LONGEST_WAIT = timedelta(hours=1)
MOST_TRIES = 12
"""With the waits doubling from 20 s to 1 h this is about six hours of a carrier's absence."""

UNDELIVERED = "undelivered"

Jitter = Callable[[], float]
"""A number from 0 to 1 by which waits are spread, so that workers do not come back at once."""


class Tally(Struct, frozen=True):
    """What one round did."""

    sent: int = 0
    waiting: int = 0
    failed: int = 0


class Claimed(Struct, frozen=True):
    """One text that this worker has until its lease ends. `attempts` counts this one too."""

    id: int
    gateway: str
    number: str
    body: str
    attempts: int
    conversation_id: int | None


_O = tables.TextOut
_older = tables.TextOut.__table__.alias("older")
_OLDEST = (
    select(_O.id)
    .where(
        _O.state == "waiting",
        _O.next_try_at <= bindparam("now"),
        ~exists().where(
            _older.c.state == "waiting",
            _older.c.gateway == _O.gateway,
            _older.c.number == _O.number,
            _older.c.id < _O.id,
        ),
    )
    .order_by(_O.next_try_at, _O.id)
    .limit(bindparam("most"))
    .with_for_update(skip_locked=True)
)
_CLAIM = (
    update(_O)
    .where(_O.id.in_(_OLDEST), _O.state == "waiting")
    .values(next_try_at=bindparam("until"), attempts=_O.attempts + 1)
    .returning(_O.id, _O.gateway, _O.number, _O.body, _O.attempts, _O.conversation_id)
)


def deliver(
    database: Database,
    gateways: Mapping[str, Gateway],
    now: datetime,
    limit: int = 50,
    jitter: Jitter = random,
) -> Tally:
    """Send at most `limit` texts, each recipient's oldest; call again while any were sent."""
    sent = waiting = failed = 0
    for text in claim(database, now, limit):
        state = _send(database, gateways, text, now, jitter)
        sent += state == "sent"
        waiting += state == "waiting"
        failed += state == "failed"
    return Tally(sent, waiting, failed)


def claim(database: Database, now: datetime, limit: int) -> tuple[Claimed, ...]:
    """Take texts on lease; nobody else is given them before it ends."""
    order = {"now": now, "most": limit, "until": now + LEASE}
    with database.write() as connection:
        rows = [Claimed(*row) for row in connection.execute(_CLAIM, order)]
    return tuple(sorted(rows, key=lambda row: row.id))


def _send(
    database: Database,
    gateways: Mapping[str, Gateway],
    text: Claimed,
    now: datetime,
    jitter: Jitter,
) -> str:
    try:
        result: Sent | NotSent = _hand_over(gateways, text)
    except NotSent as refusal:
        result = refusal
    except Exception as fault:
        LOG.error("send_fault", extra={"outbox_id": text.id, "fault": fault_code(fault)})
        result = NotSent("software_fault", retry=True)
    with database.write() as connection:
        if isinstance(result, Sent):
            return _mark_sent(connection, text, result, now)
        return _mark_refused(connection, text, result, now, jitter)


def _hand_over(gateways: Mapping[str, Gateway], text: Claimed) -> Sent:
    gateway = gateways.get(text.gateway)
    if gateway is None:
        raise NotSent("no_such_gateway", retry=False)
    return gateway.send(Address(text.gateway, text.number), text.body, f"out-{text.id}")


def _mark_sent(connection: Connection, text: Claimed, sent: Sent, now: datetime) -> str:
    # Even where it was withdrawn meanwhile: what has gone out has gone out.
    mark = update(_O).where(_O.id == text.id)
    connection.execute(mark.values(state="sent", sent_at=now, carrier_id=sent.carrier_id, error=""))
    return "sent"


def _mark_refused(
    connection: Connection, text: Claimed, refusal: NotSent, now: datetime, jitter: Jitter
) -> str:
    """Try again later, or give up into the review list. A stale lease changes nothing."""
    give_up = not refusal.retry or text.attempts >= MOST_TRIES
    state = "failed" if give_up else "waiting"
    LOG.warning(
        "not_sent",
        extra={"outbox_id": text.id, "reason": refusal.reason, "attempts": text.attempts},
    )
    mine = (_O.id == text.id) & (_O.attempts == text.attempts) & (_O.state == "waiting")
    changed = connection.execute(
        update(_O)
        .where(mine)
        .values(
            state=state,
            error=refusal.reason,
            next_try_at=now + backoff(text.attempts, jitter()),
        )
    )
    if changed.rowcount and give_up and text.conversation_id is not None:
        open_review(
            connection,
            text.conversation_id,
            AskCoordinator(UNDELIVERED, f"{refusal.reason}: {text.body}"),
            now,
        )
    return state


def backoff(attempts: int, spread: float) -> timedelta:
    """How long to wait after so many tries: doubling, never above an hour, then 50 to 100 %."""
    doubled: timedelta = FIRST_WAIT * 2 ** min(attempts - 1, 10)
    return min(doubled, LONGEST_WAIT) * (0.5 + spread / 2)
