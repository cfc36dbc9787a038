"""Hunters who text through the webhook, each waiting for his answer: the client of the load bench,
and what one round of it came to."""

from __future__ import annotations

import base64
import http.client
import itertools
import json
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime

from bot.gateways.signed import new_key, signed_headers
from tests.bench.load_script import Text
from tests.faults.texts import number_of

CONNECTIONS = 16
SECRET = "whsec_" + base64.b64encode(b"the bench's own key, 32 bytes...").decode()


@dataclass(slots=True)
class Round:
    """What one round of one server came to; `cpu` is the seconds of processor time that its
    processes and the database's spent."""

    seconds: float = 0.0
    cpu: float = 0.0
    took: list[float] = field(default_factory=list)
    errors: int = 0

    @property
    def rate(self) -> float:
        return len(self.took) / self.seconds

    @property
    def cost(self) -> float:
        """Processor time of a text, in ms."""
        return self.cpu / len(self.took) * 1000

    def at(self, share: float) -> float:
        """The time within which this share was answered, in ms."""
        return sorted(self.took)[int(share * (len(self.took) - 1))] * 1000


@dataclass(slots=True)
class Beat:
    """Lets texts go at even distances, so many a second over all connections; 0 is at once."""

    rate: float
    _next: float = 0.0
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def wait(self) -> None:
        """Wait for one's turn."""
        if not self.rate:
            return
        with self._lock:
            turn = self._next = max(self._next + 1 / self.rate, time.monotonic())
        time.sleep(max(0.0, turn - time.monotonic()))


class Client:
    """Hunters who text one after another, each waiting for his answer, on 16 connections."""

    def __init__(self, scripts: list[list[Text]]) -> None:
        self.scripts = scripts
        self.hunters = itertools.count(1)
        self.key = new_key(SECRET)

    def run(
        self,
        port: int,
        seconds: float,
        spent: Callable[[], float] = lambda: 0.0,
        rate: float = 0.0,
    ) -> Round:
        """Texts for so many seconds, as many as are answered or so many a second; `spent` tells
        the processor time of the other side."""
        done, lock = Round(), threading.Lock()
        until = time.monotonic() + seconds
        beat = Beat(rate)
        threads = [
            threading.Thread(target=self._text, args=(port, until, done, lock, beat))
            for _ in range(CONNECTIONS)
        ]
        began, before = time.monotonic(), spent()
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        done.seconds, done.cpu = time.monotonic() - began, spent() - before
        return done

    def _text(self, port: int, until: float, done: Round, lock: threading.Lock, beat: Beat) -> None:
        line = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
        took, errors = list[float](), 0
        while time.monotonic() < until:
            try:
                for answer, passed in self.talk(line, next(self.hunters), until, beat):
                    took.append(passed)
                    errors += answer != 200
            except (OSError, http.client.HTTPException):
                errors += 1
                line.close()
        line.close()
        with lock:
            done.took += took
            done.errors += errors

    def talk(
        self, line: http.client.HTTPConnection, hunter: int, until: float, beat: Beat
    ) -> Iterator[tuple[int, float]]:
        """One hunter's talk, text by text: how each was answered, and after how many seconds."""
        script, ids = hunter % len(self.scripts), {}
        for place, own in enumerate(self.scripts[script]):
            beat.wait()
            if time.monotonic() >= until:
                return
            now = datetime.now(UTC)
            payload = {
                "id": f"b{hunter}-{place}", "from": number_of(hunter), "text": own.body,
                "at": now.isoformat(), "play": (script, place, hunter, ids),
            }  # fmt: skip
            body = json.dumps(payload).encode()
            headers = signed_headers(self.key, payload["id"], body, now)
            began = time.perf_counter()
            line.request("POST", "/hear/paddock", body, headers)
            answer = line.getresponse()
            content = answer.read()
            yield answer.status, time.perf_counter() - began
            ids = json.loads(content) if content else ids
