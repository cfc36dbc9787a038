"""What the pages are wired to, handed to `create_app` whole: nothing is looked up or imported late.

The Protocols say what the pages need of the service; bot/service gives it, tests give less.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from bot.fieldwork.custody import CustodyEvent
from bot.gateways.protocol import Gateway, Report
from bot.messages import Event, Heard, PickupEvent, Pin
from bot.programme import Programme
from bot.service.database import Database
from bot.service.desk_rows import Card, ChatTalk, Waiting
from bot.service.links import Links
from bot.service.number_door import CodeOrder
from bot.service.sealing import PLAIN, Sealer
from bot.service.sorting_door import Entry
from bot.settings import USUAL_LIMITS, Limits
from bot.talk.dialog import Dialog
from bot.web.words import DeskWords


class Receipt(Protocol):
    """What became of one text. `repeat` means that it was known already."""

    @property
    def repeat(self) -> bool: ...


class Intake(Protocol):
    """The one way by which anything changes: a text heard, or an event told."""

    def hear(self, heard: Heard, now: datetime) -> Receipt: ...
    def report(self, gateway: str, reports: Sequence[Report], now: datetime) -> None: ...
    def tell(
        self, code: str, event: Event, now: datetime, expect_turn: int | None = None
    ) -> object: ...
    @property
    def links(self) -> Links: ...
    def tell_custody(
        self, events: Sequence[CustodyEvent], now: datetime, seen: int | None = None
    ) -> object: ...
    def tell_pickup(
        self, code: str, event: PickupEvent, now: datetime, expect_turn: int | None = None
    ) -> object: ...
    def enter(self, entry: Entry, now: datetime) -> str: ...
    def ask_code(self, order: CodeOrder, key: str, now: datetime) -> bool: ...
    def prove_number(
        self, session: str, typed: str, fresh: str, key: str, now: datetime
    ) -> str: ...
    def join(self, code: str, into: str, by: str, now: datetime, seen: int) -> None: ...
    def split(
        self, code: str, by: str, words: str, keys: tuple[str, ...], now: datetime, seen: int
    ) -> str: ...


class Desk(Protocol):
    """What the pages read."""

    def review_list(self, now: datetime) -> Sequence[Waiting]: ...
    def find_card(self, code: str) -> Card | None: ...
    def chat_talk(self, session: str, after: int = 0) -> ChatTalk: ...


class Account(Protocol):
    """Somebody who may log in."""

    @property
    def name(self) -> str: ...
    @property
    def role(self) -> str: ...


class Accounts(Protocol):
    """Who may log in: by password, and by the name that a session remembers."""

    def check_password(self, name: str, password: str) -> Account | None: ...
    def account(self, name: str) -> Account | None: ...


class Shelf(Protocol):
    """Where pictures are kept, by key."""

    def keep(
        self,
        data: bytes,
        type: str,
        pin: Pin | None,
        taken_at: datetime | None,
        now: datetime,
    ) -> str: ...
    def drop(self, keys: Sequence[str]) -> None: ...
    def fetch(self, key: str) -> tuple[str, bytes] | None: ...


class Claims(Protocol):
    """Who looks after which find: a name on the open rows of the review list."""

    def claim(self, code: str, by: str) -> bool: ...
    def release(self, code: str, by: str) -> None: ...


@dataclass(frozen=True, slots=True)
class Settings:
    """The key that signs sessions, whether cookies may travel over plain HTTP, and from where
    the desk's map may fetch tiles ("https://host/{z}/{x}/{y}.png"; "" is from nowhere). `limits` is
    how often strangers may do what; `metrics_token` opens /metrics, "" shuts it; `sealer`
    encrypts pictures and second factors, which `second_factor` says who must have."""

    secret_key: str
    secure_cookies: bool = True
    tiles: str = ""
    limits: Limits = USUAL_LIMITS
    metrics_token: str = ""
    sealer: Sealer = PLAIN
    second_factor: str = ""


@dataclass(frozen=True, slots=True)
class Wiring:
    """Everything that the pages reach. `ready` says whether storage answers."""

    intake: Intake
    desk: Desk
    claims: Claims
    accounts: Accounts
    shelf: Shelf
    gateways: Mapping[str, Gateway]
    programme: Programme
    dialog: Dialog
    words: DeskWords
    settings: Settings
    now: Callable[[], datetime]
    ready: Callable[[], bool] = lambda: True
    database: Database | None = None
    """What the office's pages (search, map, season, accounts) read and write; None on fakes."""
