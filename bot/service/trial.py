"""Try a changed dialog on the stored conversations of the last weeks: read, replayed, compared.

Runs in a thread of its own and says how far it is. Nothing is written to the database.
"""

from __future__ import annotations

import io
import logging
import threading
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta

import msgspec
from sqlalchemy import select

from bot.messages import Event
from bot.programme import Programme
from bot.service import tables
from bot.service.database import Database
from bot.service.logs import fault_code
from bot.talk import state as talk_state
from bot.talk.dialog import Dialog, DialogError, load_dialog
from bot.talk.trying import Parting, part

LOG = logging.getLogger(__name__)
_C, _E, _H = tables.Conversation, tables.Event, tables.Hunter
MOST_TALKS = 5_000
MOST_SHOWN = 200
MOST_FILES, MOST_BYTES = 100, 4_000_000


def dialog_in_zip(data: bytes, base: Dialog) -> Dialog:
    """The dialog of a zip of changed TOML files, over those in force. DialogError says what is
    wrong; nothing is unpacked to disk, and sizes are bounded before anything is read."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            infos = [i for i in archive.infolist() if i.filename.endswith(".toml")]
            if len(infos) > MOST_FILES or sum(i.file_size for i in infos) > MOST_BYTES:
                raise DialogError("the zip holds more than a dialogs folder does")
            found = {_inside(i.filename): archive.read(i).decode("utf-8") for i in infos}
    except (zipfile.BadZipFile, UnicodeDecodeError, RuntimeError, NotImplementedError) as fault:
        raise DialogError(f"the zip cannot be read: {fault}") from fault
    changed = {name: text for name, text in found.items() if name in base.files}
    if not changed:
        raise DialogError("the zip holds no file of a dialogs folder")
    return load_dialog({**base.files, **changed})


def _inside(path: str) -> str:
    """A file's name inside dialogs/, wherever that folder lies in the zip."""
    return path.rpartition("dialogs/")[2]


@dataclass(slots=True)
class Trial:
    """One try: how many talks there are, how many are done, and those that part."""

    weeks: int
    total: int = 0
    done: int = 0
    over: bool = False
    fault: str = ""
    partings: list[Parting] = field(default_factory=list)
    texts: int = 0
    segments: int = 0
    handovers: int = 0

    def run(
        self,
        database: Database,
        dialogs: tuple[Dialog, Dialog],
        programme: Programme,
        now: datetime,
    ) -> None:
        """Replay everything; whatever goes wrong is said in `fault`."""
        try:
            ids = _talks(database, now - timedelta(weeks=self.weeks))
            self.total = len(ids)
            for first, events in _stories(database, ids):
                self._take(part(first, events, dialogs, programme))
        except Exception as fault:
            LOG.error("trial_fault", extra={"fault": fault_code(fault)})
            self.fault = f"the new dialog fails on a stored talk: {type(fault).__name__}: {fault}"
        self.over = True

    def start(
        self,
        database: Database,
        dialogs: tuple[Dialog, Dialog],
        programme: Programme,
        now: datetime,
    ) -> threading.Thread:
        """The same in a thread of its own."""
        order = (database, dialogs, programme, now)
        thread = threading.Thread(target=self.run, args=order, name="trial", daemon=True)
        thread.start()
        return thread

    def _take(self, parting: Parting | None) -> None:
        self.done += 1
        if parting is None:
            return
        self.texts += parting.new.texts - parting.old.texts
        self.segments += parting.new.segments - parting.old.segments
        self.handovers += parting.new.handovers - parting.old.handovers
        self.partings.append(parting)


def _talks(database: Database, since: datetime) -> list[int]:
    query = (
        select(_C.id)
        .join(_H, _H.id == _C.hunter_id)
        .where(_C.last_event_at >= since, _H.erased_at.is_(None))
        .order_by(_C.id.desc())
        .limit(MOST_TALKS)
    )
    with database.read() as connection:
        return list(connection.scalars(query))


def _stories(
    database: Database, ids: list[int]
) -> Iterator[tuple[talk_state.Conversation, tuple[Event, ...]]]:
    """Each conversation's beginning and events, one short read at a time."""
    for row in ids:
        first = select(_C.first_state).where(_C.id == row)
        bodies = select(_E.body).where(_E.stream == "conversation", _E.stream_id == row)
        with database.read() as connection:
            state = connection.scalar(first) or ""
            stored = list(connection.scalars(bodies.order_by(_E.seq)))
        events = tuple(msgspec.json.decode(body, type=Event) for body in stored)
        yield talk_state.load(state), events
