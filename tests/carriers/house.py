"""Programs side by side: started, waited for by what they say or do, and ended one by one."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest

from bot.service.database import Database, open_database
from bot.service.tables import TextIn, TextOut
from bot.shipped import shipped
from tests.service.fakes import rows

ROOT = Path(__file__).parents[2]
PATIENCE_S = 40.0


def needed(*programs: str) -> None:
    """Skip, naming the program that this machine lacks; `.ci/run` takes no such skip."""
    for program in programs:
        if shutil.which(program, path=f"{os.environ['PATH']}:/usr/sbin") is None:
            pytest.skip(f"{program} is not installed: see the carriers' part of .ci/run")


def block(kind: str, page: str) -> str:
    """The first block of a kind on a page of the manual."""
    text = (ROOT / "bot" / "manual" / page).read_text(encoding="utf-8")
    return re.search(rf"```{kind}\n(.*?)```", text, re.DOTALL).group(1)


def until(met: Callable[[], object], what: str) -> object:
    """What `met` gives once it gives anything; fails naming what was waited for."""
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        if found := met():
            return found
        time.sleep(0.05)
    raise AssertionError(f"waited {PATIENCE_S:.0f} s for {what}")


@dataclass
class Program:
    """One that runs, and all that it has said so far."""

    process: subprocess.Popen[bytes]
    log: Path

    def said(self) -> str:
        return self.log.read_text(encoding="utf-8", errors="replace")

    def end(self) -> None:
        self.process.terminate()
        try:
            self.process.wait(10)
        except subprocess.TimeoutExpired:
            self.process.kill()


@dataclass
class House:
    """A folder with a programme and a database, and the programs that were started in it."""

    folder: Path
    stack: ExitStack

    def start(self, *words: object, env: Mapping[str, str] | None = None) -> Program:
        log = self.folder / f"{Path(str(words[0])).name}-{time.monotonic_ns()}.log"
        with log.open("wb") as out:
            process = subprocess.Popen(
                [str(word) for word in words],
                stdout=out,
                stderr=subprocess.STDOUT,
                cwd=self.folder,
                env={**os.environ, "PATH": f"{os.environ['PATH']}:/usr/sbin", **(env or {})},
            )
        program = Program(process, log)
        self.stack.callback(program.end)
        return program

    def bushpost(self, command: str, *words: str, env: Mapping[str, str]) -> Program:
        """One of our own commands, on this house's programme and database."""
        own = ["--programme", str(self.folder / "programme"), "--database", self.address]
        python = {"PYTHONPATH": str(ROOT), **env}
        return self.start(sys.executable, "-m", "bot", command, *words, *own, env=python)

    @property
    def address(self) -> str:
        return f"sqlite:///{self.folder / 'bushpost.sqlite3'}"

    def programme(self, gateways: str) -> None:
        """The invented programme with these gateways in place of its own."""
        made = self.folder / "programme"
        shutil.copytree(shipped("demo_conversations") / "programme", made)
        head = (made / "programme.toml").read_text(encoding="utf-8").split("[gateways.", 1)[0]
        (made / "programme.toml").write_text(head + gateways, encoding="utf-8")

    def database(self) -> Database:
        database = open_database(self.address)
        self.stack.callback(database.close)
        return database


def texts_in(database: Database) -> list[tuple]:
    return [row[1:] for row in rows(database, TextIn.id, TextIn.sender, TextIn.body)]


def texts_out(database: Database) -> list[tuple]:
    """Number, words, state and what the carrier reported, in the order of decision."""
    columns = (TextOut.id, TextOut.number, TextOut.body, TextOut.state, TextOut.report)
    return [row[1:] for row in rows(database, *columns)]


@contextmanager
def house(folder: Path) -> Iterator[House]:
    """A house until the end of the block; whatever was started in it is ended."""
    with ExitStack() as stack:
        yield House(folder, stack)
