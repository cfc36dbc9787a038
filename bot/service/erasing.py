"""Erase a hunter on request, and export all that is held of one.

What makes a find evidence stays: values of place, day, animal, signs and cold. Numbers, names
and words go, in every table that holds them, within one transaction; photos go whole. Erasing is
the one exception to a history that is only added to; an erased talk leaves replay.
"""

from __future__ import annotations

import base64
import json
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import msgspec
from msgspec.structs import replace
from sqlalchemy import Connection, delete, or_, select, update

from bot.evidence.told_age import AgeTold
from bot.fieldwork import state as pickup_state
from bot.messages import Event, PickupEvent
from bot.programme import Programme, e164
from bot.service import tables
from bot.service.custody import READ
from bot.service.database import Database
from bot.service.joining import forget
from bot.service.photos import sealed_as
from bot.service.sealing import PLAIN, Sealer
from bot.talk import state as talk_state
from bot.talk.state import Answer, Conversation, Said

_H, _C, _E, _P, _O = (
    tables.Hunter,
    tables.Conversation,
    tables.Event,
    tables.Pickup,
    tables.TextOut,
)
_T, _A, _R, _W = tables.TextIn, tables.Answer, tables.Review, tables.Timer
PERSONAL = frozenset({"name", "contact", "texter", "land", "exposure"})
"""Answers about people and not about the animal."""

WORDS = ("body", "words", "heard", "note", "staff_name", "staff_number", "details", "number")
"""The fields of events that hold somebody's words or number."""

EMPTY: dict[str, Any] = {"photos": (), "pin": None, "answers": {}}
"""The fields of events that hold more than words, and what stands there afterwards."""

GONE = "erased"
"""What stands where an empty field would say something else."""


class NobodyError(LookupError):
    """No hunter is known by this number or this code."""


@dataclass(frozen=True, slots=True)
class Erased:
    """What was erased: how many talks, and how many texts of either direction."""

    talks: int
    texts: int


def hunters_of(database: Database, programme: Programme, named: str) -> tuple[int, ...]:
    """The rows of the hunters that a number or a find's code names; NobodyError if none."""
    typed = named.strip()
    number = e164(typed, programme.head.country) or typed
    query = select(_H.id).outerjoin(_C, _C.hunter_id == _H.id).distinct()
    named_so = or_(_H.number == number, _C.code == typed.upper())
    with database.read() as connection:
        rows = tuple(connection.scalars(query.where(named_so, _H.erased_at.is_(None))))
    if not rows:
        raise NobodyError("no hunter is known by that number or code")
    return rows


def erase(database: Database, hunters: tuple[int, ...], now: datetime) -> Erased:
    """Blank every word, number and name of these hunters; their finds' values stay."""
    with database.write() as connection:
        locked = select(_H.id).where(_H.id.in_(hunters)).order_by(_H.id).with_for_update()
        rows = list(connection.scalars(locked))
        finds = list(connection.scalars(select(_C.id).where(_C.hunter_id.in_(rows))))
        texts = _blank_texts(connection, rows, finds)
        for find in finds:
            _blank_find(connection, find, now)
        _forget_proofs(connection, rows)
        for row in rows:
            gone = {"number": f"erased-{row}", "language": "", "opted_out": True, "erased_at": now}
            connection.execute(update(_H).where(_H.id == row).values(gone))
    return Erased(len(finds), texts)


def _forget_proofs(connection: Connection, hunters: list[int]) -> None:
    """No browser speaks for them any more, and no code that was sent to their numbers stays."""
    numbers = select(_H.number).where(_H.id.in_(hunters))
    code, link = tables.ChatCode, tables.ChatLink
    connection.execute(delete(code).where(code.number.in_(numbers)))
    connection.execute(delete(link).where(link.hunter_id.in_(hunters)))
    loose = update(_O).where(_O.conversation_id.is_(None), _O.number.in_(numbers))
    waiting = loose.where(_O.state == "waiting")
    connection.execute(waiting.values(state="withdrawn", error="erased"))
    connection.execute(loose.values(body="", number="erased"))


