"""How many texts a second: the whole job beside a bare Flask route that runs the very same SQL
statements, and beside one with two durable inserts.

    python -m tests.bench.load                      five rounds, PostgreSQL from its wheel
    python -m tests.bench.load --rounds 1 --seconds 2
    python -m tests.bench.load --profile            where the job's own time goes

Same gunicorn, same database, same client, interleaved rounds, medians. The machine's other work
moves the figures of a second; the ratio is what counts.
"""

from __future__ import annotations

import argparse
import base64
import cProfile
import http.client
import itertools
import json
import os
import pickle
import pstats
import shutil
import statistics
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path

import psutil
from sqlalchemy import func, select, text

from bot.gateways.signed import new_key, signed_headers
from bot.messages import Heard
from bot.programme import load_programme, read_folder
from bot.service import tables as t
from bot.service.database import Database, open_database
from bot.service.intake import Intake
from bot.service.roster import import_roster
from bot.service.wiring import open_intake
from bot.shipped import dialog_files, shipped
from bot.talk.dialog import load_dialog
from tests.bench.load_script import CODE, Text, record
from tests.bench.load_server import MAKE_TABLE
from tests.faults.carrier import Carrier
from tests.faults.house import Kept, Postgres, free_port, python
from tests.faults.texts import TALKS, number_of

CONNECTIONS = 16
WORKERS, THREADS = 2, 4
SECRET = "whsec_" + base64.b64encode(b"the bench's own key, 32 bytes...").decode()
KEYS = {"BUSHPOST_SECRET_KEY": "a key for the bench alone " * 2, "BUSHPOST_PADDOCK_SECRET": SECRET}
JOB, REPLAYED, INSERTS = "job", "replayed", "inserts"


def talks() -> tuple[tuple[str, ...], ...]:
    """The hunters' talks, at fixed places."""
    where, head = "-36.9051, 147.1822", "Kerrin Flat depot"
    return tuple(tuple(body.format(where=where, head=head) for body in talk) for talk in TALKS)


@dataclass(slots=True)
class Round:
    """What one round of one server came to; `cpu` is the seconds of processor time that its
    processes and the database's spent."""

    seconds: float = 0.0
    cpu: float = 0.0
    took: list[float] = field(default_factory=list)
    errors: int = 0

    @property
    def rate(self) -> float:
        return len(self.took) / self.seconds

    @property
    def cost(self) -> float:
        """Processor time of a text, in ms."""
        return self.cpu / len(self.took) * 1000

    def at(self, share: float) -> float:
        """The time within which this share was answered, in ms."""
        return sorted(self.took)[int(share * (len(self.took) - 1))] * 1000


class Client:
    """Hunters who text one after another, each waiting for his answer, on 16 connections."""

    def __init__(self, scripts: list[list[Text]]) -> None:
        self.scripts = scripts
        self.hunters = itertools.count(1)
        self.key = new_key(SECRET)

    def run(self, port: int, seconds: float, spent: Callable[[], float] = lambda: 0.0) -> Round:
        """Texts for so many seconds; `spent` tells the processor time of the other side."""
        done, lock = Round(), threading.Lock()
        until = time.monotonic() + seconds
        threads = [
            threading.Thread(target=self._text, args=(port, until, done, lock))
            for _ in range(CONNECTIONS)
        ]
        began, before = time.monotonic(), spent()
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        done.seconds, done.cpu = time.monotonic() - began, spent() - before
        return done

    def _text(self, port: int, until: float, done: Round, lock: threading.Lock) -> None:
        line = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
        took, errors = list[float](), 0
        while time.monotonic() < until:
            try:
                for answer, passed in self._talk(line, next(self.hunters), until):
                    took.append(passed)
                    errors += answer != 200
            except (OSError, http.client.HTTPException):
                errors += 1
                line.close()
        line.close()
        with lock:
            done.took += took
            done.errors += errors

    def _talk(
        self, line: http.client.HTTPConnection, hunter: int, until: float
    ) -> Iterator[tuple[int, float]]:
        script, ids = hunter % len(self.scripts), {}
        for place, own in enumerate(self.scripts[script]):
            if time.monotonic() >= until:
                return
            now = datetime.now(UTC)
            payload = {
                "id": f"b{hunter}-{place}", "from": number_of(hunter), "text": own.body,
                "at": now.isoformat(), "play": (script, place, hunter, ids),
            }  # fmt: skip
            body = json.dumps(payload).encode()
            headers = signed_headers(self.key, payload["id"], body, now)
            began = time.perf_counter()
            line.request("POST", "/hear/paddock", body, headers)
            answer = line.getresponse()
            content = answer.read()
            yield answer.status, time.perf_counter() - began
            ids = json.loads(content) if content else ids


