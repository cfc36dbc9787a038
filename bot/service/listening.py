"""What one process does with a line to a carrier: texts and reports in, its share of texts out.

A carrier that got no answer before its line broke brings the same text again, and SMPP gives a
text no name. On such a line, a text that comes soon after the line was opened, with the sender and
words of one of the last that were kept before, is that one: once for each that was kept.
"""

from __future__ import annotations

import logging
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from sqlalchemy import bindparam, select

from bot.gateways.protocol import LINE_DOWN, Gateway, Line, Report
from bot.messages import Heard
from bot.service import tables
from bot.service.intake import Intake
from bot.service.limits import limits_of
from bot.service.logs import fault_code
from bot.service.outbox import Share, deliver, try_again

LOG = logging.getLogger(__name__)

UNANSWERED = 10
"""Texts that a carrier may send before it waits for answers: what SMPP software uses. Common
practice, no source."""
BEFORE, AFTER = timedelta(minutes=10), timedelta(minutes=5)
"""How long before a line is opened a text may have been kept without its answer arriving, and
how long after it the carrier may bring it again."""

AT_ONCE = 4
"""Texts that are claimed at a time: they leave one by one, each within its lease."""

_T = tables.TextIn
_LATEST = (
    select(_T.sender, _T.body)
    .where(_T.gateway == bindparam("named"), _T.arrived_at > bindparam("since"))
    .order_by(_T.id.desc())
    .limit(UNANSWERED)
)


@dataclass(slots=True)
class Listener:
    """Takes what a line brings, as the webhook would. Made anew whenever the line is opened."""

    intake: Intake
    gateway: str
    now: Callable[[], datetime]
    renames: bool = True
    opened_at: datetime = field(init=False)
    _kept: Counter[tuple[str, str]] = field(init=False)

    def __post_init__(self) -> None:
        self.opened_at = self.now()
        since = self.opened_at - BEFORE
        with self.intake.database.read() as connection:
            rows = connection.execute(_LATEST, {"named": self.gateway, "since": since})
            self._kept = Counter((row.sender, row.body) for row in rows)

    def hear(self, heard: Heard) -> None:
        """Keep a text; raises only where it could not be kept."""
        now = self.now()
        if self.renames and heard.part is None and self._came_before(heard, now):
            LOG.info("brought_again", extra={"gateway": self.gateway})
            return
        try:
            self.intake.hear(heard, now)
        except Exception as fault:
            LOG.error("not_kept", extra={"gateway": self.gateway, "fault": fault_code(fault)})
            raise

    def report(self, report: Report) -> None:
        """Keep what the carrier says became of a text."""
        self.intake.report(self.gateway, (report,), self.now())

    def _came_before(self, heard: Heard, now: datetime) -> bool:
        key = heard.sender, heard.body
        if now - self.opened_at > AFTER or not self._kept[key]:
            return False
        self._kept[key] -= 1
        return True


def line_opened(intake: Intake, name: str, now: datetime) -> None:
    """Let the texts go that could not while the line was down."""
    try_again(intake.database, name, LINE_DOWN, now)


def lines_of(gateways: Mapping[str, Gateway]) -> tuple[str, ...]:
    """The gateways that keep a line, whose texts only the process with the line may send."""
    return tuple(name for name, gateway in gateways.items() if isinstance(gateway, Line))


def send_share(intake: Intake, name: str, gateway: Gateway, now: datetime, most: int) -> int:
    """Send at most so many texts of those that wait for a line's carrier; how many were done
    with."""
    tally = deliver(
        *(intake.database, {name: gateway}, now, most),
        limits=limits_of(intake.programme),
        share=Share((name,), only=True),
    )
    return tally.sent + tally.failed + tally.held
