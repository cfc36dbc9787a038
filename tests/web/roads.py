"""A find on its road to the laboratory, on a real service behind the real pages."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path

from flask.testing import FlaskClient

from bot.messages import Heard
from bot.service.accounts import add_account
from bot.service.codes import seeded
from bot.service.database import open_database
from bot.service.intake import Intake
from bot.service.links import Links
from bot.service.roster import import_roster
from bot.service.wiring import open_intake
from bot.web.app import create_app
from bot.web.serving import wiring_of
from bot.web.wiring import Settings
from tests.web.test_accounts import RIGHT, log_in
from tests.web.wires import DIALOG, PROGRAMME, Clock

START = datetime(2026, 11, 25, 21, 0, tzinfo=UTC)
"""Thursday 08:00 in the programme's zone, so that somebody is on duty."""
HUNTER, NELL, TOM = "+61491570006", "+61491570156", "+61491570157"
FULL = (
    "Shot a boar Sat 6pm, pus in the jaw gland. 36 52.2 S 147 09.1 E. Head is in 2 bags in the "
    "freezer at Brindle Hut. State forest. Name's Dave Kerr, want the jaw back"
)


@dataclass
class Road:
    """One service with its clock, and a browser that is logged in to the desk."""

    intake: Intake
    clock: Clock
    browser: FlaskClient
    passer_by: FlaskClient
    count: int = 0

    def text(self, body: str, number: str = HUNTER) -> str:
        self.count += 1
        self.clock.at += timedelta(minutes=1)
        heard = Heard(f"t{self.count}", "paddock", number, body, self.clock.at)
        receipt = self.intake.hear(heard, self.clock.at)
        assert not receipt.fault
        return receipt.code

    def find(self) -> str:
        """A reported find whose head is offered to Nell."""
        return self.text(FULL)

    def collected(self) -> str:
        code = self.find()
        self.text(f"yes {code}", NELL)
        self.text(f"got {code}", NELL)
        return code


@cache
def _furnished() -> bytes:
    """A database with its schema, its roster and its account, made once for all roads."""
    with tempfile.TemporaryDirectory(prefix="bushpost-road-") as folder:
        path = Path(folder) / "road.sqlite3"
        database = open_database(f"sqlite:///{path}")
        import_roster(database, PROGRAMME.roster)
        add_account(database, "ines", RIGHT, START)
        database.close()
        return path.read_bytes()


def open_road(folder: Path) -> Road:
    path = folder / "road.sqlite3"
    path.write_bytes(_furnished())
    database = open_database(f"sqlite:///{path}", migrate=False)
    clock = Clock(START)
    links = Links("a secret for tests only, and long enough", "https://post.example")
    intake = open_intake(database, DIALOG, PROGRAMME, seeded(7), links)
    settings = Settings("a key for tests and nothing else " * 2, secure_cookies=False)
    app = create_app(wiring_of(intake, {}, DIALOG, settings, clock))
    browser = app.test_client()
    log_in(browser)
    return Road(intake, clock, browser, app.test_client())
