"""What the evidence reads: every kept find with the laboratory's word, from columns of its own.

The row of a find is written in the transaction of the event that changes it; no conversation is
decoded to give an account of all finds.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import msgspec
import numpy as np
from sqlalchemy import Connection, bindparam, select, update

from bot.evidence.columns import Finds, Kind, look_of, told_of
from bot.fieldwork.specimens import Specimen, outcome_of
from bot.messages import KeepFind
from bot.reading.values import Checked
from bot.service import tables
from bot.service.custody import all_specimens, specimens_of
from bot.service.sheet import Change, Rows, Sheet
from bot.service.unfold import Story
from bot.service.upsert import Insert
from bot.talk import state as talk_state

_C, _V = tables.Conversation, tables.Evidence
KEPT = ("suspect", "clean", "found_dead")
_ALL = (
    select(_V.code, _V.opened, _V.earliest, _V.latest, _V.lat, _V.lon)
    .add_columns(_V.animals, _V.state, _V.species, _V.sort, _V.checked)
    .where(_V.state.in_(bindparam("states", expanding=True)), _V.opened < bindparam("until"))
    .order_by(_V.conversation_id)
)
_SAID = (
    *("code", "opened", "lat", "lon", "earliest", "latest"),
    *("species", "sort", "animals", "checked"),
)


def _or_anew(statement: Insert) -> Insert:
    new = statement.excluded
    return statement.on_conflict_do_update(
        index_elements=[_V.conversation_id],
        set_={name: new[name] for name in (*_SAID, "state")},
    )


_KEPT = Rows(_V, ("conversation_id", *_SAID, "state"), _or_anew)
_CHANGED = Change(
    "evidence",
    update(_V)
    .where(_V.conversation_id == bindparam("evidence_of"))
    .values({name: bindparam(f"evidence_{name}") for name in _SAID}),
    sure=True,
)
_CHECKED = msgspec.json.Decoder(tuple[Checked, ...])


@dataclass(frozen=True, slots=True)
class KeptFind:
    """One find. `outcome` is "positive", "negative", "not_testable", or "" while none is final."""

    code: str
    state: str
    outcome: str
    conversation: talk_state.Conversation


def keep_evidence(
    sheet: Sheet, find_id: int, before: talk_state.Conversation, story: Story
) -> None:
    """Write down what a find now says as evidence, where a story has changed that."""
    orders = [e.state for m in story.moves for e in m.effects if isinstance(e, KeepFind)]
    if not orders and (not before.kept or story.conversation.answers == before.answers):
        return
    row = _row(story.conversation)
    if orders:
        sheet.add(_KEPT, row | {"conversation_id": find_id, "state": orders[-1]})
    elif row != _row(before):
        values = {f"evidence_{name}": value for name, value in row.items()}
        sheet.change(_CHANGED, values | {"evidence_of": find_id})


def _row(talk: talk_state.Conversation) -> dict[str, Any]:
    told = told_of(talk)
    place, when, animal = told.place, told.when, told.animal
    return {
        "code": talk.code,
        "opened": talk.started_at.timestamp(),
        "lat": place.lat if place else None,
        "lon": place.lon if place else None,
        "earliest": when.earliest.timestamp() if when else None,
        "latest": when.latest.timestamp() if when else None,
        "species": animal.species if animal else None,
        "sort": animal.sort if animal else None,
        "animals": animal.count if animal else 1,
        "checked": msgspec.json.encode(told.checked).decode(),
    }


def kept_finds(connection: Connection, until: datetime) -> Finds:
    """The kept finds that were opened before `until`, in order; the laboratory's word as it
    stands today."""
    rows = connection.execute(_ALL, {"states": KEPT, "until": until.timestamp()}).all()
    columns = list(zip(*rows, strict=True)) or [()] * len(_ALL.selected_columns)
    (codes, *figures), (animals, *told) = columns[:6], columns[6:]
    opened, earliest, latest, lat, lon = (np.array(c, dtype=np.float64) for c in figures)
    outcomes = _outcomes(connection)
    said = (outcomes.get(code, "") for code in codes)
    numbers: dict[tuple[Any, ...], int] = {}
    kind = [numbers.setdefault(key, len(numbers)) for key in zip(said, *told, strict=True)]
    return Finds(
        codes=codes,
        opened=opened,
        earliest=earliest,
        latest=latest,
        lat=lat,
        lon=lon,
        told=np.array(animals, dtype=np.intp),
        kind=np.array(kind, dtype=np.intp),
        kinds=tuple(map(_kind, numbers)),
    )


def _outcomes(connection: Connection) -> dict[str, str]:
    """What the laboratory finally said of each find of which it has something."""
    mine = defaultdict[str, list[Specimen]](list)
    for specimen in all_specimens(connection):
        mine[specimen.find].append(specimen)
    return {find: outcome_of(those, find) for find, those in mine.items()}


def _kind(key: tuple[Any, ...]) -> Kind:
    outcome, state, species, sort, checked = key
    return Kind(state, outcome, species, sort or "", look_of(_CHECKED.decode(checked)))


def one_kept_find(connection: Connection, code: str) -> KeptFind | None:
    """One find as it is kept; None where there is none of that code, or nothing is kept of it."""
    query = select(_C.find_state, _C.state).where(_C.code == code, _C.find_state.in_(KEPT))
    row = connection.execute(query).one_or_none()
    if row is None:
        return None
    outcome = outcome_of(specimens_of(connection, code), code)
    return KeptFind(code, row.find_state, outcome, talk_state.load(row.state))
