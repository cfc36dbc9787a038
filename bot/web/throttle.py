"""Rate limits of this process: how often an address, a browser or a link may do one thing.

Law: what is signed rightly is never refused for what others did from its address: of webhook
and links only failures count. Refused is 429 with Retry-After (RFC 6585 section 4, RFC 9110
section 10.2.3). Nothing is stored: with several processes each counts for itself.
"""

from __future__ import annotations

import ipaddress
import threading
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from math import ceil
from typing import cast

from flask import Response, current_app, request
from werkzeug.exceptions import TooManyRequests

from bot.settings import Limits
from bot.web import wired

MOST_KEPT = 10_000
MINUTE, HOUR = timedelta(minutes=1), timedelta(hours=1)
PROOFS, LOG_INS, LINKS, ONE_LINK, BROWSER, CHAT = (
    *("proofs", "log-ins", "links", "one link"),
    *("browser", "chat"),
)
FROM_ONE_ADDRESS = 10
"""Browsers' worth of texts from one address: mobile networks put many telephones behind one."""


@dataclass(frozen=True, slots=True)
class Pace:
    """So many within a span; 0 is no limit."""

    most: int
    span: timedelta


def paces(limits: Limits) -> dict[str, Pace]:
    """What is limited, by the settings."""
    return {
        PROOFS: Pace(limits.proofs, MINUTE),
        LOG_INS: Pace(limits.log_ins, HOUR),
        LINKS: Pace(limits.links, MINUTE),
        ONE_LINK: Pace(limits.links, MINUTE),
        BROWSER: Pace(limits.chat, MINUTE),
        CHAT: Pace(limits.chat * FROM_ONE_ADDRESS, MINUTE),
    }


@dataclass(slots=True)
class Throttle:
    """Counts by what is done and who does it, each in a window that begins with its first."""

    paces: dict[str, Pace]
    _lock: threading.Lock = field(default_factory=threading.Lock)
    _seen: dict[tuple[str, str], tuple[datetime, int]] = field(default_factory=dict)

    def wait(self, what: str, who: str, now: datetime) -> timedelta:
        """How long `who` has to wait before `what` is taken again; nothing is counted."""
        pace = self.paces[what]
        with self._lock:
            began, count = self._seen.get((what, who), (now, 0))
        full = 0 < pace.most <= count
        # A clock that is set back must not shut anybody out for longer than the span.
        return min(pace.span, max(timedelta(0), began + pace.span - now)) if full else timedelta(0)

    def count(self, what: str, who: str, now: datetime) -> None:
        """One more. The oldest windows are forgotten where there are too many."""
        key, span = (what, who), self.paces[what].span
        with self._lock:
            began, count = self._seen.pop(key, (now, 0))
            over = not began <= now < began + span
            self._seen[key] = (now, 1) if over else (began, count + 1)
            while len(self._seen) > MOST_KEPT:
                del self._seen[next(iter(self._seen))]


def address() -> str:
    """Who asks: an IPv4 address, or the /64 network that one IPv6 subscriber has (RFC 6177)."""
    raw = request.remote_addr or ""
    try:
        known = ipaddress.ip_address(raw.split("%")[0])
    except ValueError:
        return raw
    return raw if known.version == 4 else str(ipaddress.ip_network((known, 64), strict=False))


def wait_for(what: str, who: str) -> timedelta:
    """How long somebody has to wait; nothing where he need not."""
    return _throttle().wait(what, who, wired().now())


def count(what: str, who: str) -> None:
    """One more of somebody's."""
    _throttle().count(what, who, wired().now())


def seconds(wait: timedelta) -> int:
    """A wait in whole seconds, as Retry-After has it."""
    return max(1, ceil(wait.total_seconds()))


def refusal(wait: timedelta) -> TooManyRequests:
    """429 in plain words, with Retry-After."""
    words = f"Too much came from here at once. Wait {seconds(wait)} seconds, then try again."
    return TooManyRequests(words, retry_after=seconds(wait))


def guard_link() -> None:
    """Before a page that a link opens: one link may be opened only so often."""
    link = str((request.view_args or {}).get("token", ""))
    if wait := wait_for(ONE_LINK, link):
        raise refusal(wait)
    count(ONE_LINK, link)


def count_shut(response: Response) -> Response:
    """After a page that a link opens: one that opened nothing counts against its address, and
    beyond the limit is answered with 429 alone."""
    if response.status_code not in {404, 410}:
        return response
    return _failed(LINKS, response)


def failed_proof(response: Response) -> Response:
    """A request whose proof was bad: counted, and 429 in its place beyond the limit."""
    return _failed(PROOFS, response)


def _failed(what: str, response: Response) -> Response:
    wait = wait_for(what, address())
    count(what, address())
    if not wait:
        return response
    fault = refusal(wait)
    return cast(Response, current_app.handle_user_exception(fault))


def _throttle() -> Throttle:
    throttle: Throttle = current_app.extensions["bushpost_throttle"]
    return throttle