def _blank_texts(connection: Connection, hunters: list[int], finds: list[int]) -> int:
    theirs = or_(_T.hunter_id.in_(hunters), _T.conversation_id.in_(finds))
    texts_in = list(connection.scalars(select(_T.id).where(theirs)))
    photo = tables.Photo
    connection.execute(delete(photo).where(photo.text_id.in_(texts_in)))
    blank = {"body": "", "pin": None, "photos": None}
    connection.execute(update(_T).where(_T.id.in_(texts_in)).values(blank))
    senders = select(_T.sender).where(_T.hunter_id.in_(hunters)).distinct()
    forget(connection, list(connection.scalars(senders)))
    connection.execute(update(_T).where(_T.hunter_id.in_(hunters)).values(sender="erased"))
    mine = or_(_O.hunter_id.in_(hunters), _O.conversation_id.in_(finds))
    waiting = update(_O).where(mine, _O.state == "waiting")
    connection.execute(waiting.values(state="withdrawn", error="erased"))
    out = connection.execute(update(_O).where(mine).values(body="")).rowcount
    # A carrier's reason is its own words, and may name a number.
    own = select(_O.id).where(mine)
    parts = update(tables.Carried).where(tables.Carried.outbox_id.in_(own))
    connection.execute(parts.values(reason=""))
    connection.execute(update(_O).where(mine, _O.report == "undeliverable").values(error=""))
    connection.execute(update(_O).where(_O.hunter_id.in_(hunters)).values(number="erased"))
    return len(texts_in) + int(out)


def _blank_find(connection: Connection, find: int, now: datetime) -> None:
    row = connection.execute(select(_C.state, _C.first_state).where(_C.id == find)).one()
    states = {name: _blank_talk(getattr(row, name)) for name in ("state", "first_state")}
    closed = {**states, "stage": "closed"}
    connection.execute(update(_C).where(_C.id == find).values(closed))
    pickup = connection.execute(
        select(_P.id, _P.state, _P.first_state).where(_P.conversation_id == find)
    ).one_or_none()
    if pickup is not None:
        blank = {name: _blank_pickup(getattr(pickup, name)) for name in ("state", "first_state")}
        connection.execute(update(_P).where(_P.id == pickup.id).values(blank))
    _blank_events(connection, find, pickup.id if pickup else None)
    connection.execute(update(_A).where(_A.conversation_id == find).values(heard=""))
    personal = update(_A).where(_A.conversation_id == find, _A.question.in_(PERSONAL))
    connection.execute(personal.values(value="null"))
    connection.execute(update(_R).where(_R.conversation_id == find).values(heard=""))
    open_rows = update(_R).where(_R.conversation_id == find, _R.closed_at.is_(None))
    connection.execute(open_rows.values(closed_at=now))
    connection.execute(delete(tables.Findable).where(tables.Findable.conversation_id == find))
    waits = update(_W).where(_W.stream == "conversation", _W.stream_id == find)
    connection.execute(waits.where(_W.done_at.is_(None)).values(done_at=now))
    code = str(connection.scalar(select(_C.code).where(_C.id == find)))
    _blank_custody(connection, code)
    _blank_ages(connection, code)


def _blank_custody(connection: Connection, code: str) -> None:
    """Notes on who had the head. A trail that is only perhaps this find's keeps its own: it may
    be another hunter's."""
    head, custody = tables.Specimen, tables.Custody
    roots = {code, *connection.scalars(select(head.root).where(head.find == code))}
    for row in connection.execute(
        select(custody.id, custody.body).where(custody.root.in_(roots))
    ).all():
        event = READ.decode(row.body)
        if getattr(event, "words", ""):
            body = msgspec.json.encode(replace(event, words="")).decode()
            connection.execute(update(custody).where(custody.id == row.id).values(body=body))


def _blank_ages(connection: Connection, code: str) -> None:
    """How it was aged, where somebody wrote that freely. It is not left empty, since empty
    stands for the layers of the cementum."""
    age = tables.Age
    for row in connection.execute(select(age.id, age.body).where(age.code == code)).all():
        told = msgspec.json.decode(row.body, type=AgeTold)
        if told.method:
            body = msgspec.json.encode(replace(told, method=GONE)).decode()
            connection.execute(update(age).where(age.id == row.id).values(body=body))


