"""What the load bench stands on: a database of either kind, with one of its own for each of the
job and its references, the web servers on them, and a carrier.

PostgreSQL is served by gunicorn's two processes; SQLite, which serves one machine, by one.
"""

from __future__ import annotations

import http.client
import os
import shutil
import tempfile
import time
from contextlib import closing, suppress
from dataclasses import dataclass, field
from pathlib import Path

import psutil
from sqlalchemy import text

from bot.programme import load_programme, read_folder
from bot.service.database import open_database
from bot.service.intake import Intake
from bot.service.roster import import_roster
from bot.service.wiring import open_intake
from bot.shipped import dialog_files, shipped
from bot.talk.dialog import load_dialog
from tests.bench.load_client import SECRET
from tests.bench.load_script import CODE
from tests.faults.carrier import Carrier
from tests.faults.house import Kept, Postgres, free_port, python

WORKERS, THREADS = 2, 4
KEYS = {"BUSHPOST_SECRET_KEY": "a key for the bench alone " * 2, "BUSHPOST_PADDOCK_SECRET": SECRET}


@dataclass(slots=True)
class Site:
    """One database server, or none for SQLite, and the web servers that run by name."""

    folder: Path
    carrier: Carrier
    postgres: Postgres | None = None
    server: Kept | None = None
    running: dict[str, Kept] = field(default_factory=dict)

    def url(self, name: str) -> str:
        """Of the database of this name."""
        if self.postgres is None:
            return f"sqlite:///{self.folder}/{name}.sqlite3"
        return self.postgres.url.replace("/postgres?", f"/{name}?")

    def open(self, name: str) -> Intake:
        """A database with a schema, a roster and nothing else."""
        if self.postgres is not None:
            with closing(open_database(self.postgres.url, migrate=False)) as admin:
                plain = admin.engine.connect().execution_options(isolation_level="AUTOCOMMIT")
                with plain as connection:
                    connection.execute(text(f"CREATE DATABASE {name}"))
        programme = load_programme(read_folder(self.folder / "programme"))
        database = open_database(self.url(name))
        import_roster(database, programme.roster)
        return open_intake(database, load_dialog(dialog_files()), programme, lambda longer: CODE)

    def serve(self, name: str, app: str) -> int:
        """A gunicorn on the database of this name; its port, once it answers."""
        port = free_port()
        env = {**os.environ, **KEYS, "BUSHPOST_DATABASE": self.url(name),
               "BUSHPOST_PROGRAMME": str(self.folder / "programme"),
               "BENCH_SCRIPT": str(self.folder / "script")}  # fmt: skip
        workers = 1 if self.postgres is None else WORKERS
        threads = THREADS * WORKERS // workers
        command = python("gunicorn", "-b", f"127.0.0.1:{port}", "-w", str(workers), "--threads",
                         str(threads), "--log-level", "error", app)  # fmt: skip
        self.running[name] = kept = Kept(command, env, self.folder / f"{name}.log")
        kept.tend()
        for _ in range(600):
            with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=5)) as line:
                try:
                    line.request("GET", "/healthz")
                    line.getresponse().read()
                    return port
                except OSError:
                    time.sleep(0.1)
        raise TimeoutError((self.folder / f"{name}.log").read_text()[-2000:])

    def spent(self, name: str) -> float:
        """Processor time, in seconds, of a web server and of the database so far."""
        return sum(_seconds(p) for kept in (self.running[name], self.server) for p in _all(kept))

    def memory(self, name: str) -> float:
        """Resident memory of a web server's processes, in MB."""
        return sum(p.memory_info().rss for p in _all(self.running[name])) / 1e6

    def deliver(self, name: str) -> Kept:
        """A worker beside a web server."""
        env = {**self.running[name].env}
        kept = Kept(python("bot", "deliver"), env, self.folder / "deliver.log")
        kept.tend()
        return kept

    def close(self) -> None:
        """Stop everything, and leave nothing behind."""
        for kept in self.running.values():
            if kept.process is not None:
                kept.process.terminate()
                kept.process.wait()
        self.carrier.close()
        if self.server is not None:
            self.server.kill()
        if self.postgres is not None:
            self.postgres.close()
        shutil.rmtree(self.folder, ignore_errors=True)


def _all(kept: Kept | None) -> list[psutil.Process]:
    if kept is None or kept.process is None:
        return []
    own = psutil.Process(kept.process.pid)
    return [own, *own.children(recursive=True)]


def _seconds(process: psutil.Process) -> float:
    with suppress(psutil.NoSuchProcess):
        times = process.cpu_times()
        return float(times.user + times.system)
    return 0.0


def open_site(*, sqlite: bool = False) -> Site:
    """A site with a programme whose carrier is ours, and that has no limits."""
    folder = Path(tempfile.mkdtemp(prefix="bushpost-bench-"))
    carrier = Carrier(SECRET, 1, frozenset())
    shutil.copytree(shipped("demo_conversations") / "programme", folder / "programme")
    head = folder / "programme" / "programme.toml"
    row = '[gateways.paddock]\nkind = "signed"\n'
    no_limits = "\n[sending]\nhunter_day = 0\nprogramme_hour = 0\n"
    head.write_text(head.read_text().replace(row, f'{row}send_url = "{carrier.url}"\n') + no_limits)
    if sqlite:
        return Site(folder, carrier)
    postgres = Postgres(0)
    return Site(folder, carrier, postgres, served(postgres, folder / "postgres.log"))


def served(postgres: Postgres, log: Path) -> Kept:
    """The server's process, once it answers."""
    server = Kept(postgres.command, os.environ, log, postgres.user)
    server.tend()
    for _ in range(100):
        with suppress(Exception):  # Not there yet.
            open_database(postgres.url, migrate=False).now()
            return server
        time.sleep(0.2)
    raise TimeoutError("PostgreSQL does not start")
