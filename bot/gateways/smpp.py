"""A carrier by SMPP 3.4: texts and receipts come in, texts go out in parts, over a kept line.

send_url is smpp://host:port, or smpps:// for TLS; secrets names the password (8 characters at
most, by the protocol). The options of a row, all of them text:

    system_id, system_type      as whom to bind
    links            one (default) for a transceiver, two for a receiver beside a transmitter
    source           the number or name that texts are sent from
    source_ton, source_npi, dest_ton, dest_npi    SMPP 3.4, 5.2.5 and 5.2.6; by default 1 and 1
    alphabet         gsm (default) or latin1: what data coding 0 means to this carrier
    receipts         yes (default) or no
    receipt_ids      same (default), or hex where ids are hexadecimal on taking a text only
    enquire_s        seconds of silence after which the carrier is asked for life; 30
"""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any
from urllib.parse import urlsplit

from bot.gateways import smpp_text
from bot.gateways.protocol import (
    LINE_DOWN,
    BadBody,
    BadProof,
    BadSettings,
    Ear,
    LineDown,
    NotSent,
    Request,
    Sent,
    Settings,
    secrets_of,
)
from bot.gateways.receipts import plain_id
from bot.gateways.smpp_link import Link, Peer, Role
from bot.messages import Address, Heard

USUAL_PORT = 2775
LONGEST = {"system_id": 15, "system_type": 12, "password": 8}
"""SMPP 3.4, 4.1.1, without the closing NUL. smpplib would cut what is longer without a word."""

NOT_NOW = 0x64
"""ESME_RX_T_APPN: we could not keep it, bring it again."""

TRY_AGAIN = frozenset({0x08, 0x14, 0x45, 0x58, 0x64})
"""System error, queue full, submit failed, throttled, temporary fault (SMPP 3.4, 5.1.3)."""

TEXT_OPTIONS = frozenset(
    {"system_id", "system_type", "source", "source_ton", "source_npi", "dest_ton", "dest_npi"}
)
CHOICES = {
    "links": ("one", "two"),
    "alphabet": ("gsm", "latin1"),
    "receipts": ("yes", "no"),
    "receipt_ids": ("same", "hex"),
}
OPTIONS = TEXT_OPTIONS | set(CHOICES) | {"enquire_s"}


@dataclass(slots=True)
class Smpp:
    """A gateway with a line. Not for threads: one process has it, and does one thing at a time."""

    name: str
    peer: Peer
    options: Mapping[str, str]
    methods: frozenset[str] = frozenset()
    renames: bool = True
    _links: tuple[Link, ...] = ()
    _ear: Ear | None = None
    _session: str = ""
    _numbers: dict[str, int] = field(default_factory=dict)

    def verify(self, request: Request, now: datetime) -> None:
        """Always BadProof: nothing of this carrier comes by HTTP."""
        raise BadProof("this carrier's texts come over its line")

    def hear(self, request: Request) -> tuple[Heard, ...]:
        """Always BadBody, for the same reason."""
        raise BadBody("body", "this carrier's texts come over its line")

    def open(self) -> None:
        """Bind anew; LineDown("unreachable" | "bind_refused_13" | ...) if that fails."""
        self.close()
        self._session = uuid.uuid4().hex[:12]
        roles: tuple[Role, ...] = ("transceiver",)
        if self.options.get("links") == "two":
            roles = ("transmitter", "receiver")
        for role in roles:
            self._links = (*self._links, Link(self.peer, role, self._message))

    def listen(self, ear: Ear, wait_s: float) -> None:
        """Hand what comes in to the ear, and answer when it is kept; LineDown if a link broke."""
        self._ear = ear
        try:
            for link in self._open_links():
                link.listen(wait_s / len(self._links))
                link.keep_alive(self._numbers["enquire_s"])
        except LineDown:
            self._let_go()
            raise

    def close(self) -> None:
        """Unbind every link."""
        for link in self._links:
            link.close()
        self._links = ()

    def send(self, address: Address, body: str, key: str) -> Sent:
        """Submit a text, part by part; NotSent if the carrier refused one or the line broke."""
        try:
            coded = smpp_text.encode(body, _reference(key), self.options.get("alphabet", "gsm"))
        except ValueError:
            raise NotSent("too_long", retry=False) from None
        try:
            names = [self._submit(address.number, part, coded) for part in coded.parts]
        except LineDown as broken:
            self._let_go()
            raise NotSent(broken.reason, retry=True) from None
        reported = self.options.get("receipts", "yes") == "yes"
        return Sent(names[0], tuple(filter(None, names)) if reported else ())

    def _submit(self, number: str, part: bytes, coded: smpp_text.Encoded) -> str:
        given = self._numbers
        answer = self._open_links()[0].submit(
            source_addr_ton=given["source_ton"],
            source_addr_npi=given["source_npi"],
            source_addr=self.options.get("source", ""),
            dest_addr_ton=given["dest_ton"],
            dest_addr_npi=given["dest_npi"],
            # An international number (type 1) stands without its plus: SMPP 3.4, 5.2.9.
            destination_addr=number.removeprefix("+"),
            esm_class=smpp_text.HAS_HEADER if len(coded.parts) > 1 else 0,
            data_coding=coded.data_coding,
            registered_delivery=int(self.options.get("receipts", "yes") == "yes"),
            short_message=part,
        )
        if answer.status:
            raise NotSent(f"smpp_{answer.status}", retry=answer.status in TRY_AGAIN)
        return plain_id(answer.id, self.options.get("receipt_ids") == "hex")

    def _message(self, pdu: Any) -> int:
        """Take one deliver_sm; the status to answer with, once it is kept or could not be."""
        if self._ear is None:
            return NOT_NOW
        incoming = smpp_text.read(
            pdu,
            self.options.get("alphabet", "gsm"),
            self.options.get("receipt_ids") == "hex",
            datetime.now(UTC),
        )
        try:
            if incoming.report is not None:
                self._ear.report(incoming.report)
            elif not incoming.is_receipt:
                # The protocol names no text: a session and its count do, and no other text.
                self._ear.hear(incoming.heard(self.name, f"{self._session}-{pdu.sequence}"))
        except Exception:
            # Whatever it was, it is not kept, and the ear has logged it.
            return NOT_NOW
        return 0

    def _open_links(self) -> tuple[Link, ...]:
        if not self._links:
            raise LineDown(LINE_DOWN)
        return self._links

    def _let_go(self) -> None:
        for link in self._links:
            link.drop()
        self._links = ()


