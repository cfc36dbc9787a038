"""Rate limits: how often an address, a browser or a link may do one thing.

Law: what is signed rightly is never refused for what others did from its address: of webhook
and links only failures count. Refused is 429 with Retry-After (RFC 6585 section 4, RFC 9110
section 10.2.3). Counted for all processes together, save what SHARED leaves out: a text with a
forged proof must not cost the database anything, since no rate of guessing makes a signature.
"""

from __future__ import annotations

import ipaddress
import logging
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from math import ceil
from typing import cast

from flask import Response, current_app, request
from werkzeug.exceptions import TooManyRequests

from bot.service.tallies import MOST_KEPT, OwnTallies, Tallies, Tally
from bot.settings import Limits
from bot.web import wired

log = logging.getLogger(__name__)
MINUTE, HOUR = timedelta(minutes=1), timedelta(hours=1)
PROOFS, LOG_INS, LINKS, ONE_LINK, BROWSER, CHAT = (
    *("proofs", "log-ins", "links", "one link"),
    *("browser", "chat"),
)
SHARED = frozenset({LOG_INS, LINKS, CHAT})
"""A browser is left out because a stranger throws its cookie away, one link because its
openings are looked at and not tried."""
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
    shared: Tallies = field(default_factory=OwnTallies)
    own: Tallies = field(default_factory=OwnTallies)
    _shut: dict[str, Tally] = field(default_factory=dict)
    """Windows that are known to be full: whoever goes on trying costs no more questions."""

    def wait(self, what: str, who: str, now: datetime) -> timedelta:
        """How long `who` has to wait before `what` is taken again; nothing is counted."""
        pace, name = self.paces[what], f"{what} {who}"
        if not pace.most:
            return timedelta(0)
        return self._wait(pace, name, self._known(name, now) or self._in(what).seen(name, now), now)

    def take(self, what: str, who: str, now: datetime) -> timedelta:
        """One more of `who`; how long he has to wait if that was too many."""
        pace, name = self.paces[what], f"{what} {who}"
        if not pace.most:
            return timedelta(0)
        if shut := self._known(name, now):
            return self._wait(pace, name, shut, now)
        tally = self._in(what).add(name, now, pace.span)
        return timedelta(0) if tally.count <= pace.most else self._wait(pace, name, tally, now)

    def _in(self, what: str) -> Tallies:
        return self.shared if what in SHARED else self.own

    def _known(self, name: str, now: datetime) -> Tally | None:
        shut = self._shut.get(name)
        if shut and shut.began_at <= now < shut.until:
            return shut
        self._shut.pop(name, None)
        return None

    def _wait(self, pace: Pace, name: str, tally: Tally | None, now: datetime) -> timedelta:
        if tally is None or tally.count < pace.most:
            return timedelta(0)
        self._shut[name] = tally
        if len(self._shut) > MOST_KEPT:
            self._shut.pop(next(iter(self._shut)), None)
        # A clock that is set back must not shut anybody out for longer than the span.
        return min(pace.span, max(timedelta(0), tally.until - now))


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


def take(what: str, who: str) -> timedelta:
    """One more of somebody's; how long he has to wait if that was too many."""
    wait = _throttle().take(what, who, wired().now())
    if wait:
        log.warning("held_off", extra={"reason": what})
    return wait


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
    if wait := take(ONE_LINK, link):
        raise refusal(wait)


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
    wait = take(what, address())
    if not wait:
        return response
    fault = refusal(wait)
    return cast(Response, current_app.handle_user_exception(fault))


def _throttle() -> Throttle:
    throttle: Throttle = current_app.extensions["bushpost_throttle"]
    return throttle
