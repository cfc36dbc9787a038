"""Stored conversations played again from their first states: the proof that nothing was lost.

Law: what is stored is only read. Each event meets the dialog and the programme that were in
force when it came, from the files kept under their hashes, so that a later change changes no
verdict. Erased hunters are passed over: their words are gone, and with them what was decided.
"""

from __future__ import annotations

import logging
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field

import msgspec
from msgspec import Struct
from sqlalchemy import Connection, select

from bot.messages import Effect, Event
from bot.programme import Programme, load_programme
from bot.service import tables
from bot.service.beginning import contents_of
from bot.service.columns import Found
from bot.service.database import Database
from bot.service.logs import fault_code
from bot.talk import state as talk_state
from bot.talk.conversation import step
from bot.talk.dialog import Dialog, load_dialog

LOG = logging.getLogger(__name__)
CHUNK = 200
"""Conversations that are read at a time."""

_C, _E, _F, _H = tables.Conversation, tables.Event, tables.Effect, tables.Hunter


class Replayed(Struct, frozen=True):
    """How many conversations were played again, and the codes of those that came out otherwise."""

    talks: int = 0
    differing: tuple[str, ...] = ()


@dataclass(slots=True)
class _Files:
    """Dialogs and programmes by their hashes, each loaded once."""

    connection: Connection
    _dialogs: dict[str, Dialog] = field(default_factory=dict)
    _programmes: dict[str, Programme] = field(default_factory=dict)

    def dialog(self, name: str) -> Dialog:
        if name not in self._dialogs:
            self._dialogs[name] = load_dialog(self._files(name))
        return self._dialogs[name]

    def programme(self, name: str) -> Programme:
        if name not in self._programmes:
            self._programmes[name] = load_programme(self._files(name))
        return self._programmes[name]

    def _files(self, name: str) -> dict[str, str]:
        files = contents_of(self.connection, name)
        if files is None:
            raise LookupError(f"no files are kept under the hash {name}")
        return files


def replay_stored(
    database: Database, newest: int | None = None, tell: Callable[[int], object] = lambda n: None
) -> Replayed:
    """Play the newest conversations again, or all; `tell` hears after each how many are done."""
    talks, differing = 0, list[str]()
    with database.read() as connection:
        files = _Files(connection)
        for chunk in _chunks(_ids(connection, newest)):
            for row, events, effects in _stories(connection, chunk):
                talks += 1
                if not _comes_out(row, events, effects, files):
                    differing.append(row.code)
                tell(talks)
    return Replayed(talks, tuple(differing))


def _ids(connection: Connection, newest: int | None) -> list[int]:
    query = (
        select(_C.id)
        .join(_H, _H.id == _C.hunter_id)
        .where(_H.erased_at.is_(None))
        .order_by(_C.id.desc())
    )
    return list(connection.scalars(query.limit(newest) if newest is not None else query))


def _chunks(ids: list[int]) -> Iterator[list[int]]:
    for start in range(0, len(ids), CHUNK):
        yield ids[start : start + CHUNK]


def _stories(
    connection: Connection, ids: list[int]
) -> Iterator[tuple[Found, list[Found], dict[int, list[str]]]]:
    """Each conversation's row, its events in order, and what each event led to."""
    events: dict[int, list[Found]] = defaultdict(list)
    effects: dict[int, list[str]] = defaultdict(list)
    own = (_E.stream == "conversation") & _E.stream_id.in_(ids)
    columns = select(_E.id, _E.stream_id, _E.body, _E.dialog_hash, _E.programme_hash)
    for event in connection.execute(columns.where(own).order_by(_E.stream_id, _E.seq)):
        events[event.stream_id].append(event)
    led = select(_F.event_id, _F.body).join(_E, _E.id == _F.event_id).where(own)
    for effect in connection.execute(led.order_by(_F.event_id, _F.position)):
        effects[effect.event_id].append(effect.body)
    talks = select(_C.id, _C.code, _C.first_state, _C.state, _C.version).where(_C.id.in_(ids))
    for row in connection.execute(talks.order_by(_C.id)):
        yield row, events[row.id], effects


def _comes_out(
    row: Found, events: Iterable[Found], effects: dict[int, list[str]], files: _Files
) -> bool:
    """The same; False too where this version cannot even read what another one stored."""
    try:
        return _as_stored(row, events, effects, files)
    except Exception as fault:
        LOG.warning("replay_fault", extra={"conversation_id": row.id, "fault": fault_code(fault)})
        return False


def _as_stored(
    row: Found, events: Iterable[Found], effects: dict[int, list[str]], files: _Files
) -> bool:
    """Whether the events, played from the first state, lead to what is stored, step by step."""
    talk, version = talk_state.load(row.first_state), 0
    for event in events:
        happened = msgspec.json.decode(event.body, type=Event)
        dialog, programme = files.dialog(event.dialog_hash), files.programme(event.programme_hash)
        talk, led_to = step(talk, happened, dialog, programme)
        version += 1
        if list(led_to) != [_effect(body) for body in effects[event.id]]:
            return False
    return version == row.version and talk == talk_state.load(row.state)


def _effect(body: str) -> Effect:
    effect: Effect = msgspec.json.decode(body, type=Effect)
    return effect
