"""The web chat as a gateway: what goes out is left for the browser to fetch.

Nothing comes in by the webhook; the chat's pages know their visitor by a signed cookie and make
the text themselves.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from bot.gateways.protocol import BadBody, BadProof, Request, Sent, Settings
from bot.messages import Address, Heard


@dataclass(frozen=True, slots=True)
class Chat:
    """The gateway whose addresses are chat sessions."""

    name: str
    methods: frozenset[str] = frozenset({"POST"})

    def verify(self, request: Request, now: datetime) -> None:
        """Always BadProof: no carrier speaks for the chat."""
        raise BadProof("the chat's texts come from its own pages")

    def hear(self, request: Request) -> tuple[Heard, ...]:
        """Always BadBody, for the same reason."""
        raise BadBody("body", "the chat's texts come from its own pages")

    def send(self, address: Address, body: str, key: str) -> Sent:
        """Nothing to do: the stored text is the delivered one, and the browser fetches it."""
        return Sent(key)


def open_chat(name: str, row: Settings, env: Mapping[str, str]) -> Chat:
    """The gateway of a row with kind "chat"."""
    return Chat(name)
