"""A wiring of ten-line fakes: what was heard and told is kept in lists, for tests to look at."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

from flask import Flask
from flask.testing import FlaskClient

from bot.gateways.chat import Chat
from bot.gateways.fields import open_fields
from bot.gateways.paper import Paper
from bot.gateways.protocol import Report
from bot.gateways.signed import open_signed
from bot.messages import Event, Heard, Pin
from bot.programme import GatewayRow, load_programme, read_folder
from bot.service.intake import Receipt
from bot.service.sorting_door import MovedOnError
from bot.talk.dialog import load_dialog, read_dialogs
from bot.web.app import create_app
from bot.web.wiring import Settings, Wiring
from bot.web.words import load_words
from tests.gateways.asking import ENV

ROOT = Path(__file__).parents[2]
NOW = datetime(2026, 11, 25, 7, 0, tzinfo=UTC)
PROGRAMME = load_programme(read_folder(ROOT / "demo_conversations" / "programme"))
DIALOG = load_dialog(read_dialogs(ROOT / "dialogs"))
WORDS = load_words(DIALOG.files["desk.toml"])
HILL = GatewayRow(
    "fields",
    ("TOKEN",),
    options={
        "method": "GET",
        "from": "query:from",
        "text": "query:text",
        "id": "query:id",
        "proof": "query:token",
        "report_key": "query:key",
        "report_state": "query:state",
        "report_delivered": "1",
        "report_undeliverable": "2|16",
    },
)


@dataclass
class FakeIntake:
    heard: list[Heard] = field(default_factory=list)
    told: list[tuple[str, Event, int | None]] = field(default_factory=list)
    reported: list[Report] = field(default_factory=list)
    turn: int = 3
    fault: Exception | None = None

    def hear(self, heard: Heard, now: datetime) -> Receipt:
        if self.fault:
            raise self.fault
        repeat = heard.id in {each.id for each in self.heard}
        if not repeat:
            self.heard.append(heard)
        return Receipt(repeat=repeat)

    def report(self, gateway: str, reports: Sequence[Report], now: datetime) -> None:
        self.reported.extend(reports)

    def tell(self, code: str, event: Event, now: datetime, expect_turn: int | None = None) -> None:
        if code != "K7R-4TR":
            raise LookupError(code)
        if expect_turn != self.turn:
            raise MovedOnError("moved")
        self.told.append((code, event, expect_turn))

    tell_pickup = tell


@dataclass
class FakeClaims:
    names: dict[str, str] = field(default_factory=dict)

    def claim(self, code: str, by: str) -> bool:
        return self.names.setdefault(code, by) == by

    def release(self, code: str, by: str) -> None:
        if self.names.get(code) == by:
            del self.names[code]


@dataclass(frozen=True)
class Account:
    name: str
    role: str = "coordinator"


class FakeAccounts:
    def check_password(self, name: str, password: str) -> Account | None:
        return Account(name) if (name, password) == ("ines", "brindle hut at dusk") else None

    def account(self, name: str) -> Account | None:
        return Account(name) if name == "ines" else None


@dataclass
class FakeShelf:
    kept: dict[str, bytes] = field(default_factory=dict)
    pins: list[Pin | None] = field(default_factory=list)

    def keep(
        self, data: bytes, type: str, pin: Pin | None, taken_at: datetime | None, now: datetime
    ) -> str:
        key = f"photo-{len(self.kept)}"
        self.kept[key] = data
        self.pins.append(pin)
        return key

    def drop(self, keys: Sequence[str]) -> None:
        for key in keys:
            del self.kept[key]

    def fetch(self, key: str) -> tuple[str, bytes] | None:
        return ("image/jpeg", self.kept[key]) if key in self.kept else None


@dataclass
class Clock:
    at: datetime = NOW

    def __call__(self) -> datetime:
        return self.at

    def wait(self, seconds: float) -> None:
        self.at += timedelta(seconds=seconds)


def make_wiring(desk: object = None, **changes: object) -> Wiring:
    """A whole wiring with fakes; any part may be given."""
    parts: dict[str, object] = {
        "intake": FakeIntake(),
        "desk": desk,
        "claims": FakeClaims(),
        "accounts": FakeAccounts(),
        "shelf": FakeShelf(),
        "gateways": {
            "paddock": Paper(open_signed("paddock", GatewayRow("signed", ("NEW_KEY",)), ENV)),
            "hill": open_fields("hill", HILL, {"TOKEN": "hut-on-the-hill"}),
            "chat": Chat("chat"),
        },
        "programme": PROGRAMME,
        "dialog": DIALOG,
        "words": WORDS,
        "settings": Settings(secret_key="for tests and nothing else " * 2, secure_cookies=False),
        "now": Clock(),
    }
    return Wiring(**{**parts, **changes})


def client_of(wiring: Wiring) -> FlaskClient:
    app: Flask = create_app(wiring)
    app.testing = False
    return app.test_client()
