"""The faults suite as a command: breaks a real service on purpose, and weighs what is left.

python -m tests.faults                                     a minute, PostgreSQL
python -m tests.faults --database sqlite                   one process and a file
python -m tests.faults --texts 20000 --hunters 2000        full size
"""

from __future__ import annotations

import argparse
import os
import shutil
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

import httpx
from sqlalchemy import func, select

from bot.commands.opening import DEMO_SECRETS
from bot.service import tables as t
from bot.service.database import Database, open_database
from bot.shipped import shipped
from tests.faults import weighing
from tests.faults.carrier import Carrier
from tests.faults.house import House, Kept, Postgres, free_port, mount, python, throw_away
from tests.faults.schedule import Breaker, Fault
from tests.faults.texts import SHUFFLED_S, deliveries, number_of

SECRET_NAME = "BUSHPOST_PADDOCK_SECRET"
STAFF = 40
STAFF_FROM = 79_000
"""The first of the numbers that staff have; hunters have those below."""
SETTLE_S = 240.0
COUNTED = {"finds": t.Conversation, "pickups": t.Pickup, "events": t.Event}
ODD_ZONE = "Pacific/Chatham"
"""The processes' own time zone, 12:45 h or 13:45 h ahead: nothing may depend on it."""


@dataclass(slots=True)
class Outcome:
    """What was done, what broke, and what does not hold."""

    rows: list[tuple[str, str]] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)

    def say(self, name: str, value: object) -> None:
        self.rows.append((name, str(value)))

    def check(self, name: str, faults: Iterable[str]) -> None:
        found = list(faults)
        self.say(name, "holds" if not found else f"{len(found)} do NOT: {found[0]}")
        self.wrong += found


@dataclass(slots=True)
class Site:
    """A service set up in a folder: where it keeps its data, its programme and its logs."""

    folder: Path
    url: str
    postgres: Postgres | None
    disk: Path | None
    mounted: Path | None

    @classmethod
    def on(cls, kind: str, megabytes: int) -> Site:
        folder = Path(tempfile.mkdtemp(prefix="bushpost-faults-site-"))
        if kind == "postgresql":
            server = Postgres(megabytes)
            disk = server.folder if server.mounted else None
            return cls(folder, server.url, server, disk, None)
        disk = folder / "disk"
        disk.mkdir()
        mounted = mount(disk, megabytes)
        url = f"sqlite:///{disk / 'bushpost.sqlite3'}"
        return cls(folder, url, None, disk if mounted else None, disk if mounted else None)

    def programme(self, send_url: str) -> Path:
        """The invented programme with many more staff, on duty all day, and this carrier."""
        made = self.folder / "programme"
        shutil.copytree(shipped("demo_conversations") / "programme", made)
        head = (made / "programme.toml").read_text()
        row = '[gateways.paddock]\nkind = "signed"\n'
        head = head.replace(row, f'{row}send_url = "{send_url}"\n')
        # More goes out here within minutes than any programme would pay for.
        no_limits = "\n[sending]\nhunter_day = 0\nprogramme_hour = 0\n"
        (made / "programme.toml").write_text(head + no_limits)
        lines = ["id,name,role,phone,lat,lon,reach_km,days,hours"]
        for n in range(STAFF):
            lat, lon = -37.2 + 0.5 * n / STAFF, 146.9 + 0.4 * (n * 7 % STAFF) / STAFF
            number = number_of(STAFF_FROM + n)
            lines.append(f"s{n},Staff {n},field,{number},{lat},{lon},200,mon-sun,00:00-24:00")
        lines.append("c1,Ines Calder,coordinator,0491 570 159,-36.70,147.00,0,,")
        (made / "staff.csv").write_text("\n".join(lines) + "\n")
        return made

    def close(self) -> None:
        if self.postgres:
            self.postgres.close()
        if self.mounted:
            throw_away(self.mounted, True)
        shutil.rmtree(self.folder, ignore_errors=True)


def house_of(site: Site, carrier: Carrier, kind: str) -> tuple[House, list[str]]:
    """Two web and two deliver processes on PostgreSQL, or one process on SQLite; where the web
    answers."""
    env = {**os.environ, "TZ": ODD_ZONE, SECRET_NAME: DEMO_SECRETS[SECRET_NAME]}
    env["BUSHPOST_DATABASE"] = site.url
    folder = str(site.programme(carrier.url))
    ports = [free_port() for _ in range(2 if kind == "postgresql" else 1)]
    house, logs = House(), site.folder

    def keep(name: str, *command: str, user: str | None = None) -> None:
        house.kept[name] = Kept(command, env, logs / f"{name.replace(' ', '-')}.log", user)

    if site.postgres:
        keep("postgres", *site.postgres.command, user=site.postgres.user)
        for n, port in enumerate(ports, 1):
            serve = python("bot", "serve", "--no-deliver", "--programme", folder)
            keep(f"web {n}", *serve, "--port", str(port))
            keep(f"deliver {n}", *python("tests.faults.worker", "deliver", "--programme", folder))
    else:
        serve = python("tests.faults.worker", "serve", "--programme", folder)
        keep("serve", *serve, "--port", str(ports[0]))
    return house, [f"http://127.0.0.1:{port}" for port in ports]


