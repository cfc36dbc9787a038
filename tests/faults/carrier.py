"""A carrier of our own: it brings texts in until they are acknowledged, takes replies, and keeps
a book of every one, whatever it answers. It can answer 500, hang, or take a text and drop the line.

Whoever is offered a pickup answers through it, so that pickups move under the same faults.
"""

from __future__ import annotations

import heapq
import json
import random
import re
import threading
import time
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import httpx

from bot.gateways.signed import new_key, signed_headers
from tests.faults.texts import MOST_DELIVERIES, SHUFFLED_S, Delivery

HANG_S = 6.0
"""Longer than the workers' time-out of 4 s."""
SLOW_S = 3.0
"""An answer that took longer may have come too late: it is a hang that nobody ordered."""
AGAIN_S, LONGEST_AGAIN_S = 1.5, 10.0
MOST_TRIES = 60
now = time.monotonic
OFFER = re.compile(r"Reply by \d\d:\d\d: YES ([A-Z0-9-]+)")


@dataclass(frozen=True, slots=True)
class HandOver:
    """One text as it was handed to the carrier: when, and how the carrier answered."""

    key: str
    to: str
    at: float
    answer: str


@dataclass(slots=True)
class Inbox:
    """The texts that the carrier still has to bring in, the earliest first."""

    began: float = 0.0
    _waiting: list[Delivery] = field(default_factory=list)
    _under_way: int = 0
    _turn: threading.Condition = field(default_factory=threading.Condition)

    def add(self, deliveries: Iterable[Delivery]) -> None:
        with self._turn:
            for delivery in deliveries:
                heapq.heappush(self._waiting, delivery)
            self._turn.notify_all()

    def next(self) -> Delivery | None:
        """Wait for the next one that is due; None when everything is done with."""
        with self._turn:
            while True:
                if not self._waiting and not self._under_way:
                    self._turn.notify_all()
                    return None
                wait = self._waiting[0].at - self.passed() if self._waiting else 0.2
                if self._waiting and wait <= 0:
                    self._under_way += 1
                    return heapq.heappop(self._waiting)
                self._turn.wait(max(wait, 0.01))

    def done(self) -> None:
        with self._turn:
            self._under_way -= 1
            self._turn.notify_all()

    def passed(self) -> float:
        return time.monotonic() - self.began


class _Server(ThreadingHTTPServer):
    """Says nothing when a worker that was killed takes its line with it."""

    def handle_error(self, request: object, client_address: object) -> None:
        pass


class Carrier:
    """The carrier's two halves and its book. `mode` is how it answers who hands texts over."""

    def __init__(self, secret: str, seed: int, staff: frozenset[str]) -> None:
        self.mode = "ok"
        self.inbox = Inbox()
        self.book: list[HandOver] = []
        self.acknowledged: dict[str, str] = {}
        self.brought: dict[str, Delivery] = {}
        self.refused = 0
        self._staff = staff
        self._dice = random.Random(seed + 1)
        self._lock = threading.Lock()
        self._key = new_key(secret)
        self._answered: set[str] = set()
        carrier = self

        class Door(BaseHTTPRequestHandler):
            protocol_version = "HTTP/1.1"

            def do_POST(self) -> None:
                carrier.take(self)

            def log_message(self, *words: object) -> None:
                pass

        self._server = _Server(("127.0.0.1", 0), Door)
        self._server.daemon_threads = True
        self.url = f"http://127.0.0.1:{self._server.server_port}/"
        threading.Thread(target=self._server.serve_forever, daemon=True).start()

    # ------------------------------------------------------------------ texts to hunters and staff

    def take(self, request: BaseHTTPRequestHandler) -> None:
        """Read one text whole, write it in the book, and answer as the mode says."""
        body = json.loads(request.rfile.read(int(request.headers["content-length"])))
        mode = self.mode
        if mode != "500":
            with self._lock:
                place, entry = len(self.book), HandOver(body["id"], body["to"], now(), mode)
                self.book.append(entry)
            self._reply_of_staff(body)
        if mode == "hang":
            time.sleep(HANG_S)
        if mode in ("hang", "drop"):
            request.close_connection = True
            return
        answer = json.dumps({"id": f"theirs-{body['id']}"}).encode()
        request.send_response(500 if mode == "500" else 200)
        request.send_header("content-length", str(len(answer)))
        request.end_headers()
        request.wfile.write(answer)
        if mode == "ok" and now() - entry.at > SLOW_S:
            self.book[place] = replace(entry, answer="slow")

    def _reply_of_staff(self, body: dict[str, str]) -> None:
        offer = OFFER.search(body["text"])
        if offer is None or body["to"] not in self._staff:
            return
        with self._lock:
            new = body["id"] not in self._answered
            self._answered.add(body["id"])
            yes = "YES" if self._dice.random() < 0.6 else "NO"
            spread = [
                self._dice.uniform(0.2, SHUFFLED_S / 2)
                for _ in range(self._dice.randint(1, MOST_DELIVERIES))
            ]
        if new:
            words, name = f"{yes} {offer[1]}", f"re-{body['id']}"
            now = self.inbox.passed()
            self.inbox.add(Delivery(now + s, name, body["to"], words) for s in spread)

    # ------------------------------------------------------------------------- texts from hunters

    def bring_all(self, urls: list[str], threads: int = 12) -> None:
        """Bring everything in; returns when each delivery was acknowledged or given up."""
        workers = [
            threading.Thread(target=self._bring, args=(urls, n), daemon=True)
            for n in range(threads)
        ]
        for worker in workers:
            worker.start()
        for worker in workers:
            worker.join()

    def _bring(self, urls: list[str], n: int) -> None:
        dice = random.Random(n)
        with httpx.Client(timeout=15.0, trust_env=False) as client:
            while (delivery := self.inbox.next()) is not None:
                if self._post(client, dice.choice(urls), delivery):
                    with self._lock:
                        self.acknowledged[delivery.id] = delivery.body
                        self.brought[delivery.id] = delivery
                elif delivery.tries < MOST_TRIES:
                    wait = min(AGAIN_S * 1.4**delivery.tries, LONGEST_AGAIN_S)
                    later = self.inbox.passed() + wait
                    again = replace(delivery, at=later, tries=delivery.tries + 1)
                    self.inbox.add([again])
                self.inbox.done()

    def _post(self, client: httpx.Client, url: str, delivery: Delivery) -> bool:
        now = datetime.now(UTC)
        text = {
            "id": delivery.id,
            "from": delivery.sender,
            "text": delivery.body,
            "at": now.isoformat(),
        }
        content = json.dumps(text).encode()
        headers = signed_headers(self._key, delivery.id, content, now)
        try:
            answer = client.post(f"{url}/hear/paddock", content=content, headers=headers)
        except httpx.HTTPError:
            self.refused += 1
            return False
        self.refused += answer.status_code != 200
        return answer.status_code == 200

    def close(self) -> None:
        self._server.shutdown()