@dataclass(slots=True)
class Site:
    """One PostgreSQL server with a database for each of the three, and their web servers."""

    folder: Path
    postgres: Postgres
    carrier: Carrier
    running: dict[str, Kept] = field(default_factory=dict)

    def url(self, name: str) -> str:
        return self.postgres.url.replace("/postgres?", f"/{name}?")

    def open(self, name: str) -> Intake:
        """A database with a schema, a roster and nothing else."""
        admin = open_database(self.postgres.url, migrate=False)
        with admin.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
            connection.execute(text(f"CREATE DATABASE {name}"))
        admin.close()
        programme = load_programme(read_folder(self.folder / "programme"))
        database = open_database(self.url(name))
        import_roster(database, programme.roster)
        return open_intake(database, load_dialog(dialog_files()), programme, lambda longer: CODE)

    def serve(self, name: str, app: str) -> int:
        """A gunicorn of 2 processes of 4 threads; its port, once it answers."""
        port = free_port()
        env = {**os.environ, **KEYS, "BUSHPOST_DATABASE": self.url(name),
               "BUSHPOST_PROGRAMME": str(self.folder / "programme"),
               "BENCH_SCRIPT": str(self.folder / "script")}  # fmt: skip
        command = python("gunicorn", "-b", f"127.0.0.1:{port}", "-w", str(WORKERS), "--threads",
                         str(THREADS), "--log-level", "error", app)  # fmt: skip
        self.running[name] = kept = Kept(command, env, self.folder / f"{name}.log")
        kept.tend()
        for _ in range(600):
            with ExitStack() as stack:
                line = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
                stack.callback(line.close)
                try:
                    line.request("GET", "/healthz")
                    line.getresponse().read()
                    return port
                except OSError:
                    time.sleep(0.1)
        raise TimeoutError((self.folder / f"{name}.log").read_text()[-2000:])

    def spent(self, name: str) -> float:
        """Processor time, in seconds, of a web server and of the database so far."""
        total = 0.0
        for kept in (self.running[name], self.server):
            own = psutil.Process(kept.process.pid)
            for process in (own, *own.children(recursive=True)):
                with suppress(psutil.NoSuchProcess):
                    times = process.cpu_times()
                    total += times.user + times.system
        return total

    def deliver(self) -> Kept:
        """A worker beside the job."""
        env = {**self.running[JOB].env}
        kept = Kept(python("bot", "deliver"), env, self.folder / "deliver.log")
        kept.tend()
        return kept

    def close(self) -> None:
        for kept in self.running.values():
            kept.process.terminate()
            kept.process.wait()
        self.carrier.close()
        self.server.kill()
        self.postgres.close()
        shutil.rmtree(self.folder, ignore_errors=True)

    server: Kept | None = None


def open_site() -> Site:
    folder = Path(tempfile.mkdtemp(prefix="bushpost-bench-"))
    carrier = Carrier(SECRET, 1, frozenset())
    shutil.copytree(shipped("demo_conversations") / "programme", folder / "programme")
    head = folder / "programme" / "programme.toml"
    row = '[gateways.paddock]\nkind = "signed"\n'
    no_limits = "\n[sending]\nhunter_day = 0\nprogramme_hour = 0\n"
    head.write_text(head.read_text().replace(row, f'{row}send_url = "{carrier.url}"\n') + no_limits)
    postgres = Postgres(0)
    site = Site(folder, postgres, carrier)
    site.server = Kept(postgres.command, os.environ, folder / "postgres.log", postgres.user)
    site.server.tend()
    for _ in range(100):
        try:
            open_database(postgres.url, migrate=False).now()
            return site
        except Exception:  # Not there yet.
            time.sleep(0.2)
    raise TimeoutError("PostgreSQL does not start")


def waiting(database: Database) -> int:
    with database.read() as connection:
        rows = select(func.count()).where(t.TextOut.state == "waiting")
        return connection.scalar(rows) or 0


def with_delivery(site: Site, client: Client, port: int, seconds: float) -> tuple[float, Round]:
    """Texts a second from the first to the last reply handed over, a worker beside the job."""
    database = open_database(site.url(JOB), migrate=False)
    worker = site.deliver()
    while waiting(database):
        time.sleep(0.5)
    began = time.monotonic()
    done = client.run(port, seconds)
    while waiting(database):
        time.sleep(0.05)
    rate = len(done.took) / (time.monotonic() - began)
    worker.kill()
    database.close()
    return rate, done


