"""The desk's pages on a real service with a SQLite file of its own, without a server before it."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import timedelta
from functools import cache
from pathlib import Path

from flask.testing import FlaskClient

from bot.gateways.registry import open_gateways
from bot.messages import Heard
from bot.programme import GatewayRow, Programme
from bot.service.accounts import add_account
from bot.service.codes import seeded
from bot.service.database import Database, open_database
from bot.service.intake import Intake
from bot.service.roster import import_roster
from bot.service.wiring import open_intake
from bot.web.app import create_app
from bot.web.serving import wiring_of
from bot.web.wiring import Settings
from tests.gateways.asking import ENV
from tests.web.test_accounts import log_in
from tests.web.wires import DIALOG, NOW, PROGRAMME, Clock

HUNTER, MATE = "+61491570006", "+61491570110"
PASSWORD = "brindle hut at dusk"
RICH = "Boar, lump under the jaw with pus, 2 km N of Brindle Hut, yesterday"


@dataclass
class Office:
    """A service with three people who may log in: vera looks, ines works, ada rules."""

    database: Database
    intake: Intake
    clock: Clock
    app: object
    ids: int = 0

    def client(self, name: str = "ines") -> FlaskClient:
        client = self.app.test_client()
        if name:
            assert log_in(client, name, PASSWORD).status_code == 302
        return client

    def text(self, words: str, number: str = HUNTER, gateway: str = "paddock") -> str:
        """One text in; the code of its find."""
        self.ids += 1
        heard = Heard(f"t{self.ids}", gateway, number, words, self.clock.at)
        return self.intake.hear(heard, self.clock.at).code

    def turn(self, code: str) -> int:
        with self.database.read() as connection:
            from bot.service import tables as t
            from bot.talk.state import load

            query = t.Conversation.__table__.select().where(t.Conversation.code == code)
            return load(connection.execute(query).one().state).turn


@cache
def _furnished() -> bytes:
    """A database with its schema, its roster and its accounts, made once: hashing is slow."""
    with tempfile.TemporaryDirectory(prefix="bushpost-office-") as folder:
        path = Path(folder) / "office.sqlite3"
        database = open_database(f"sqlite:///{path}")
        import_roster(database, PROGRAMME.roster)
        for name, role in (("vera", "viewer"), ("ines", "coordinator"), ("ada", "administrator")):
            add_account(database, name, PASSWORD, NOW, role)
        database.close()
        return path.read_bytes()


@contextmanager
def open_office(
    folder: Path, tiles: str = "", programme: Programme = PROGRAMME
) -> Iterator[Office]:
    path = folder / "office.sqlite3"
    path.write_bytes(_furnished())
    database = open_database(f"sqlite:///{path}", migrate=False)
    clock = Clock()
    intake = open_intake(database, DIALOG, programme, seeded(5))
    rows = {"paddock": GatewayRow("paper", ("NEW_KEY",)), "chat": GatewayRow("chat")}
    settings = Settings("a key for tests only " * 3, secure_cookies=False, tiles=tiles)
    wiring = wiring_of(intake, open_gateways(rows, ENV), DIALOG, settings, clock)
    app = create_app(wiring)
    app.testing = False
    yield Office(database, intake, clock, app)
    database.close()


def token_of(page) -> str:
    return re.search(r'name="csrf_token" value="([^"]+)"', page.get_data(as_text=True)).group(1)


def post(client: FlaskClient, page: str, path: str, **form):
    """Post a form with the token that stands on a page."""
    token = token_of(client.get(page))
    return client.post(path, data={"csrf_token": token, **form})


HOUR = timedelta(hours=1)
