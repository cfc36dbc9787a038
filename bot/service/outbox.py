"""Texts leave the outbox: claimed by lease, sent after the commit, marked.

Law: of one recipient only the oldest waiting text is ever claimed, so that one person's texts
arrive in order; any number of workers share the rest, each passing over what another has locked.
No hand-over is begun that could outlive its lease. A text may go out twice only where a worker
died, or its reply was lost, between the hand-over and the mark; it is never lost. The gateway
gets the same key for the same text.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import cache
from random import random
from time import monotonic

from msgspec import Struct
from sqlalchemy import (
    BindParameter,
    Connection,
    Select,
    Update,
    bindparam,
    case,
    exists,
    select,
    update,
)

from bot.gateways.protocol import Gateway, NotSent, Sent
from bot.messages import Address, AskCoordinator
from bot.service import tables
from bot.service.database import Database
from bot.service.limits import HELD, NO_LIMITS, Limits, hold_back
from bot.service.logs import fault_code
from bot.service.reports import UNDELIVERED, note_ids
from bot.service.reviewing import open_review

LOG = logging.getLogger(__name__)

LEASE = timedelta(minutes=2)
"""How long a worker has for what it claimed: ten times a gateway's own time-out."""

HAND_OVER = timedelta(seconds=20)
"""What one hand-over may take: twice a gateway's time-out, which counts for each of connecting,
writing and reading. With less of its lease left, a text is not begun but left to the next."""

FIRST_WAIT = timedelta(seconds=20)
LONGEST_WAIT = timedelta(hours=1)
MOST_TRIES = 12
"""With the waits doubling from 20 s to 1 h this is about six hours of a carrier's absence."""

SENDERS = 8
"""Texts that one worker hands over at a time: a carrier's answer takes longer than our own part."""

Jitter = Callable[[], float]
"""A number from 0 to 1 by which waits are spread, so that workers do not come back at once."""


class Pace(Struct, frozen=True):
    """How long a worker has, and how patiently it tries again."""

    lease: timedelta = LEASE
    hand_over: timedelta = HAND_OVER
    first_wait: timedelta = FIRST_WAIT
    longest_wait: timedelta = LONGEST_WAIT
    most_tries: int = MOST_TRIES


USUAL = Pace()


class Share(Struct, frozen=True):
    """Whose texts a worker takes: all but those of the gateways that are named, or theirs only.
    A gateway that keeps a line to its carrier is served by the process that has the line."""

    names: tuple[str, ...] = ()
    only: bool = False


EVERYTHING = Share()


class Tally(Struct, frozen=True):
    """What one round did."""

    sent: int = 0
    waiting: int = 0
    failed: int = 0
    held: int = 0
    """Put off by a limit; what stands behind them may go now."""


class Claimed(Struct, frozen=True):
    """One text that this worker has until its lease ends. `attempts` counts this one too."""

    id: int
    gateway: str
    number: str
    body: str
    attempts: int
    conversation_id: int | None
    hunter_id: int | None = None
    kind: str = ""
    segments: int = 1


_O = tables.TextOut
_older = tables.TextOut.__table__.alias("older")
# What is held by a limit is not before anything: advice behind it must not wait for it.
_BLOCKED = exists().where(
    _older.c.state == "waiting",
    _older.c.error.not_in(HELD),
    _older.c.gateway == _O.gateway,
    _older.c.number == _O.number,
    _older.c.id < _O.id,
)


@cache
def _due(only: bool) -> Select[int]:
    """Texts whose time has come, of a share of the gateways."""
    names: BindParameter[list[str]] = bindparam("names", expanding=True)
    mine = _O.gateway.in_(names) if only else _O.gateway.not_in(names)
    return select(_O.id).where(_O.state == "waiting", _O.next_try_at <= bindparam("now"), mine)


@cache
def _claim(only: bool) -> Update:
    oldest = (
        _due(only)
        .where(~_BLOCKED)
        .order_by(_O.next_try_at, _O.id)
        .limit(bindparam("most"))
        .with_for_update(skip_locked=True)
    )
    # A common table expression, since PostgreSQL may run a plain subquery more than once, and
    # would then lock and claim more than it was asked for.
    chosen = select(oldest.cte("oldest").c.id)
    return (
        update(_O)
        .where(_O.id.in_(chosen), _O.state == "waiting")
        .values(next_try_at=bindparam("until"), attempts=_O.attempts + 1, error="")
        .returning(
            *(_O.id, _O.gateway, _O.number, _O.body, _O.attempts, _O.conversation_id),
            *(_O.hunter_id, _O.kind, _O.segments),
        )
    )


_AGAIN = (
    update(_O)
    .where(
        _O.state == "waiting",
        _O.error == bindparam("why"),
        _O.gateway == bindparam("named"),
    )
    .values(next_try_at=bindparam("now"))
)
_SENT = (
    update(_O)
    .where(_O.id == bindparam("row"))
    .values(
        state="sent",
        sent_at=bindparam("moment"),
        carrier_id=bindparam("theirs"),
        # Why it was taken out while it was on its way stays written beside it.
        error=case((_O.state == "withdrawn", _O.error), else_=""),
    )
)


