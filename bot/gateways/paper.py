"""A gateway that hears as ours does and writes what it would send on paper, for demo and tests."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import NamedTuple

from bot.gateways.protocol import Gateway, Request, Sent, Settings
from bot.gateways.signed import open_signed
from bot.messages import Address, Heard


class Note(NamedTuple):
    """One text that was sent."""

    address: Address
    body: str
    key: str


@dataclass(frozen=True, slots=True)
class Paper:
    """Verifies and hears by `inner`; `sent` grows by one note a text."""

    inner: Gateway
    sent: list[Note] = field(default_factory=list)

    @property
    def methods(self) -> frozenset[str]:
        """Those of the gateway within."""
        return self.inner.methods

    def verify(self, request: Request, now: datetime) -> None:
        """As the gateway within does."""
        self.inner.verify(request, now)

    def hear(self, request: Request) -> tuple[Heard, ...]:
        """As the gateway within does."""
        return self.inner.hear(request)

    def send(self, address: Address, body: str, key: str) -> Sent:
        """Keep the text; the same key twice is kept once, as a carrier would."""
        if key not in {note.key for note in self.sent}:
            self.sent.append(Note(address, body, key))
        return Sent(key)


def open_paper(name: str, row: Settings, env: Mapping[str, str]) -> Paper:
    """The gateway of a row with kind "paper": signed texts in, nothing leaves the machine."""
    return Paper(open_signed(name, row, env))
