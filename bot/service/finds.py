"""What the evidence reads: every kept find with the laboratory's word, from columns of its own.

The row of a find is written in the transaction of the event that changes it; no conversation is
decoded to give an account of all finds.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import Any

import msgspec
from sqlalchemy import Connection, bindparam, insert, select, update

from bot.evidence.finds import Find, animals_in, look_of, told_of
from bot.evidence.lesions import Looked
from bot.fieldwork.specimens import Specimen, outcome_of
from bot.messages import KeepFind
from bot.reading.values import Animal, Checked, When
from bot.service import tables
from bot.service.custody import all_specimens, specimens_of
from bot.service.unfold import Story
from bot.talk import state as talk_state

_C, _V = tables.Conversation, tables.Evidence
KEPT = ("suspect", "clean", "found_dead")
_UPDATE = update(_V).where(_V.conversation_id == bindparam("find"))
_INSERT = insert(_V)
_CHECKED = msgspec.json.Decoder(tuple[Checked, ...])


@dataclass(frozen=True, slots=True)
class KeptFind:
    """One find. `outcome` is "positive", "negative", "not_testable", or "" while none is final."""

    code: str
    state: str
    outcome: str
    conversation: talk_state.Conversation


@dataclass(frozen=True, slots=True)
class Counted:
    """One kept find as evidence: as how many animals it counts, and the find itself, None where
    its place, its day or its animal is not known."""

    code: str
    state: str
    outcome: str
    opened_at: datetime
    animals: int
    find: Find | None


def keep_evidence(
    connection: Connection, find_id: int, before: talk_state.Conversation, story: Story
) -> None:
    """Write down what a find now says as evidence, where a story has changed that."""
    orders = [e.state for m in story.moves for e in m.effects if isinstance(e, KeepFind)]
    row = _row(story.conversation)
    if not orders and (not before.kept or row == _row(before)):
        return
    changes = row | {"state": orders[-1]} if orders else row
    if connection.execute(_UPDATE.values(changes), {"find": find_id}).rowcount == 0:
        connection.execute(_INSERT, changes | {"conversation_id": find_id})


def _row(talk: talk_state.Conversation) -> dict[str, Any]:
    told = told_of(talk)
    place, when, animal = told.place, told.when, told.animal
    return {
        "code": talk.code,
        "opened_at": talk.started_at,
        "lat": place.lat if place else None,
        "lon": place.lon if place else None,
        "earliest": when.earliest if when else None,
        "latest": when.latest if when else None,
        "species": animal.species if animal else None,
        "sort": animal.sort if animal else None,
        "animals": animal.count if animal else 1,
        "checked": msgspec.json.encode(told.checked).decode(),
    }


def counted_finds(connection: Connection, until: datetime) -> Iterator[Counted]:
    """The kept finds that were opened before `until`, in order; the laboratory's word as it
    stands today."""
    mine = defaultdict[str, list[Specimen]](list)
    for specimen in all_specimens(connection):
        mine[specimen.find].append(specimen)
    query = select(_V).where(_V.state.in_(KEPT), _V.opened_at < until).order_by(_V.conversation_id)
    looked = cache(_looked)
    for row in connection.execute(query.with_only_columns(*_V.__table__.columns)):
        outcome = outcome_of(mine[row.code], row.code) if row.code in mine else ""
        count = animals_in(row.state, outcome, row.animals)
        found = _find(row, outcome, looked)
        yield Counted(row.code, row.state, outcome, row.opened_at, count, found)


def _find(row: Any, outcome: str, looked: Callable[[str], Looked]) -> Find | None:
    if row.lat is None or row.earliest is None or row.species is None:
        return None
    return Find(
        code=row.code,
        lat=row.lat,
        lon=row.lon,
        when=When(row.earliest, row.latest),
        animal=Animal(row.species, row.sort, row.animals),
        state=row.state,
        outcome=outcome,
        looked=looked(row.checked),
    )


def _looked(checked: str) -> Looked:
    return look_of(_CHECKED.decode(checked))


def one_kept_find(connection: Connection, code: str) -> KeptFind | None:
    """One find as it is kept; None where there is none of that code, or nothing is kept of it."""
    query = select(_C.find_state, _C.state).where(_C.code == code, _C.find_state.in_(KEPT))
    row = connection.execute(query).one_or_none()
    if row is None:
        return None
    outcome = outcome_of(specimens_of(connection, code), code)
    return KeptFind(code, row.find_state, outcome, talk_state.load(row.state))
