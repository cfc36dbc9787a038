"""The desk at full size: python -m tests.bench.desk

100,000 conversations in a SQLite file, or in an empty PostgreSQL database by --database: a few
hundred that came in by the one door, three texts each, and copies of their rows. Then the real
pages through the web app: the list, finds' cards, searches; the median of each, and beside it
the time of the very statements that the page asked, asked again of the bare driver.
"""

from __future__ import annotations

import argparse
import statistics
import tempfile
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import timedelta
from itertools import islice
from pathlib import Path
from typing import Any

from flask.testing import FlaskClient
from sqlalchemy import event, func, select

from bot.messages import Heard
from bot.service import tables
from bot.service.accounts import add_account
from bot.service.codes import seeded
from bot.service.database import Database, open_database
from bot.service.intake import Intake
from bot.service.roster import import_roster
from bot.service.wiring import open_intake
from bot.web.app import create_app
from bot.web.serving import wiring_of
from bot.web.wiring import Settings
from tests.bench.many import multiply
from tests.bench.texts import texts
from tests.web.office import PASSWORD
from tests.web.test_accounts import log_in
from tests.web.wires import DIALOG, NOW, PROGRAMME

FIRST_NUMBER = 447_700_900_000
"""Ofcom keeps 07700 900000 to 900999 for fiction."""

MORE = ("yes", "head is bagged and in the freezer at Brindle Hut")
ASKED = ("boar", "pus", "freezer", "brindle hut", "sow lump", "b", "zebedee", "2026-11-24", "wild")
LIMITS = {"list": 100, "card": 60, "search": 200}
"""Milliseconds at the server, at the median, that are promised."""


@dataclass
class Overheard:
    """The statements that a page asks of the database, with their values."""

    asked: list[tuple[str, Any]] = field(default_factory=list)

    def hear(self, _c: object, _u: object, words: str, values: Any, _x: object, many: bool) -> None:
        if words.lstrip().upper().startswith(("SELECT", "WITH")) and not many:
            self.asked.append((words, values))


def talk(intake: Intake, count: int) -> None:
    """So many real conversations, of as many hunters."""
    known = [mark.name for mark in PROGRAMME.landmarks]
    for n, words in enumerate(islice(texts(known), count)):
        for m, said in enumerate((words, *MORE)):
            at = NOW - timedelta(minutes=3 * (count - n) - m)
            sender = f"+{FIRST_NUMBER + n}"
            intake.hear(Heard(f"desk{n}-{m}", "paddock", sender, said, at), at)


def bare(database: Database, asked: Iterable[tuple[str, Any]]) -> float:
    """Seconds that the driver alone takes to answer."""
    with database.engine.connect() as connection:
        driver = connection.connection.cursor()
        began = time.perf_counter()
        for words, values in asked:
            driver.execute(words, values)
            driver.fetchall()
        return time.perf_counter() - began


def measure(database: Database, client: FlaskClient, name: str, paths: list[str]) -> float:
    """The median of a page over these addresses in milliseconds, printed beside the bare one."""
    pages, drivers, counts = [], [], []
    for path in paths:
        heard = Overheard()
        event.listen(database.engine, "before_cursor_execute", heard.hear)
        began = time.perf_counter()
        answer = client.get(path)
        pages.append(time.perf_counter() - began)
        event.remove(database.engine, "before_cursor_execute", heard.hear)
        assert answer.status_code == 200, (path, answer.status)
        drivers.append(bare(database, heard.asked))
        counts.append(len(heard.asked))
    page, driver = (1000 * statistics.median(each) for each in (pages, drivers))
    worst = 1000 * max(pages)
    print(
        f"{name:8} median {page:7.1f} ms of {LIMITS[name]} allowed, slowest {worst:7.1f} ms; bare "
        f"{driver:7.2f} ms, {page / driver:6.1f} times that; {max(counts)} statements",
        flush=True,
    )
    return page


def fill(database: Database, total: int, real: int) -> Intake:
    """The accounts, the roster, the real talks, and their copies."""
    add_account(database, "ines", PASSWORD, NOW, "coordinator")
    import_roster(database, PROGRAMME.roster)
    intake = open_intake(database, DIALOG, PROGRAMME, seeded(5))
    told("real talks", lambda: talk(intake, real))
    told("copies", lambda: multiply(database, total // real - 1))
    return intake


def told(words: str, work: Callable[[], object]) -> None:
    """Do it, and print how long it took."""
    began = time.perf_counter()
    work()
    print(f"{words}: {time.perf_counter() - began:.0f} s", flush=True)


def walk(intake: Intake, repeat: int) -> bool:
    """Ask for every page; whether all of them keep to what is promised."""
    database, now = intake.database, NOW + timedelta(hours=1)
    settings = Settings("a key for benches only " * 3, secure_cookies=False)
    client = create_app(wiring_of(intake, {}, DIALOG, settings, lambda: now)).test_client()
    log_in(client, "ines", PASSWORD)
    with database.read() as connection:
        codes = list(connection.scalars(select(tables.Conversation.code)))
        still = tables.Review.closed_at.is_(None)
        waiting = select(func.count(tables.Review.conversation_id.distinct())).where(still)
        print(f"{len(codes)} conversations, {connection.scalar(waiting)} on the list", flush=True)
    some = codes[:: max(1, len(codes) // (4 * repeat))]
    words = [*ASKED, codes[0], codes[-1], "07700 900123"]
    pages = {
        "list": ["/desk/"] * repeat,
        "card": [f"/desk/find/{code}" for code in some],
        "search": [f"/desk/search/?for={w}" for w in words for _ in range(max(1, repeat // 4))],
    }
    client.get("/desk/")
    medians = {name: measure(database, client, name, paths) for name, paths in pages.items()}
    return all(median <= LIMITS[name] for name, median in medians.items())


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--conversations", type=int, default=100_000)
    parser.add_argument("--real", type=int, default=250, help="how many of them come in by text")
    parser.add_argument("--repeat", type=int, default=12)
    parser.add_argument("--database", help="an empty PostgreSQL database, instead of a file")
    args = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="bushpost-bench-") as folder:
        address = args.database or f"sqlite:///{Path(folder) / 'bench.sqlite3'}"
        database = open_database(address)
        kept = walk(fill(database, args.conversations, args.real), args.repeat)
        database.close()
    return 0 if kept else 1


if __name__ == "__main__":
    raise SystemExit(main())