def _blank_events(connection: Connection, find: int, pickup: int | None) -> None:
    mine = (_E.stream == "conversation") & (_E.stream_id == find)
    if pickup is not None:
        mine = mine | ((_E.stream == "pickup") & (_E.stream_id == pickup))
    for row in connection.execute(select(_E.id, _E.stream, _E.body).where(mine)).all():
        kind: Any = Event if row.stream == "conversation" else PickupEvent
        event = msgspec.json.decode(row.body, type=kind)
        blank: dict[str, Any] = {name: "" for name in WORDS if getattr(event, name, "")}
        blank |= {name: empty for name, empty in EMPTY.items() if getattr(event, name, empty)}
        body = msgspec.json.encode(replace(event, **blank)).decode()
        connection.execute(update(_E).where(_E.id == row.id).values(body=body))
        connection.execute(
            update(tables.Effect).where(tables.Effect.event_id == row.id).values(body="{}")
        )


def _blank_talk(stored: str) -> str:
    talk = talk_state.load(stored)
    answers = {k: _blank_answer(a) for k, a in talk.answers.items() if k not in PERSONAL}
    blank = replace(
        talk,
        answers=answers,
        asked=None,
        held=(),
        recent=(),
        opted_out=True,
        stage="closed",
        with_person=False,
        reviews=(),
    )
    return talk_state.dump(blank).decode()


def _blank_answer(answer: Answer) -> Answer:
    value = answer.value
    if isinstance(value, Said):
        value = replace(value, words="")
    return replace(answer, value=value, heard="")


def _blank_pickup(stored: str) -> str:
    pickup = pickup_state.load(stored)
    return pickup_state.dump(replace(pickup, contact="", details="", words="")).decode()


# ------------------------------------------------------------------------------------- export


def export(database: Database, hunters: tuple[int, ...], sealer: Sealer = PLAIN) -> str:
    """All that is held of these hunters, as JSON that a person can read; photos in base64.
    SealError where one is encrypted and no key opens it."""
    with database.read() as connection:
        held = [_held(connection, hunter, sealer) for hunter in hunters]
    return json.dumps({"hunters": held}, ensure_ascii=False, indent=1)


def _held(connection: Connection, hunter: int, sealer: Sealer) -> dict[str, Any]:
    own = connection.execute(
        select(_H.channel, _H.number, _H.language, _H.opted_out, _H.first_text_at).where(
            _H.id == hunter
        )
    ).one()
    texts = select(_T.id, _T.body, _T.sent_at, _T.arrived_at, _T.pin).where(_T.hunter_id == hunter)
    out = select(
        *(_O.body, _O.kind, _O.state, _O.decided_at, _O.sent_at),
        *(_O.report, _O.reported_at, _O.error),
    )
    finds = connection.scalars(select(_C.state).where(_C.hunter_id == hunter).order_by(_C.id))
    sent = connection.execute(texts.order_by(_T.id)).all()
    return {
        **{key: _plain(value) for key, value in own._mapping.items()},
        "texts": [_row(row) for row in sent],
        "texts_to_them": [
            _row(row) for row in connection.execute(out.where(_O.hunter_id == hunter))
        ],
        "photos": _photos(connection, [row.id for row in sent], sealer),
        "finds": [_find(talk_state.load(state)) for state in finds],
    }


def _find(talk: Conversation) -> dict[str, Any]:
    told: dict[str, Any] = msgspec.to_builtins(
        {"code": talk.code, "started_at": talk.started_at, "answers": talk.answers}
    )
    return told


def _photos(connection: Connection, texts: list[int], sealer: Sealer) -> list[dict[str, Any]]:
    photo = tables.Photo
    rows = connection.execute(
        select(photo.key, photo.type, photo.data, photo.taken_at).where(photo.text_id.in_(texts))
    )
    opened = [(r, sealer.open(bytes(r.data), sealed_as(r.key))) for r in rows]
    return [
        {"type": r.type, "taken_at": _plain(r.taken_at), "data": base64.b64encode(data).decode()}
        for r, data in opened
    ]


def _row(row: Any) -> dict[str, Any]:
    return {key: _plain(value) for key, value in row._mapping.items() if key != "id"}


def _plain(value: object) -> object:
    return value.isoformat() if isinstance(value, datetime) else value
