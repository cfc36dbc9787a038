"""What every gateway is: three functions over plain values, and the ways in which they refuse.

A gateway knows one carrier's habits and nothing else: no web framework, no storage, no
conversation. A fault is named by whose it is: BadProof and BadBody are the sender's, NotSent
the carrier's, BadSettings the programme's.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Literal, Protocol, runtime_checkable

from bot.messages import Address, Heard


@dataclass(frozen=True, slots=True)
class Request:
    """One HTTP request as it arrived, `at` that time. Header names are in lower case; `body` is
    never re-made, since signatures cover its very bytes."""

    method: str
    headers: Mapping[str, str]
    query: Mapping[str, str]
    at: datetime
    body: bytes = b""
    remote: str = ""


@dataclass(frozen=True, slots=True)
class Sent:
    """The carrier took the text. `carrier_id` is its own id for it, or ""; `report_ids` are the
    names under which it will report what became of it, one a part, none if it reports nothing."""

    carrier_id: str = ""
    report_ids: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Report:
    """What a carrier says became of something it took, under one of its `report_ids`. `reason`
    is its own code where it failed."""

    id: str
    state: Literal["accepted", "delivered", "undeliverable"]
    at: datetime
    reason: str = ""


class Settings(Protocol):
    """A gateway's row of settings, as its factory wants it. `secrets` names variables of the
    environment, never secrets themselves."""

    @property
    def kind(self) -> str: ...
    @property
    def secrets(self) -> tuple[str, ...]: ...
    @property
    def send_url(self) -> str: ...
    @property
    def options(self) -> Mapping[str, str]: ...


# These four are named for what is wrong, as reason codes are, and not with a suffix.
class GatewayError(Exception):
    """Whatever a gateway refuses."""


class BadProof(GatewayError):
    """The request does not prove that it comes from the carrier. Nothing of it may be kept."""


class BadBody(GatewayError):
    """The payload is not what the carrier agreed to send; names the field's path."""

    def __init__(self, path: str, why: str) -> None:
        super().__init__(f"{path}: {why}")
        self.path = path
        self.why = why


class NotSent(GatewayError):
    """The carrier did not take a text. `reason` is a short code, `retry` whether to try again."""

    def __init__(self, reason: str, retry: bool) -> None:
        super().__init__(reason)
        self.reason = reason
        self.retry = retry


class LineDown(GatewayError):
    """A line to a carrier is not there, or broke. `reason` is a short code; open it anew."""

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        self.reason = reason


class BadSettings(GatewayError):
    """A gateway's row in programme.toml, or its environment, cannot be used."""


class Gateway(Protocol):
    """One carrier. `methods` are the HTTP methods by which it brings texts in."""

    @property
    def methods(self) -> frozenset[str]: ...

    def verify(self, request: Request, now: datetime) -> None:
        """Raise BadProof unless the request comes from the carrier."""

    def hear(self, request: Request) -> tuple[Heard, ...]:
        """The texts of a proven request; BadBody names the field that is at fault."""

    def send(self, address: Address, body: str, key: str) -> Sent:
        """Hand one text over; NotSent if it was not taken. The same `key` is the same text."""


@runtime_checkable
class Reporting(Protocol):
    """A gateway whose carrier reports by HTTP; without `report_methods` it does not."""

    @property
    def report_methods(self) -> frozenset[str]: ...

    def verify(self, request: Request, now: datetime) -> None:
        """As a Gateway's."""

    def reports(self, request: Request) -> tuple[Report, ...]:
        """What a proven request reports; BadBody names the field that is at fault."""


class Ear(Protocol):
    """Who listens at a line. Both keep what they are given before they return; whatever they
    raise means that it is not kept, and that the carrier must bring it again."""

    def hear(self, heard: Heard) -> None: ...
    def report(self, report: Report) -> None: ...


LINE_DOWN = "line_down"
"""Why a text was not sent that was to go over a line which is not open."""


@runtime_checkable
class Line(Protocol):
    """A gateway that keeps a line to its carrier: one process opens it, listens, and sends.
    `renames`: a text that is brought again, for want of an answer, has another id."""

    @property
    def renames(self) -> bool: ...

    def open(self) -> None:
        """Open the line anew; LineDown if it cannot be."""

    def listen(self, ear: Ear, wait_s: float) -> None:
        """Bring in what comes within a time; LineDown if the line broke."""

    def close(self) -> None:
        """Take leave of the carrier. Does nothing where there is no line."""

    def send(self, address: Address, body: str, key: str) -> Sent:
        """As a Gateway's."""


def secrets_of(name: str, row: Settings, env: Mapping[str, str]) -> tuple[str, ...]:
    """The values of a row's secrets, in order; a variable that is not set is BadSettings."""
    missing = [variable for variable in row.secrets if not env.get(variable)]
    if missing:
        raise BadSettings(f"gateway {name}: {', '.join(missing)} is not set in the environment")
    return tuple(env[variable] for variable in row.secrets)
