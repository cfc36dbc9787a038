"""What a person says of specimens (the custody page, a scanned label, the laboratory's file):
one transaction, the trail first, then whatever the find's own talk must hear of it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from msgspec.structs import replace
from sqlalchemy import Connection, select

from bot.fieldwork.custody import CustodyEvent, JawReleased, LabSaid, Made
from bot.fieldwork.laboratory import repeats
from bot.fieldwork.specimens import Trail, outcome_of, root_of
from bot.messages import Event, JawNews, Result
from bot.service import tables
from bot.service.codes import Draw
from bot.service.custody import find_of, finds_of, keep_custody, specimens_of, trail_of
from bot.service.gather import Find, find_by, hunter_of, lock_hunters

Play = Callable[[Connection, Find, Any, datetime], object]


class TrailMovedOnError(RuntimeError):
    """Something was added to the trail after the page was made that this act is based on."""


@dataclass(frozen=True, slots=True)
class CustodyDoor:
    """One transaction's way with some events of custody."""

    connection: Connection
    play: Play
    draw: Draw
    now: datetime

    def take(self, events: Sequence[CustodyEvent], seen: int | None = None) -> tuple[str, ...]:
        """Keep all of these; the codes of their trails. `seen` is how many events the one trail
        had on the page. LookupError for a code that nobody knows."""
        named = [self._named(event) for event in events]
        self._lock(named)
        by_root: dict[str, list[CustodyEvent]] = {}
        for event in named:
            by_root.setdefault(root_of(event.code), []).append(event)
        for root, own in by_root.items():
            if seen is not None and len(trail_of(self.connection, root).events) != seen:
                raise TrailMovedOnError(root)
            news = self._news(root, own)
            if news:
                self._tell(keep_custody(self.connection, root, news, self.now), news)
        return tuple(by_root)

    def _news(self, root: str, events: Sequence[CustodyEvent]) -> list[CustodyEvent]:
        """What is not a repeat of what the laboratory has said already: checked here again,
        under the lock, since two may bring the same file in at once."""
        said = [e for e in trail_of(self.connection, root).events if isinstance(e, LabSaid)]
        news: list[CustodyEvent] = []
        for event in events:
            if isinstance(event, LabSaid):
                if repeats(event, tuple(s for s in said if s.code == event.code)):
                    continue
                said.append(event)
            news.append(event)
        return news

    def _named(self, event: CustodyEvent) -> CustodyEvent:
        """A head without a label gets a code that neither a find nor a specimen has."""
        if not isinstance(event, Made) or event.code:
            return event
        find, specimen = tables.Conversation, tables.Specimen
        while True:
            code = self.draw(0)
            taken = (
                select(find.code)
                .where(find.code == code)
                .union(select(specimen.root).where(specimen.root == code))
            )
            if self.connection.scalar(taken) is None:
                return replace(event, code=code)

    def _lock(self, events: Sequence[CustodyEvent]) -> None:
        """Lock the hunters of all finds at once, in the one order that never waits in a ring."""
        finds = {
            code
            for e in events
            for code in (e.either_of if isinstance(e, Made) and e.either_of else (self._find(e),))
        }
        owners = {hunter_of(self.connection, code) for code in finds}
        lock_hunters(self.connection, owners)

    def _find(self, event: CustodyEvent) -> str:
        return find_of(self.connection, event.code)

    def _tell(self, trail: Trail, events: Sequence[CustodyEvent]) -> None:
        """The talk hears of a result that is new, and of what became of a jaw."""
        for code in finds_of(trail):
            find = self._locked(code)
            outcome = outcome_of(specimens_of(self.connection, code), code)
            by = events[-1].by
            if outcome and outcome != find.conversation.result:
                self._play(find, Result(self.now, by, outcome))
                find = self._locked(code)
            for event in events:
                if isinstance(event, JawReleased) and event.how and _of(trail, event) == code:
                    self._play(find, JawNews(self.now, event.by, event.how, event.words))
                    find = self._locked(code)

    def _play(self, find: Find, event: Event) -> None:
        self.play(self.connection, find, event, self.now)

    def _locked(self, code: str) -> Find:
        owner = hunter_of(self.connection, code)
        hunter = lock_hunters(self.connection, {owner})[owner]
        return find_by(self.connection, hunter, tables.Conversation.code == code)


def _of(trail: Trail, event: CustodyEvent) -> str:
    """Whose specimen an event is about, "" while that is not decided."""
    specimen = trail.specimen(event.code)
    return specimen.find if specimen else ""
