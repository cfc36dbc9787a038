"""A carrier's side of SMPP, by smpp34's server: software that nobody here wrote.

It runs on a loop of its own in a thread; `submitted` grows by what clients send, `answer` says
with which id or status each is met.
"""

from __future__ import annotations

import asyncio
import socket
import ssl
import threading
from collections.abc import Callable
from contextlib import suppress
from typing import Any

import smpp34


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


class Smsc:
    """Listens from the start; `deliver` brings one text to whoever is bound to receive."""

    def __init__(self, port: int | None = None) -> None:
        self.port = port or free_port()
        self.submitted: list[Any] = []
        self.answer: Callable[[Any], str | int] = lambda text: f"c-{len(self.submitted)}"
        self._bound: list[smpp34.Esme] = []
        self._loop = asyncio.new_event_loop()
        threading.Thread(target=self._loop.run_forever, daemon=True).start()
        self._server = smpp34.Server("127.0.0.1", self.port)
        self.run(self._server.start)
        self._task = asyncio.run_coroutine_threadsafe(self._serve(), self._loop)

    def run(self, begin: Callable[[], Any], timeout: float = 10) -> Any:
        async def whole():
            return await begin()

        return asyncio.run_coroutine_threadsafe(whole(), self._loop).result(timeout)

    async def _serve(self) -> None:
        while True:
            event = await self._server.next()
            if isinstance(event, smpp34.Esme):
                self._bound.append(event)
            elif isinstance(event, smpp34.SubmitSmEvent):
                self.submitted.append(event)
                given = self.answer(event)
                event.accept(given) if isinstance(given, str) else event.reject(given)

    def deliver(self, source: str, words: bytes, **fields):
        """A future of the client's answer to one deliver_sm."""
        fields = {"source_addr": source, "source_addr_ton": 1, **fields}

        async def bring():
            while not (able := [e for e in self._bound if e.can_receive]):
                await asyncio.sleep(0.005)
            return await able[-1].deliver_sm("61491570999", words, **fields)

        return asyncio.run_coroutine_threadsafe(bring(), self._loop)

    def forget(self) -> None:
        """Bring nothing more to whoever was bound: the next text waits for the next to bind."""
        self._bound.clear()

    def close(self) -> None:
        self._task.cancel()
        self.run(self._server.stop)
        self._loop.call_soon_threadsafe(self._loop.stop)


class Stub:
    """A carrier that binds whoever comes, and then does with the connection what it is told."""

    def __init__(
        self, then: Callable[[socket.socket], None], tls: ssl.SSLContext | None = None
    ) -> None:
        self._tls = tls
        self._server = socket.create_server(("127.0.0.1", 0))
        self.port = self._server.getsockname()[1]
        threading.Thread(target=self._take, args=(then,), daemon=True).start()

    def _take(self, then: Callable[[socket.socket], None]) -> None:
        with self._server, self._server.accept()[0] as plain, suppress(OSError):
            self._talk(plain, then)

    def _talk(self, plain: socket.socket, then: Callable[[socket.socket], None]) -> None:
        with self._tls.wrap_socket(plain, server_side=True) if self._tls else plain as taken:
            asked = taken.recv(200)
            # bind_transceiver_resp (SMPP 3.4, 4.1.6) under the sequence that was asked with.
            taken.sendall(bytes.fromhex("0000001180000009 00000000") + asked[12:16] + b"\0")
            then(taken)