def _reference(key: str) -> int:
    """The reference under which the parts of a text go: the same for another try, so that a
    telephone that has some of them already puts the rest to them."""
    digits = "".join(c for c in key if c.isdigit())
    return int(digits or 0) % 256


def open_smpp(name: str, row: Settings, env: Mapping[str, str]) -> Smpp:
    """The gateway of a row with kind "smpp"; BadSettings names the option at fault."""
    try:
        _check(row)
        secrets = secrets_of(name, row, env)
        return Smpp(name, _peer(row, secrets), dict(row.options), _numbers=_numbers(row.options))
    except BadSettings as fault:
        words = str(fault)
        known = words.startswith(f"gateway {name}:")
        raise BadSettings(words if known else f"gateway {name}: {words}") from None


def _check(row: Settings) -> None:
    unknown = set(row.options) - OPTIONS
    if unknown:
        raise BadSettings(f"options.{min(unknown)}: not known")
    if not row.options.get("system_id"):
        raise BadSettings("options.system_id: missing")
    for name, choices in CHOICES.items():
        if row.options.get(name, choices[0]) not in choices:
            raise BadSettings(f"options.{name}: none of {', '.join(choices)}")


def _peer(row: Settings, secrets: tuple[str, ...]) -> Peer:
    parts = urlsplit(row.send_url)
    if parts.scheme not in ("smpp", "smpps") or not parts.hostname:
        raise BadSettings("send_url: not like smpp://host:2775")
    if len(secrets) != 1:
        raise BadSettings("secrets: one name, of the variable with the password")
    try:
        port = parts.port or USUAL_PORT
    except ValueError:
        raise BadSettings("send_url: its port is none") from None
    told = {
        "system_id": row.options["system_id"],
        "password": secrets[0],
        "system_type": row.options.get("system_type", ""),
    }
    for what, longest in LONGEST.items():
        if len(told[what]) > longest:
            raise BadSettings(f"{what}: more than the protocol's {longest} characters")
    return Peer(parts.hostname, port, parts.scheme == "smpps", **told)


def _numbers(options: Mapping[str, str]) -> dict[str, int]:
    usual = dict.fromkeys(("source_ton", "source_npi", "dest_ton", "dest_npi"), "1")
    found = {}
    for name, default in (*usual.items(), ("enquire_s", "30")):
        given = options.get(name, default)
        if not given.isdecimal() or not int(given) < 3600:
            raise BadSettings(f"options.{name}: {given!r} is not a number that fits")
        found[name] = int(given)
    return found
