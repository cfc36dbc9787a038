"""The whole service in one place with one injected clock, for playing transcripts on.

Nothing leaves the machine: every SMS gateway is made of paper, and what it would send is read
back from there. Codes are drawn from a seed that each transcript gives.
"""

from __future__ import annotations

import dataclasses
import secrets
import time
import zlib
from base64 import b64encode
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

from msgspec.structs import replace
from sqlalchemy import func, select

from bot.gateways.paper import Note, Paper
from bot.gateways.protocol import Gateway
from bot.gateways.registry import open_gateways
from bot.programme import Programme
from bot.service import tables
from bot.service.codes import Draw, seeded
from bot.service.database import Database, open_database
from bot.service.intake import Intake
from bot.service.outbox import deliver
from bot.service.roster import import_roster
from bot.service.wiring import open_intake
from bot.talk.dialog import Dialog


@dataclass(slots=True)
class Clock:
    """The one clock of a stage. It stands where it was set, until it is let go."""

    at: datetime
    _since: float | None = None

    def __call__(self) -> datetime:
        """The time on the stage, aware, in UTC."""
        if self._since is None:
            return self.at
        return self.at + timedelta(seconds=time.monotonic() - self._since)

    def set(self, at: datetime) -> None:
        """Move the clock forward; it never goes back."""
        self.at = max(self.at, at.astimezone(UTC))

    def let_go(self) -> None:
        """Tick on with real time from where it stands."""
        self._since = time.monotonic()


@dataclass(slots=True)
class Codes:
    """The codes of finds: the same in every play of the same transcript."""

    _draw: Draw = field(default_factory=lambda: seeded(0))

    def begin(self, title: str) -> None:
        """Start the series that belongs to a transcript's title."""
        self._draw = seeded(zlib.crc32(title.encode()))

    def __call__(self, longer: int = 0) -> str:
        """The next code of the series."""
        return self._draw(longer)


@dataclass(slots=True)
class Stage:
    """A service that is ready to be played on. `carrier` is the paper gateway by which people
    text; `secret` is what signs for it."""

    database: Database
    intake: Intake
    gateways: Mapping[str, Gateway]
    programme: Programme
    dialog: Dialog
    clock: Clock
    codes: Codes
    carrier: str
    secret: str

    @property
    def paper(self) -> Paper:
        """Where everything that was sent stands."""
        gateway = self.gateways[self.carrier]
        assert isinstance(gateway, Paper)  # noqa: S101 - made so by open_stage
        return gateway

    def run_until(self, at: datetime) -> Iterator[tuple[datetime, tuple[Note, ...]]]:
        """Let time pass: wake what is due at its own moment, and give what was sent by then."""
        while (due := self._next_due()) is not None and due <= at:
            self.clock.set(due)
            self.intake.run_due(self.clock())
            yield self.clock(), self.send_all()
        self.clock.set(at)

    def _next_due(self) -> datetime | None:
        timer = tables.Timer
        with self.database.read() as connection:
            found: datetime | None = connection.scalar(
                select(func.min(timer.due_at)).where(timer.done_at.is_(None))
            )
        return found

    def codes_of(self, numbers: tuple[str, ...], since: datetime) -> tuple[str, ...]:
        """The codes of the finds that these people have opened since then, oldest first."""
        find, hunter = tables.Conversation, tables.Hunter
        query = (
            select(find.code)
            .join(hunter, hunter.id == find.hunter_id)
            .where(hunter.number.in_(numbers), find.opened_at >= since)
            .order_by(find.id)
        )
        with self.database.read() as connection:
            return tuple(connection.scalars(query))

    def send_all(self) -> tuple[Note, ...]:
        """Empty the outbox; the texts that went out, in the order in which they were decided."""
        before = len(self.paper.sent)
        while deliver(self.database, self.gateways, self.clock()).sent:
            pass
        return tuple(sorted(self.paper.sent[before:], key=lambda note: _number(note.key)))


def _number(key: str) -> int:
    return int(key.rpartition("-")[2])


def on_paper(programme: Programme) -> Programme:
    """The same programme with every SMS gateway made of paper."""
    rows = {
        name: row if row.kind == "chat" else replace(row, kind="paper", send_url="")
        for name, row in programme.head.gateways.items()
    }
    return dataclasses.replace(programme, head=replace(programme.head, gateways=rows))


def open_stage(file: Path, programme: Programme, dialog: Dialog) -> Stage:
    """A stage on a SQLite file, its roster imported, its clock at the beginning of time."""
    database = open_database(f"sqlite:///{file}")
    import_roster(database, programme.roster)
    programme = on_paper(programme)
    secret = f"whsec_{b64encode(secrets.token_bytes(32)).decode()}"
    env = {name: secret for row in programme.head.gateways.values() for name in row.secrets}
    codes = Codes()
    intake = open_intake(database, dialog, programme, codes)
    gateways = open_gateways(programme.head.gateways, env)
    carrier = next(name for name, gateway in gateways.items() if isinstance(gateway, Paper))
    clock = Clock(datetime(2000, 1, 1, tzinfo=UTC))
    return Stage(database, intake, gateways, programme, dialog, clock, codes, carrier, secret)
