"""What the map, the season page and the downloads read of finds, one frozen row a find.

Times of a pickup come from what the hunter's conversation was told of it. Nothing is written.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import msgspec
from msgspec import Struct
from sqlalchemy import Connection, select

from bot.messages import PickupNews
from bot.reading.values import Animal, Place, When
from bot.service import tables
from bot.service.columns import Found
from bot.service.database import Database
from bot.talk import state as talk_state

_C, _P, _E, _R = tables.Conversation, tables.Pickup, tables.Event, tables.Review
MOST = 20_000
"""Finds that are read at once: more than a season of any programme brings, and bounded."""
CHUNK = 500
BY_A_PERSON = (
    *("correction", "taken_over", "person_wrote", "closed", "send_now", "assigned"),
    *("entered", "joined", "split_off", "brought"),
)
"""Kinds of events that only a coordinator causes."""


class FindFacts(Struct, frozen=True):
    """One find as the map and the season see it. `taken_at` and `handed_in_at` are None until
    somebody has the pickup and the laboratory has the head."""

    code: str
    opened_at: datetime
    stage: str
    find_state: str
    kind: str
    species: str = ""
    kill: Place | None = None
    head: Place | None = None
    when: When | None = None
    pickup: str = ""
    taken_at: datetime | None = None
    handed_in_at: datetime | None = None
    by_bot_alone: bool = True


@dataclass(slots=True)
class _Told:
    """What the events and the review list say of some finds, by the conversation's row."""

    news: dict[int, dict[str, datetime]]
    with_person: set[int]


def find_facts(database: Database, since: datetime, until: datetime) -> tuple[FindFacts, ...]:
    """The finds that were opened in a span of time, newest first, at most MOST."""
    columns = select(_C.id, _C.code, _C.opened_at, _C.state, _C.find_state, _P.id, _P.name)
    query = (
        columns.outerjoin(_P, _P.conversation_id == _C.id)
        .where(_C.opened_at >= since, _C.opened_at < until)
        .order_by(_C.id.desc())
        .limit(MOST)
    )
    with database.read() as connection:
        rows = connection.execute(query).all()
        told = _told(connection, [row[0] for row in rows], {row[5]: row[0] for row in rows})
    return tuple(_facts(row, told) for row in rows)


def one_find(database: Database, code: str) -> FindFacts | None:
    """One find by its code, without its times; None if there is none."""
    columns = select(_C.id, _C.code, _C.opened_at, _C.state, _C.find_state, _P.id, _P.name)
    query = columns.outerjoin(_P, _P.conversation_id == _C.id).where(_C.code == code)
    with database.read() as connection:
        row = connection.execute(query).one_or_none()
    return _facts(row, _Told({}, set())) if row else None


def _told(connection: Connection, ids: list[int], of_pickup: Mapping[int | None, int]) -> _Told:
    told = _Told(defaultdict(dict), set())
    for start in range(0, len(ids), CHUNK):
        part = ids[start : start + CHUNK]
        events = select(_E.stream_id, _E.kind, _E.body).where(
            _E.stream == "conversation",
            _E.stream_id.in_(part),
            _E.kind.in_(("pickup_news", *BY_A_PERSON)),
        )
        for find, kind, body in connection.execute(events.order_by(_E.id)):
            _note(told, find, kind, body)
        asked = select(_R.conversation_id).where(_R.conversation_id.in_(part)).distinct()
        told.with_person.update(connection.scalars(asked))
    return _given_by_hand(connection, told, of_pickup)


def _given_by_hand(connection: Connection, told: _Told, of_pickup: Mapping[Any, int]) -> _Told:
    """A pickup that was given out by hand was a person's work too."""
    pickups = [row for row in of_pickup if row is not None]
    for start in range(0, len(pickups), CHUNK):
        part = pickups[start : start + CHUNK]
        given = select(_E.stream_id).where(
            _E.stream == "pickup", _E.stream_id.in_(part), _E.kind == "assigned"
        )
        told.with_person.update(of_pickup[row] for row in connection.scalars(given))
    return told


def _note(told: _Told, find: int, kind: str, body: str) -> None:
    if kind != "pickup_news":
        told.with_person.add(find)
        return
    news = msgspec.json.decode(body, type=PickupNews)
    told.news[find].setdefault(news.state, news.at)


def _facts(row: Found, told: _Told) -> FindFacts:
    talk = talk_state.load(row[3])
    values = {key: answer.value for key, answer in talk.answers.items() if not answer.declined}
    animal, kill, head, when = (
        values.get(key) for key in ("species", "kill_place", "head_at", "when")
    )
    news = told.news.get(row[0], {})
    return FindFacts(
        code=row[1],
        opened_at=row[2],
        stage=talk.stage,
        find_state=row[4],
        kind=talk.kind,
        species=animal.species if isinstance(animal, Animal) else "",
        kill=kill if isinstance(kill, Place) else None,
        head=head if isinstance(head, Place) else None,
        when=when if isinstance(when, When) else None,
        pickup=row[6] or "",
        taken_at=news.get("taken"),
        handed_in_at=news.get("handed_in"),
        by_bot_alone=row[0] not in told.with_person,
    )


def spread(rows: Iterable[FindFacts]) -> tuple[str, ...]:
    """The species that stand in some rows, in order, for a filter to offer."""
    return tuple(sorted({row.species for row in rows if row.species}))
