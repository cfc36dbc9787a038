"""Requests as carriers make them, and keys that sign them."""

from __future__ import annotations

import base64
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path

from standardwebhooks.webhooks import Webhook

from bot.gateways.protocol import BadBody, Gateway, Request
from bot.gateways.signed import signed_headers
from bot.messages import Heard

PAYLOADS = Path(__file__).parents[1] / "payloads"
NOW = datetime(2026, 11, 25, 7, 0, tzinfo=UTC)
SECRET = "whsec_" + base64.b64encode(b"a key of two and thirty bytes...").decode()
OLD_SECRET = "whsec_" + base64.b64encode(b"the key of the year before this.").decode()
ENV = {"NEW_KEY": SECRET, "OLD_KEY": OLD_SECRET}


def request(
    body: bytes = b"",
    headers: Mapping[str, str] | None = None,
    query: Mapping[str, str] | None = None,
    method: str = "POST",
    remote: str = "127.0.0.1",
) -> Request:
    return Request(method, headers or {}, query or {}, NOW, body, remote)


def signed(body: bytes, secret: str = SECRET, at: datetime | None = None) -> Request:
    """A request that a gateway with this secret would make now (real time, as the library)."""
    headers = signed_headers(Webhook(secret), "pd-1", body, at or datetime.now(UTC))
    return request(body, headers)


def heard_or_path(gateway: Gateway, asked: Request) -> tuple[Heard, ...] | str:
    """What a gateway hears, or the path of the field that it names; anything else is raised."""
    try:
        return gateway.hear(asked)
    except BadBody as fault:
        return fault.path
