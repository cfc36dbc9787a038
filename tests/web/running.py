"""A real service on a file of its own behind a real server, with a worker, on real time."""

from __future__ import annotations

import json
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import httpx
from flask import Flask
from sqlalchemy import func, select
from standardwebhooks.webhooks import Webhook

from bot.commands.deliver import keep_working
from bot.commands.opening import Opened
from bot.gateways.registry import open_gateways
from bot.gateways.signed import signed_headers
from bot.programme import GatewayRow, Programme
from bot.service import tables
from bot.service.accounts import add_account
from bot.service.database import open_database
from bot.service.links import NO_LINKS, Links
from bot.service.roster import import_roster
from bot.service.wiring import open_intake
from bot.web.app import create_app
from bot.web.serving import Server, wiring_of
from bot.web.wiring import Settings
from tests.gateways.asking import ENV, SECRET
from tests.web.wires import DIALOG, PROGRAMME

NAME, PASSWORD = "ines", "brindle hut at dusk"


def now() -> datetime:
    return datetime.now(UTC)


@dataclass(frozen=True)
class Service:
    """A running service: where it answers, and what it is made of."""

    url: str
    opened: Opened
    app: Flask

    def post(self, body: bytes, id: str, secret: str = SECRET) -> httpx.Response:
        """One signed request to the webhook."""
        headers = signed_headers(Webhook(secret), id, body, now())
        return httpx.post(f"{self.url}/hear/paddock", content=body, headers=headers)

    def text_in(self, number: str, words: str, id: str) -> httpx.Response:
        """One text through the webhook."""
        text = {"id": id, "from": number, "text": words, "at": now().isoformat()}
        return self.post(json.dumps(text).encode(), id)

    def stored(self) -> int:
        """How many texts are stored."""
        with self.opened.intake.database.read() as connection:
            return connection.scalar(select(func.count()).select_from(tables.TextIn))


@contextmanager
def running_service(
    folder: Path, programme: Programme = PROGRAMME, links: Links = NO_LINKS
) -> Iterator[Service]:
    """The service until the end of the block."""
    database = open_database(f"sqlite:///{folder / 'bushpost.sqlite3'}")
    import_roster(database, programme.roster)
    add_account(database, NAME, PASSWORD, now())
    rows = {"paddock": GatewayRow("paper", ("NEW_KEY",)), "chat": GatewayRow("chat")}
    intake = open_intake(database, DIALOG, programme, links=links)
    opened = Opened(intake, open_gateways(rows, ENV), DIALOG)
    settings = Settings("a key for tests on a real server " * 2, secure_cookies=False)
    app = create_app(wiring_of(opened.intake, opened.gateways, DIALOG, settings, now))
    server, stop = Server(app, "127.0.0.1", 0), threading.Event()
    server.start()
    worker = threading.Thread(target=keep_working, args=(opened, now, stop), daemon=True)
    worker.start()
    yield Service(server.url, opened, app)
    stop.set()
    worker.join(timeout=10)
    server.close()
    database.close()
