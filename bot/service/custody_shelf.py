"""What the pages read of specimens. Nothing here writes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from sqlalchemy import select

from bot.fieldwork.custody import LabSaid
from bot.fieldwork.specimens import Specimen, Trail, root_of
from bot.service import tables
from bot.service.custody import READ, all_specimens, find_of, roots_of, trail_of
from bot.service.database import Database
from bot.talk import state as talk_state
from bot.talk.state import Conversation

_C, _K = tables.Conversation, tables.Custody


@dataclass(frozen=True, slots=True)
class CustodyShelf:
    """Reads for the custody page, the labels, and the laboratory's lists."""

    database: Database

    def trails(self, find: str) -> tuple[Trail, ...]:
        """The trails that are, or may be, about a find; its own first, also where it is empty."""
        with self.database.read() as connection:
            return tuple(trail_of(connection, root) for root in roots_of(connection, find))

    def trail(self, code: str) -> Trail:
        """The trail that a specimen's code stands in."""
        with self.database.read() as connection:
            return trail_of(connection, root_of(code))

    def find_of(self, code: str) -> str:
        """The find that a specimen's trail is written under; LookupError if nobody knows it."""
        with self.database.read() as connection:
            return find_of(connection, code)

    def specimens(self) -> tuple[Specimen, ...]:
        """Every container that there is, by code."""
        with self.database.read() as connection:
            return all_specimens(connection)

    def history(self) -> Mapping[str, tuple[LabSaid, ...]]:
        """Every specimen's code, with what the laboratory has said of it so far."""
        query = select(_K.body).where(_K.kind == "lab_said").order_by(_K.id)
        with self.database.read() as connection:
            said = {s.code: list[LabSaid]() for s in all_specimens(connection)}
            for body in connection.scalars(query):
                event = READ.decode(body)
                if isinstance(event, LabSaid):
                    said.setdefault(event.code, []).append(event)
        return {code: tuple(events) for code, events in said.items()}

    def talks(self, finds: Iterable[str]) -> Mapping[str, Conversation]:
        """The conversations of these finds, by code."""
        query = select(_C.code, _C.state).where(_C.code.in_(sorted(set(finds))))
        with self.database.read() as connection:
            return {row.code: talk_state.load(row.state) for row in connection.execute(query)}
