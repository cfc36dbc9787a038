"""Does a text cost more once years are stored? python -m tests.bench.grown

Two databases in one PostgreSQL from its wheel: one with a schema and a roster, one with 1,000,000
conversations and all that hangs on them, about 10,000,000 texts, copied from some hundred real
ones inside the database (tests/bench/many.py) without indexes, which are built afterwards. Then
whole talks are taken and their replies handed over in both, round about, and a text's time is
compared. Needs some 40 GB of disk for a while and about an hour; `--conversations 20000` for a
look.
"""

from __future__ import annotations

import argparse
import itertools
import statistics
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

from sqlalchemy import func, select, text

from bot.gateways.protocol import Request, Sent
from bot.messages import Address, Heard
from bot.service import tables as t
from bot.service.codes import seeded
from bot.service.copying import go_on_numbering
from bot.service.database import Database, open_database
from bot.service.intake import Intake
from bot.service.outbox import deliver
from bot.service.roster import import_roster
from bot.service.wiring import open_intake
from tests.bench.desk import told
from tests.bench.load import talks
from tests.bench.load_site import served
from tests.bench.many import multiply
from tests.faults.house import Postgres
from tests.faults.texts import number_of
from tests.web.wires import DIALOG, PROGRAMME

GATEWAY = "paddock"
ALLOWED = 1.25
"""So many times the empty database's cost a text may take."""
REAL = 100


class Taken:
    """A gateway that takes everything at once."""

    methods = frozenset[str]()

    def verify(self, request: Request, now: datetime) -> None: ...

    def hear(self, request: Request) -> tuple[Heard, ...]:
        return ()

    def send(self, address: Address, body: str, key: str) -> Sent:
        return Sent()


@dataclass(slots=True)
class Side:
    """One database: its door, its hunters that never texted before, and what each text took."""

    intake: Intake
    hunters: Iterator[int]
    clock: datetime
    heard_ms: list[float] = field(default_factory=list)
    sent_ms: list[float] = field(default_factory=list)

    def round(self, count: int) -> None:
        """So many whole talks, and every reply handed over."""
        took, texts = 0.0, 0
        for hunter in itertools.islice(self.hunters, count):
            own = TALKS[hunter % len(TALKS)]
            for place, body in enumerate(own):
                self.clock += timedelta(seconds=1)
                heard = Heard(f"g{hunter}-{place}", GATEWAY, number_of(hunter), body, self.clock)
                began = time.perf_counter()
                self.intake.hear(heard, self.clock)
                took += time.perf_counter() - began
                texts += 1
        self.heard_ms.append(1000 * took / texts)
        began, sent = time.perf_counter(), 0
        at = self.clock + timedelta(seconds=1)
        while now_sent := deliver(self.intake.database, {GATEWAY: Taken()}, at, 16).sent:
            sent += now_sent
        self.sent_ms.append(1000 * (time.perf_counter() - began) / max(sent, 1))


TALKS = talks()


def opened(postgres: Postgres, name: str, first: int) -> Side:
    """A new database with a schema and a roster."""
    admin = open_database(postgres.url, migrate=False)
    with admin.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as plain:
        plain.execute(text(f"CREATE DATABASE {name}"))
    admin.close()
    database = open_database(postgres.url.replace("/postgres?", f"/{name}?"))
    import_roster(database, PROGRAMME.roster)
    intake = open_intake(database, DIALOG, PROGRAMME, seeded(first))
    return Side(intake, itertools.count(first), datetime(2026, 11, 25, 6, tzinfo=UTC))


def grow(database: Database, copies: int) -> None:
    """Copy everything so many times without indexes and checks of keys, then build those anew:
    the copies are exact, and an index kept up row by row would take half a day."""
    with database.write() as connection:
        standing = list(connection.execute(text(INDEXES)))
        for row in standing:
            connection.execute(text(f"DROP INDEX {row.indexname}"))
        for line in ("session_replication_role = replica", "synchronous_commit = off"):
            connection.execute(text(f"ALTER DATABASE grown SET {line}"))
    database.engine.dispose()  # Its connections are to begin under these settings.
    told("copies", lambda: multiply(database, copies))
    with database.write() as connection:
        connection.execute(text("ALTER DATABASE grown RESET ALL"))
    database.engine.dispose()
    with database.write() as connection:
        connection.execute(text(YEARS_AGO))
    told("indexes", lambda: _build(database, [row.indexdef for row in standing]))
    with database.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as plain:
        plain.exec_driver_sql("VACUUM ANALYZE")


YEARS_AGO = f"""UPDATE pickups SET opened_at = opened_at - interval '400 days',
    last_event_at = last_event_at - interval '400 days' WHERE conversation_id > {REAL}"""
"""Staff's texts look at what is live or of these days: that a million heads were fetched today
would be another measurement."""
INDEXES = """SELECT indexname, indexdef FROM pg_indexes WHERE schemaname = 'public'
    AND indexname NOT IN (SELECT conname FROM pg_constraint)"""
"""Those that no key stands on."""


def _build(database: Database, definitions: list[str]) -> None:
    with database.write() as connection:
        connection.execute(text("SET LOCAL maintenance_work_mem = '1GB'"))
        for definition in definitions:
            connection.execute(text(definition))
        go_on_numbering(connection)


def counted(database: Database) -> str:
    with database.read() as connection:
        rows = {
            name: connection.scalar(select(func.count()).select_from(table)) or 0
            for name, table in (("talks", t.Conversation), ("in", t.TextIn), ("out", t.TextOut))
        }
        size = connection.scalar(text("SELECT pg_database_size(current_database())")) or 0
    texts = rows["in"] + rows["out"]
    return f"{rows['talks']} conversations, {texts} texts, {size / 1e9:.1f} GB"


def measure(postgres: Postgres, conversations: int, rounds: int, hunters: int) -> float:
    """How many times the empty database's cost a text takes in the grown one, heard and sent."""
    empty, grown = opened(postgres, "empty", 1), opened(postgres, "grown", 30_000)
    told("real talks", lambda: grown.round(REAL))
    grow(grown.intake.database, conversations // REAL - 1)
    print(counted(grown.intake.database), flush=True)
    sides = {"empty": empty, "grown": grown}
    for side in sides.values():
        side.round(hunters)  # What is not in memory yet is read, and statements are prepared.
        side.heard_ms.clear()
        side.sent_ms.clear()
    for _ in range(rounds):
        for side in sides.values():
            side.round(hunters)
    cost = {}
    for name, side in sides.items():
        heard, sent = statistics.median(side.heard_ms), statistics.median(side.sent_ms)
        cost[name] = heard + sent
        print(f"{name}: a text heard {heard:.2f} ms, a reply handed over {sent:.2f} ms", flush=True)
        side.intake.database.close()
    return cost["grown"] / cost["empty"]


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.grown", description=__doc__)
    parser.add_argument("--conversations", type=int, default=1_000_000)
    parser.add_argument("--rounds", type=int, default=7)
    parser.add_argument("--hunters", type=int, default=60, help="talks of a round")
    args = parser.parse_args()
    postgres = Postgres(0)
    server = served(postgres, postgres.folder / "log")
    try:
        ratio = measure(postgres, args.conversations, args.rounds, args.hunters)
    finally:
        server.kill()
        postgres.close()
    print(f"a text costs {ratio:.2f} times that of the empty database, {ALLOWED} allowed")
    return 0 if ratio <= ALLOWED else 1


if __name__ == "__main__":
    raise SystemExit(main())
