"""What the evidence reads: every kept find with its conversation and the laboratory's word."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, select

from bot.fieldwork.specimens import Specimen, outcome_of
from bot.service import tables
from bot.service.custody import all_specimens, specimens_of
from bot.talk import state as talk_state

_C = tables.Conversation
KEPT = ("suspect", "clean", "found_dead")


@dataclass(frozen=True, slots=True)
class KeptFind:
    """One find. `outcome` is "positive", "negative", "not_testable", or "" while none is final."""

    code: str
    state: str
    outcome: str
    conversation: talk_state.Conversation


def kept_finds(connection: Connection, until: datetime) -> Iterator[KeptFind]:
    """The kept finds that were opened before `until`, in order; the laboratory's word as it
    stands today."""
    mine = defaultdict[str, list[Specimen]](list)
    for specimen in all_specimens(connection):
        mine[specimen.find].append(specimen)
    query = (
        select(_C.code, _C.find_state, _C.state)
        .where(_C.find_state.in_(KEPT), _C.opened_at < until)
        .order_by(_C.id)
    )
    for row in connection.execute(query):
        outcome = outcome_of(mine[row.code], row.code)
        yield KeptFind(row.code, row.find_state, outcome, talk_state.load(row.state))


def one_kept_find(connection: Connection, code: str) -> KeptFind | None:
    """One find as it is kept; None where there is none of that code, or nothing is kept of it."""
    query = select(_C.find_state, _C.state).where(_C.code == code, _C.find_state.in_(KEPT))
    row = connection.execute(query).one_or_none()
    if row is None:
        return None
    outcome = outcome_of(specimens_of(connection, code), code)
    return KeptFind(code, row.find_state, outcome, talk_state.load(row.state))