def run(args: argparse.Namespace) -> Outcome:
    """Break everything; what came of it."""
    outcome = Outcome()
    site = Site.on(args.database, 300 + args.texts // 10)
    staff = frozenset(number_of(STAFF_FROM + n) for n in range(STAFF))
    carrier = Carrier(DEMO_SECRETS[SECRET_NAME], args.seed, staff)
    house, urls = house_of(site, carrier, args.database)
    try:
        house.start()
        for url in urls:
            _wait_for(url)
        database = open_database(site.url)
        faults = _break(args, outcome, Breaker(house, carrier, site.postgres, site.disk), urls)
        outcome.say("seconds more until nothing waited", f"{_settle(database):.0f}")
        for name, kept in house.kept.items():
            outcome.say(f"  starts of {name}", kept.starts)
        _weigh(outcome, database, carrier, faults)
        database.close()
    finally:
        for log in site.folder.glob("*.log") if args.keep_logs else ():
            shutil.copy(log, args.keep_logs)
        house.close()
        carrier.close()
        site.close()
    return outcome


def _break(
    args: argparse.Namespace, outcome: Outcome, breaker: Breaker, urls: list[str]
) -> list[Fault]:
    """Bring every text in while one thing after another breaks; what broke."""
    carrier, span = breaker.carrier, args.texts / args.rate
    all_of_them = sorted(deliveries(args.texts, args.hunters, span, args.seed))
    began = carrier.inbox.began = time.monotonic()
    carrier.inbox.add(all_of_them)
    order = (args.seed, args.every, span + SHUFFLED_S, args.every)
    breaking = threading.Thread(target=breaker.break_all, args=order, daemon=True)
    breaking.start()
    carrier.bring_all(urls)
    breaking.join()
    outcome.say("texts in, with staff's answers", len(carrier.acknowledged))
    outcome.say("deliveries planned", len(all_of_them))
    outcome.say("refused or cut, and tried again", carrier.refused)
    outcome.say("seconds", f"{time.monotonic() - began:.0f}")
    outcome.say("faults", len(breaker.done))
    for kind, number in sorted(Counter(fault.kind for fault in breaker.done).items()):
        outcome.say(f"  {kind}", number)
    return breaker.done


def _wait_for(url: str) -> None:
    """Until the service answers for the first time."""
    until = time.monotonic() + 90
    while time.monotonic() < until:
        with suppress(httpx.HTTPError):
            if httpx.get(f"{url}/readyz", trust_env=False).status_code == 200:
                return
        time.sleep(0.2)
    raise TimeoutError(f"nothing answers at {url}")


def _settle(database: Database) -> float:
    """Wait until no text waits to be sent; how many seconds that took."""
    began = time.monotonic()
    while time.monotonic() - began < SETTLE_S:
        try:
            with database.read() as connection:
                waiting = select(func.count()).where(t.TextOut.state == "waiting")
                if not connection.scalar(waiting):
                    return time.monotonic() - began
        except Exception as fault:  # The last fault may have been the database's own.
            print(f"waiting for the database: {type(fault).__name__}", file=sys.stderr)
        time.sleep(0.5)
    return time.monotonic() - began


def _weigh(outcome: Outcome, database: Database, carrier: Carrier, faults: Sequence[Fault]) -> None:
    book = list(carrier.book)
    with database.read() as connection:
        for name, table in {
            "finds": t.Conversation,
            "pickups": t.Pickup,
            "events": t.Event,
        }.items():
            outcome.say(name, connection.scalar(select(func.count()).select_from(table)))
        states = select(t.TextOut.state, func.count()).group_by(t.TextOut.state)
        for state, number in sorted(connection.execute(states).all()):
            outcome.say(f"texts out: {state}", number)
    outcome.say(
        "handed over, of these again", f"{len(book)}, {len(book) - len({e.key for e in book})}"
    )
    holds = "every acknowledged text is there once"
    outcome.check(holds, weighing.kept_once(database, carrier.acknowledged))
    outcome.check("every conversation equals its pure replay", weighing.replays(database))
    outcome.check("one pickup a find", weighing.pickups_once(database))
    again = "each text out handed over, again only after a fault"
    outcome.check(again, weighing.handed_over(database, book, faults))
    outcome.check("each hunter's texts came in order", weighing.in_order(database, book))
    outcome.check("nothing waits for ever", weighing.nothing_waits(database))


def main() -> int:
    """Print the table; 1 if anything does not hold."""
    parser = argparse.ArgumentParser(prog="python -m tests.faults", description=__doc__)
    parser.add_argument("--database", choices=["postgresql", "sqlite"], default="postgresql")
    parser.add_argument("--texts", type=int, default=800)
    parser.add_argument("--hunters", type=int, default=120)
    parser.add_argument("--rate", type=float, default=25.0, help="new texts a second")
    parser.add_argument("--every", type=float, default=1.5, help="seconds between two faults")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--keep-logs", type=Path, help="a folder for the processes' own logs")
    outcome = run(parser.parse_args())
    width = max(len(name) for name, _ in outcome.rows)
    for name, value in outcome.rows:
        print(f"{name:<{width}}  {value}")
    for line in outcome.wrong[:20]:
        print(f"WRONG: {line}")
    return 1 if outcome.wrong else 0


if __name__ == "__main__":
    sys.exit(main())