def deliver(
    database: Database,
    gateways: Mapping[str, Gateway],
    now: datetime,
    limit: int = 50,
    jitter: Jitter = random,
    pace: Pace = USUAL,
    senders: int = 1,
    limits: Limits = NO_LIMITS,
    share: Share = EVERYTHING,
) -> Tally:
    """Send at most `limit` texts, each recipient's oldest, `senders` at a time; call again while
    any were sent."""
    claimed = claim(database, now, limit, pace.lease, share)
    bound = claimed and limits is not NO_LIMITS
    texts = hold_back(database, claimed, limits, now) if bound else claimed
    held = len(claimed) - len(texts)
    if not texts:
        return Tally(held=held)
    send = _Round(database, gateways, now, jitter, pace).send
    if senders == 1 or len(texts) == 1:
        states = [send(text) for text in texts]
    else:
        with ThreadPoolExecutor(min(senders, len(texts)), "sender") as pool:
            states = list(pool.map(send, texts))
    sent, waiting, failed = map(states.count, ("sent", "waiting", "failed"))
    return Tally(sent, waiting, failed, held)


def claim(
    database: Database,
    now: datetime,
    limit: int,
    lease: timedelta = LEASE,
    share: Share = EVERYTHING,
) -> tuple[Claimed, ...]:
    """Take texts on lease; nobody else is given them before it ends."""
    order = {"now": now, "names": list(share.names)}
    with database.read() as connection:
        # Looked at first, so that an idle worker takes no lock however often it comes by.
        if connection.scalar(_due(share.only).limit(1), order) is None:
            return ()
    order |= {"most": limit, "until": now + lease}
    with database.write() as connection:
        rows = [Claimed(*row) for row in connection.execute(_claim(share.only), order)]
    return tuple(sorted(rows, key=lambda row: row.id))


def try_again(database: Database, gateway: str, why: str, now: datetime) -> None:
    """Let what waits for one gateway go now, where it waits for a reason that is over."""
    with database.write() as connection:
        connection.execute(_AGAIN, {"named": gateway, "why": why, "now": now})


@dataclass(frozen=True, slots=True)
class _Round:
    """The texts of one claim, on their way out. Time passes by the monotonic clock, so that a
    step of the machine's clock lengthens no lease."""

    database: Database
    gateways: Mapping[str, Gateway]
    began: datetime
    jitter: Jitter
    pace: Pace
    _since: float = field(default_factory=monotonic)

    def send(self, text: Claimed) -> str:
        """Hand one text over and mark what came of it: its new state, "" if it was left."""
        if self._passed() + self.pace.hand_over > self.pace.lease:
            return ""
        try:
            result: Sent | NotSent = self._hand_over(text)
        except NotSent as refusal:
            result = refusal
        except Exception as fault:
            LOG.error("send_fault", extra={"outbox_id": text.id, "fault": fault_code(fault)})
            result = NotSent("software_fault", retry=True)
        now = self.began + self._passed()
        with self.database.write() as connection:
            if isinstance(result, Sent):
                return _mark_sent(connection, text, result, now)
            return self._mark_refused(connection, text, result, now)

    def _passed(self) -> timedelta:
        return timedelta(seconds=monotonic() - self._since)

    def _hand_over(self, text: Claimed) -> Sent:
        gateway = self.gateways.get(text.gateway)
        if gateway is None:
            raise NotSent("no_such_gateway", retry=False)
        return gateway.send(Address(text.gateway, text.number), text.body, f"out-{text.id}")

    def _mark_refused(
        self, connection: Connection, text: Claimed, refusal: NotSent, now: datetime
    ) -> str:
        """Try again later, or give up into the review list. A stale lease changes nothing."""
        give_up = not refusal.retry or text.attempts >= self.pace.most_tries
        state = "failed" if give_up else "waiting"
        LOG.warning(
            "not_sent",
            extra={"outbox_id": text.id, "reason": refusal.reason, "attempts": text.attempts},
        )
        mine = (_O.id == text.id) & (_O.attempts == text.attempts) & (_O.state == "waiting")
        wait = backoff(text.attempts, self.jitter(), self.pace)
        changed = connection.execute(
            update(_O).where(mine).values(state=state, error=refusal.reason, next_try_at=now + wait)
        )
        if changed.rowcount and give_up and text.conversation_id is not None:
            order = AskCoordinator(UNDELIVERED, f"{refusal.reason}: {text.body}")
            open_review(connection, text.conversation_id, order, now)
        return state


def _mark_sent(connection: Connection, text: Claimed, sent: Sent, now: datetime) -> str:
    note_ids(connection, text.gateway, text.id, sent.report_ids, now)
    # Even where it was withdrawn meanwhile: what has gone out has gone out.
    row = {"row": text.id, "moment": now, "theirs": sent.carrier_id}
    connection.execute(_SENT, row)
    return "sent"


def backoff(attempts: int, spread: float, pace: Pace = USUAL) -> timedelta:
    """How long to wait after so many tries: doubling, to an hour at most, then 50 to 100 %."""
    doubled: timedelta = pace.first_wait * 2 ** min(attempts - 1, 10)
    return min(doubled, pace.longest_wait) * (0.5 + spread / 2)
