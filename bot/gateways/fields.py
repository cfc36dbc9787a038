"""Another carrier as a row of settings: where its fields stand, how it proves itself, how it sends.

A place is "query:from", "form:From", "json:message.from", "header:x-id", "body:" (the whole
body as text), or "item:from" within a list. The options of a row, all of them text:

    from, text       where these stand (needed)             id, at    at least one of them
    each             "json:messages" where one request brings several texts
    part_ref, part_total, part_number, or part_header (hex)   where long texts come in parts
    to               the number that was written to
    lat, lon, accuracy                                      a position, where the carrier has one
    at_form, at_zone    iso (default), unix, unix_ms or a strptime pattern; the zone of a bare time
    proof            a place that holds the token, "basic", or "hmac:<header>"
    hmac_form        hex (default) or base64;  hmac_prefix   such as "sha256="
    addresses        networks that may call, such as "127.0.0.1 10.0.0.0/8"
    method           POST (default) or GET, of what comes in
    send_*           see bot/gateways/outward.py            report_*  see bot/gateways/reporting.py
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from bot.gateways import payload, reporting
from bot.gateways.outward import Outward, open_outward
from bot.gateways.parts import check_parts, part_of
from bot.gateways.places import PLACES, Opened, check_places, path_of
from bot.gateways.proof import (
    Network,
    basic_pair,
    body_hmac,
    is_inside,
    matches,
    read_networks,
)
from bot.gateways.protocol import (
    BadBody,
    BadProof,
    BadSettings,
    Report,
    Request,
    Sent,
    Settings,
    secrets_of,
)
from bot.gateways.reporting import Reporter
from bot.messages import Address, Heard, Pin

STANDS = (
    *("from", "text", "id", "at", "to", "lat", "lon", "accuracy"),
    *("part_ref", "part_total", "part_number", "part_header"),
)
OPTIONS = (
    frozenset(STANDS)
    | {
        *("each", "at_form", "at_zone", "proof", "hmac_form", "hmac_prefix", "addresses", "method"),
        *("send_method", "send_type", "send_body", "send_auth", "send_secret", "send_digits"),
        *("send_plain", "send_wide", "accepted", "later", "carrier_id"),
    }
    | reporting.OPTIONS
)


@dataclass(frozen=True, slots=True)
class Fields:
    """A gateway whose habits are the options of its row."""

    name: str
    options: Mapping[str, str]
    secrets: tuple[str, ...]
    networks: tuple[Network, ...]
    zone: ZoneInfo | None
    outward: Outward
    reporter: Reporter
    methods: frozenset[str] = field(default=frozenset({"POST"}))

    @property
    def report_methods(self) -> frozenset[str]:
        """How the carrier reports what became of a text; empty if it does not."""
        return self.reporter.methods

    def verify(self, request: Request, now: datetime) -> None:
        """Raise BadProof unless address and secret are those of the row. Each that the row
        names must hold."""
        if self.networks and not is_inside(request.remote, self.networks):
            raise BadProof("an address that may not call")
        if self.secrets and not self._proven(request):
            raise BadProof("no token or signature of ours")

    def _proven(self, request: Request) -> bool:
        how = self.options["proof"]
        try:
            if how == "basic":
                return matches(basic_pair(request), self.secrets)
            if how.startswith("hmac:"):
                return self._hmac_holds(request, how.removeprefix("hmac:"))
            return matches(str(Opened(request).at(how)), self.secrets)
        except BadBody:
            return False

    def _hmac_holds(self, request: Request, header: str) -> bool:
        given = request.headers.get(header.lower(), "")
        prefix = self.options.get("hmac_prefix", "")
        form = self.options.get("hmac_form", "hex")
        made = tuple(prefix + body_hmac(secret, request.body, form) for secret in self.secrets)
        return matches(given, made)

    def hear(self, request: Request) -> tuple[Heard, ...]:
        """The texts of a request; BadBody names the carrier's own field."""
        items = Opened(request).each(self.options.get("each", ""))
        return tuple(self._heard(item, request.at) for item in items)

    def reports(self, request: Request) -> tuple[Report, ...]:
        """What became of texts that went out; BadBody as for `hear`."""
        return self.reporter.read(request)

    def _heard(self, opened: Opened, arrived: datetime) -> Heard:
        sender = payload.as_key(opened.at(self.options["from"]), path_of(self.options["from"]))
        body = payload.as_text(opened.at(self.options["text"]), path_of(self.options["text"]))
        sent_at, said_at = self._sent_at(opened, arrived)
        return Heard(
            id=self._id(opened, sender, body, said_at),
            gateway=self.name,
            sender=sender,
            body=body,
            sent_at=sent_at,
            pin=self._pin(opened),
            part=part_of(opened, self.options),
        )

    def send(self, address: Address, body: str, key: str) -> Sent:
        """As the row's send options say; NotSent if the carrier did not take it."""
        sent = self.outward.send(address, body, key)
        return replace(sent, report_ids=self.reporter.names(key, sent.carrier_id))

    def _sent_at(self, opened: Opened, arrived: datetime) -> tuple[datetime, str]:
        """The time of the text in UTC, and as the carrier wrote it. Where a carrier gives no
        time, the time of arrival is the best that is known."""
        place = self.options.get("at")
        if not place:
            return arrived, ""
        given = opened.at(place)
        form = self.options.get("at_form", "iso")
        return payload.as_moment(given, path_of(place), form, self.zone), str(given)

    def _id(self, opened: Opened, sender: str, body: str, said_at: str) -> str:
        """The carrier's id, or one made of sender, time and words where it has none."""
        place = self.options.get("id")
        if place:
            return payload.as_key(opened.at(place), path_of(place))
        return hashlib.sha256(f"{sender}\n{said_at}\n{body}".encode()).hexdigest()[:32]

    def _pin(self, opened: Opened) -> Pin | None:
        """A position if the carrier sent one: an absent latitude means that it has none."""
        lat, lon, accuracy = (self.options.get(name) for name in ("lat", "lon", "accuracy"))
        if not lat or not lon:
            return None
        found = opened.given(lat)
        if found is None:
            return None
        return payload.as_pin(found, opened.at(lon), opened.at(accuracy) if accuracy else None, "")