def reply_times(site: Site, client: Client, port: int, texts: int) -> list[float]:
    """From webhook to hand-over at the gateway, in ms, while idle."""
    worker = site.deliver()
    time.sleep(8)
    times = []
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    for _ in range(texts):
        line.close()  # gunicorn closes what rests for 2 s.
        hunter = next(client.hunters)
        number, seen = number_of(hunter), len(site.carrier.book)
        began = time.monotonic()
        next(client._talk(line, hunter, began + 60))
        while not any(e.to == number for e in site.carrier.book[seen:]):
            if time.monotonic() - began > 10:
                break
            time.sleep(0.001)
        times.append((time.monotonic() - began) * 1000)
        time.sleep(0.15)
    worker.kill()
    return times


def profile(intake: Intake, rows: int) -> None:
    """Where the job's time goes, in this process."""
    clock = datetime.now(UTC)
    own = talks()
    run = cProfile.Profile()
    for hunter in range(60_000, 60_000 + rows):
        for place, body in enumerate(own[hunter % len(own)]):
            clock += timedelta(seconds=1)
            heard = Heard(f"p{hunter}-{place}", "paddock", number_of(hunter), body, clock)
            run.runcall(intake.hear, heard, clock)
    pstats.Stats(run).sort_stats("tottime").print_stats(35)
    pstats.Stats(run).sort_stats("cumulative").print_stats(45)


def say(name: str, rounds: list[Round]) -> None:
    rate, cost = (statistics.median(getattr(r, of) for r in rounds) for of in ("rate", "cost"))
    p50, p99 = (statistics.median(r.at(share) for r in rounds) for share in (0.5, 0.99))
    errors = sum(r.errors for r in rounds)
    print(
        f"{name:<28} {rate:6.0f} texts/s   p50 {p50:6.1f} ms   p99 {p99:6.1f} ms   "
        f"processor {cost:5.2f} ms a text   errors {errors}"
    )


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.load", description=__doc__)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--seconds", type=float, default=6.0)
    parser.add_argument("--profile", action="store_true")
    args = parser.parse_args()
    site = open_site()
    try:
        scripts = record(site.open("recording"), talks())
        (site.folder / "script").write_bytes(pickle.dumps(scripts))
        statements = [len(own.steps) for script in scripts for own in script]
        print(f"{statistics.mean(statements):.1f} statements a text, at most {max(statements)}")
        if args.profile:
            intake = site.open("profiled")
            profile(open_intake(intake.database, load_dialog(dialog_files()), intake.programme), 60)
            return 0
        return _measure(site, scripts, args)
    finally:
        site.close()


def _measure(site: Site, scripts: list[list[Text]], args: argparse.Namespace) -> int:
    client = Client(scripts)
    ports = {}
    for name, app in {JOB: "job", REPLAYED: "replayed", INSERTS: "inserts"}.items():
        intake = site.open(name)
        if name == INSERTS:
            with intake.database.write() as connection:
                connection.execute(text(MAKE_TABLE))
        ports[name] = site.serve(name, f"tests.bench.load_server:{app}()")
        client.run(ports[name], 2.0)
    rounds: dict[str, list[Round]] = {name: [] for name in ports}
    for _ in range(args.rounds):
        for name, port in ports.items():
            rounds[name].append(client.run(port, args.seconds, partial(site.spent, name)))
    say("the whole job", rounds[JOB])
    say("its statements, replayed", rounds[REPLAYED])
    say("two durable inserts", rounds[INSERTS])
    for name in (REPLAYED, INSERTS):
        pairs = zip(rounds[JOB], rounds[name], strict=True)
        ratio = statistics.median(own.rate / other.rate for own, other in pairs)
        cost = statistics.median(r.cost for r in rounds[name]) / statistics.median(
            r.cost for r in rounds[JOB]
        )
        print(f"job / {name:<22} {ratio:8.2f}   by processor time {cost:.2f}")
    tails = zip(rounds[JOB], rounds[REPLAYED], strict=True)
    tail = statistics.median(own.at(0.99) / other.at(0.99) for own, other in tails)
    print(f"p99 of job / replayed        {tail:8.2f}")
    rate, done = with_delivery(site, client, ports[JOB], 2 * args.seconds)
    print(f"with delivery                {rate:8.0f} texts/s   errors {done.errors}")
    times = sorted(reply_times(site, client, ports[JOB], 40))
    print(f"reply while idle             {times[len(times) // 2]:8.0f} ms median, "
          f"{times[-1]:.0f} ms longest of {len(times)}")  # fmt: skip
    return int(any(r.errors for own in rounds.values() for r in own))


if __name__ == "__main__":
    sys.exit(main())
