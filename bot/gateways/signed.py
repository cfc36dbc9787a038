"""Our own JSON, signed as the open Standard Webhooks specification (v1) says.

    {"id": ..., "from": ..., "text": ..., "at": ISO 8601 with offset,
     "media": [{"type": "image/jpeg", "data": base64}], "position": {"lat", "lon", "accuracy"}}

With `reports = "yes"` what became of a text out comes back, signed alike, under the id it had:

    {"id": ..., "state": "accepted" | "delivered" | "undeliverable", "at": ..., "reason": ...}

Several secrets are a rotation: the first signs what goes out, every one is tried on what comes
in. The five minutes on either side are real time, by the specification's library.
"""

from __future__ import annotations

import base64
import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Literal

import httpx
from standardwebhooks.webhooks import Webhook, WebhookVerificationError

from bot.gateways import payload, sending
from bot.gateways.protocol import (
    BadBody,
    BadProof,
    BadSettings,
    NotSent,
    Report,
    Request,
    Sent,
    Settings,
    secrets_of,
)
from bot.messages import Address, Heard, Pin

STATES: dict[str, Literal["accepted", "delivered", "undeliverable"]] = {
    "accepted": "accepted",
    "delivered": "delivered",
    "undeliverable": "undeliverable",
}
REPORTS = {"yes": frozenset({"POST"}), "no": frozenset[str]()}
"""The option `reports`, and by which methods they come in then."""


@dataclass(frozen=True, slots=True)
class Signed:
    """A gateway that speaks our own JSON both ways."""

    name: str
    keys: tuple[Webhook, ...]
    send_url: str = ""
    client: httpx.Client = field(default_factory=sending.new_client)
    methods: frozenset[str] = frozenset({"POST"})
    report_methods: frozenset[str] = frozenset()

    def verify(self, request: Request, now: datetime) -> None:
        """Raise BadProof unless one of the keys made the signature within five minutes."""
        if not any(_signed_by(key, request) for key in self.keys):
            raise BadProof("no signature of ours within five minutes")

    def hear(self, request: Request) -> tuple[Heard, ...]:
        """The one text of the body; BadBody names the field."""
        body = payload.json_object(request.body)
        return (
            Heard(
                id=payload.as_key(payload.dig(body, "id"), "id"),
                gateway=self.name,
                sender=payload.as_key(payload.dig(body, "from"), "from"),
                body=payload.as_text(payload.dig(body, "text"), "text"),
                sent_at=payload.as_moment(payload.dig(body, "at"), "at"),
                pin=_position(body),
                pictures=payload.as_pictures(body.get("media") or [], "media"),
            ),
        )

    def reports(self, request: Request) -> tuple[Report, ...]:
        """The one report of the body; BadBody names the field."""
        body = payload.json_object(request.body)
        state = STATES.get(payload.as_key(payload.dig(body, "state"), "state"))
        if state is None:
            raise BadBody("state", f"none of {', '.join(STATES)}")
        at = payload.as_moment(payload.dig(body, "at"), "at")
        reason = payload.as_text(body.get("reason") or "", "reason")
        return (Report(payload.as_key(payload.dig(body, "id"), "id"), state, at, reason),)

    def send(self, address: Address, body: str, key: str) -> Sent:
        """POST {"id", "to", "text"}, signed, with the key as the id. Any 2xx is a yes."""
        if not self.send_url:
            raise NotSent("no_send_url", retry=False)
        content = json.dumps({"id": key, "to": address.number, "text": body}).encode()
        headers = signed_headers(self.keys[0], key, content, datetime.now(UTC))
        request = self.client.build_request("POST", self.send_url, content=content, headers=headers)
        theirs = _their_id(sending.post(self.client, request))
        return Sent(theirs, (key,) if self.report_methods else ())


def signed_headers(key: Webhook, message_id: str, body: bytes, at: datetime) -> dict[str, str]:
    """The headers by which a Standard Webhooks receiver knows a body; `at` is aware."""
    moment = at.astimezone(UTC)
    return {
        "content-type": "application/json",
        "webhook-id": message_id,
        "webhook-timestamp": str(int(moment.timestamp())),
        "webhook-signature": key.sign(message_id, moment, body.decode()),
    }


def _signed_by(key: Webhook, request: Request) -> bool:
    try:
        key.verify(request.body, dict(request.headers), json_parse=False)
    except (WebhookVerificationError, ValueError):
        # The library (1.1.0) raises plain ValueError for an entry without a comma, for bad
        # base64 and for a body that is not UTF-8: all of them a missing proof, no fault of ours.
        return False
    return True


def _position(body: Mapping[str, object]) -> Pin | None:
    place = body.get("position")
    if place is None:
        return None
    if not isinstance(place, Mapping):
        raise BadBody("position", "not an object")
    lat, lon = payload.dig(body, "position.lat"), payload.dig(body, "position.lon")
    return payload.as_pin(lat, lon, place.get("accuracy"), "position.")


def _their_id(response: httpx.Response) -> str:
    """The id in the carrier's answer, if it gave one; a body of any other kind is no failure."""
    try:
        return payload.as_key(payload.dig(response.json(), "id"), "id")
    except (BadBody, ValueError):
        return ""


def new_key(secret: str) -> Webhook:
    """A key from "whsec_" and the base64 of 24 to 64 bytes, as the specification wants."""
    try:
        length = len(base64.b64decode(secret.removeprefix("whsec_") + "==", validate=False))
    except ValueError:
        length = 0
    if not 24 <= length <= 64:
        raise BadSettings("a signing secret must be whsec_ and the base64 of 24 to 64 bytes")
    return Webhook(secret)


def open_signed(name: str, row: Settings, env: Mapping[str, str]) -> Signed:
    """The gateway of a row with kind "signed"."""
    secrets = secrets_of(name, row, env)
    if not secrets:
        raise BadSettings(f"gateway {name}: a signed gateway needs a name under secrets")
    try:
        keys = tuple(new_key(secret) for secret in secrets)
    except BadSettings as fault:
        raise BadSettings(f"gateway {name}: {fault}") from None
    if unknown := row.options.keys() - {"reports"}:
        raise BadSettings(f"gateway {name}: options.{min(unknown)}: not known")
    reports = row.options.get("reports", "no")
    if reports not in REPORTS:
        raise BadSettings(f"gateway {name}: options.reports: neither yes nor no")
    return Signed(name, keys, row.send_url, report_methods=REPORTS[reports])
