"""How the service stands, in figures for a watchdog: lengths and ages, nobody's words or number.

Law: every question is answered from an index, so that asking each minute costs nothing.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from msgspec import Struct
from sqlalchemy import case, func, select

from bot.service import tables
from bot.service.columns import Found
from bot.service.database import Database
from bot.service.limits import HELD

_O, _R, _W = tables.TextOut, tables.Review, tables.Timer
HOUR = timedelta(hours=1)

_WAITING = select(
    func.count().label("all"),
    func.coalesce(func.sum(case((_O.error.in_(HELD), 1), else_=0)), 0).label("held"),
    func.min(case((_O.error.not_in(HELD), _O.decided_at))).label("oldest"),
).where(_O.state == "waiting")
_OPEN = (
    select(_R.reason, func.count(), func.min(_R.opened_at))
    .where(_R.closed_at.is_(None))
    .group_by(_R.reason)
    .order_by(_R.reason)
)


class Figures(Struct, frozen=True):
    """Counts, and ages in seconds; 0 where nothing waits."""

    waiting: int
    held: int
    oldest_out: float
    sent_hour: dict[str, int]
    """Texts handed over within the hour, by what their carrier reports."""
    reviews: dict[str, int]
    """Open rows of the coordinator's list, by reason."""
    oldest_review: float
    timers: int
    oldest_timer: float


def figures(database: Database, now: datetime) -> Figures:
    """The figures of one moment."""
    sent = select(_O.report, func.count()).where(_O.sent_at > now - HOUR).group_by(_O.report)
    late = select(func.count().label("all"), func.min(_W.due_at).label("oldest"))
    due = late.where(_W.done_at.is_(None), _W.due_at < now)
    with database.read() as connection:
        out: Found = connection.execute(_WAITING).one()
        reports = {report or "none": n for report, n in connection.execute(sent)}
        reviews = connection.execute(_OPEN).all()
        timers: Found = connection.execute(due).one()
    opened = min((row[2] for row in reviews), default=None)
    return Figures(
        waiting=out.all,
        held=int(out.held),
        oldest_out=_age(out.oldest, now),
        sent_hour=reports,
        reviews={reason: n for reason, n, _ in reviews},
        oldest_review=_age(opened, now),
        timers=timers.all,
        oldest_timer=_age(timers.oldest, now),
    )


def _age(since: datetime | None, now: datetime) -> float:
    return 0.0 if since is None else max(0.0, (now - since).total_seconds())
