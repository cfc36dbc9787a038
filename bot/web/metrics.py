"""/metrics: the service's figures for a watchdog, in Prometheus' text format 0.0.4.

Law: codes, counts and ages only. Without BUSHPOST_METRICS_TOKEN there is no such page; with it
the token comes as `Authorization: Bearer` (RFC 6750 section 2.1). What this process counted
itself carries its number; the rest is read from the database and is the same from each.
"""

from __future__ import annotations

import hmac
import os
import threading
from bisect import bisect_left
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from time import perf_counter

from flask import Blueprint, Flask, Response, abort, current_app, g, request

from bot.service.figures import Figures, figures
from bot.web import stored, wired

blueprint = Blueprint("metrics", __name__)
TYPE = "text/plain; version=0.0.4; charset=utf-8"
BOUNDS = (0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0)
"""Upper ends of the histogram's steps, in seconds."""
DOORS = {"webhook.hear": "webhook", "chat.say": "chat"}
"""The ways by which a hunter's text comes in, by their view."""


@dataclass(slots=True)
class Counted:
    """What this process has answered: durations of intake by door and status, and faults."""

    faults: int = 0
    _lock: threading.Lock = field(default_factory=threading.Lock)
    _steps: dict[tuple[str, int], list[int]] = field(default_factory=dict)
    _sums: dict[tuple[str, int], float] = field(default_factory=dict)

    def fault(self) -> None:
        """One more answer of 500 or above."""
        with self._lock:
            self.faults += 1

    def took(self, door: str, status: int, seconds: float) -> None:
        """One more request at a door."""
        key = (door, status)
        with self._lock:
            steps = self._steps.setdefault(key, [0] * (len(BOUNDS) + 1))
            steps[bisect_left(BOUNDS, seconds)] += 1
            self._sums[key] = self._sums.get(key, 0.0) + seconds

    def lines(self) -> Iterator[str]:
        """The histogram, cumulative as the format wants it, and the faults."""
        with self._lock:
            steps = {key: list(each) for key, each in self._steps.items()}
            sums, faults = dict(self._sums), self.faults
        name, own = "bushpost_intake_seconds", {"process": str(os.getpid())}
        yield f"# TYPE {name} histogram"
        for (door, status), each in sorted(steps.items()):
            labels = {"door": door, "status": str(status), **own}
            total = 0
            for bound, n in zip((*map(str, BOUNDS), "+Inf"), each, strict=True):
                total += n
                yield _line(f"{name}_bucket", total, {**labels, "le": bound})
            yield _line(f"{name}_sum", sums[door, status], labels)
            yield _line(f"{name}_count", total, labels)
        yield "# TYPE bushpost_faults_total counter"
        yield _line("bushpost_faults_total", faults, own)


def keep_count(app: Flask) -> None:
    """Time every text that comes in, and count what fails."""
    app.extensions["bushpost_counted"] = Counted()
    app.before_request(_begin)
    app.after_request(_end)


def _begin() -> None:
    g.began = perf_counter()


def _end(response: Response) -> Response:
    if response.status_code >= 500:
        _counted().fault()
    door = DOORS.get(request.endpoint or "")
    if door and "began" in g:
        _counted().took(door, response.status_code, perf_counter() - g.began)
    return response


@blueprint.get("/metrics")
def metrics() -> Response:
    """The figures; 404 where they are not switched on, 401 without the token."""
    token = wired().settings.metrics_token
    if not token:
        abort(404)
    given = request.headers.get("Authorization", "")
    if not hmac.compare_digest(given.encode(), f"Bearer {token}".encode()):
        return Response(status=401, headers={"WWW-Authenticate": "Bearer"})
    now = figures(stored(), wired().now())
    lines = (*_counted().lines(), *_gauges(now))
    return Response("\n".join(lines) + "\n", content_type=TYPE)


def _gauges(now: Figures) -> Iterator[str]:
    yield from _gauge("bushpost_outbox_waiting", [({}, now.waiting)])
    yield from _gauge("bushpost_outbox_held", [({}, now.held)])
    yield from _gauge("bushpost_outbox_oldest_seconds", [({}, now.oldest_out)])
    yield from _gauge("bushpost_sent_last_hour", _by("report", now.sent_hour))
    yield from _gauge("bushpost_reviews_open", _by("reason", now.reviews))
    yield from _gauge("bushpost_review_oldest_seconds", [({}, now.oldest_review)])
    yield from _gauge("bushpost_timers_overdue", [({}, now.timers)])
    yield from _gauge("bushpost_timer_oldest_overdue_seconds", [({}, now.oldest_timer)])


def _by(label: str, counts: Mapping[str, int]) -> list[tuple[dict[str, str], float]]:
    return [({label: key}, n) for key, n in sorted(counts.items())]


def _gauge(name: str, samples: Iterable[tuple[dict[str, str], float]]) -> Iterator[str]:
    yield f"# TYPE {name} gauge"
    for labels, value in samples:
        yield _line(name, value, labels)


def _line(name: str, value: float, labels: Mapping[str, str]) -> str:
    inner = ",".join(f'{key}="{_escaped(text)}"' for key, text in labels.items())
    return f"{name}{{{inner}}} {value}" if inner else f"{name} {value}"


def _escaped(text: str) -> str:
    return text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")


def _counted() -> Counted:
    counted: Counted = current_app.extensions["bushpost_counted"]
    return counted