def _check(row: Settings) -> None:
    """Refuse a row that could not work, or that would let anybody in."""
    unknown = set(row.options) - OPTIONS
    if unknown:
        raise BadSettings(f"options.{min(unknown)}: not known")
    for name in ("from", "text"):
        if name not in row.options:
            raise BadSettings(f"options.{name}: missing")
    if "id" not in row.options and "at" not in row.options:
        raise BadSettings("options.id: a repeat cannot be told without an id or a time")
    check_places(row.options, STANDS, "each")
    check_parts(row.options)
    reporting.check_reports(row.options)
    if row.options.get("method", "POST") not in ("GET", "POST"):
        raise BadSettings("options.method: neither GET nor POST")
    _check_proof(row)


def _check_proof(row: Settings) -> None:
    how = row.options.get("proof", "")
    if not how and not row.options.get("addresses"):
        raise BadSettings("options.proof: without proof or addresses anybody could send texts")
    if bool(how) != bool(row.secrets):
        raise BadSettings("options.proof and secrets need each other")
    if how and how != "basic" and how.partition(":")[0] not in (*PLACES[:4], "hmac"):
        raise BadSettings(f"options.proof: {how!r} is not known")
    if how.startswith("hmac:") and "GET" in {
        row.options.get(m) for m in ("method", "report_method")
    }:
        raise BadSettings("options.proof: an HMAC proves a body, and GET has none")
    if row.options.get("hmac_form", "hex") not in ("hex", "base64"):
        raise BadSettings("options.hmac_form: neither hex nor base64")


def _zone(name: str) -> ZoneInfo | None:
    try:
        return ZoneInfo(name) if name else None
    except (ZoneInfoNotFoundError, ValueError):
        raise BadSettings(f"options.at_zone: no time zone {name!r}") from None


def open_fields(name: str, row: Settings, env: Mapping[str, str]) -> Fields:
    """The gateway of a row with kind "fields"; BadSettings names the option at fault."""
    try:
        _check(row)
        options, zone = dict(row.options), _zone(row.options.get("at_zone", ""))
        return Fields(
            name=name,
            options=options,
            secrets=secrets_of(name, row, env),
            networks=read_networks(row.options.get("addresses", "")),
            zone=zone,
            outward=open_outward(row, env),
            reporter=Reporter(options, zone),
            methods=frozenset({row.options.get("method", "POST")}),
        )
    except BadSettings as fault:
        words = str(fault)
        known = words.startswith(f"gateway {name}:")
        raise BadSettings(words if known else f"gateway {name}: {words}") from None
