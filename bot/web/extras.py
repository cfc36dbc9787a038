"""What a coordinator may do on a find's card besides reading it: choose, assign, say ready-made
sentences. Made of what the service and the pure rooms give; nothing is decided here."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import msgspec
from flask import request

from bot.fieldwork.dispatch import Ranked
from bot.fieldwork.state import Pickup
from bot.messages import Brought, Event, Joined, SplitOff
from bot.service.desk_rows import Card
from bot.service.fetchers import fetchers
from bot.service.sorting_door import DESK
from bot.talk.sorting import OWN
from bot.talk.wording import Speaker
from bot.web import access
from bot.web.offered import offered_of
from bot.web.wiring import Wiring

RELATED = frozenset({"joined", "split_off", "brought"})
RELATED_WORDS = {"joined": "The same animal was also told in", "split": "Split from"}
ENDED = frozenset({"handed_in", "called_off"})


@dataclass(frozen=True, slots=True)
class Fetcher:
    """One of the field staff: how far he is, whether he is free, and whether he has it."""

    id: str
    name: str
    minutes: int
    km: int
    free: bool
    why: str
    has_it: bool


@dataclass(frozen=True, slots=True)
class Ready:
    """A ready-made sentence in the hunter's language, filled in."""

    key: str
    title: str
    body: str


def extras_of(wiring: Wiring, found: Card) -> dict[str, Any]:
    """The card's further values, by the names that its template uses."""
    ready = ready_of(wiring, found)
    wanted = request.args.get("ready", "")
    return {
        "offered": offered_of(wiring, found),
        "fetchers": _fetchers(wiring, found.pickup) if found.pickup else (),
        "pickup_live": found.pickup is not None and found.pickup.state not in ENDED,
        "ready": ready,
        "draft": next((r.body for r in ready if r.key == wanted), ""),
        "language": _language(wiring, found),
        "taken_by": next((r.taken_by for r in found.reviews if not r.closed_at and r.taken_by), ""),
        "may_change": access.may("coordinator"),
        "tiles": wiring.settings.tiles,
        "by_sms": found.channel != "chat",
        "by_voice": found.channel == DESK,
        "own_questions": OWN,
        "related": tuple(_related(found)),
    }


def _related(found: Card) -> Iterator[tuple[str, str]]:
    """Other finds that a person has joined to this one or split from it, in words."""
    for row in found.events:
        if row.kind not in RELATED:
            continue
        event = msgspec.json.decode(row.body, type=Event)
        match event:
            case Joined():
                yield "Joined into", event.into
            case SplitOff():
                yield "A second animal was split off:", event.code
            case Brought():
                yield RELATED_WORDS[event.why], event.code


def _fetchers(wiring: Wiring, pickup: Pickup) -> tuple[Fetcher, ...]:
    if wiring.database is None or pickup.state in ENDED:
        return ()
    rows = fetchers(wiring.database, wiring.programme, pickup, wiring.now())
    return tuple(_fetcher(wiring, row, pickup) for row in rows)


def _fetcher(wiring: Wiring, row: Ranked, pickup: Pickup) -> Fetcher:
    member = row.member
    return Fetcher(
        member.id,
        member.name,
        round(row.minutes),
        round(row.km),
        not row.why_not,
        wiring.words.of("why_not", row.why_not),
        member.id == pickup.staff_id,
    )


def ready_of(wiring: Wiring, found: Card) -> tuple[Ready, ...]:
    """The ready-made sentences, each in the hunter's language, in English where it has none."""
    speaker = Speaker(found.conversation, wiring.dialog, wiring.programme)
    english = wiring.words.ready["en"]
    own = english | wiring.words.ready.get(speaker.language, {})
    return tuple(
        Ready(key, wiring.words.of("ready_title", key), own[key].format_map(speaker.always))
        for key in english
    )


def _language(wiring: Wiring, found: Card) -> str:
    code = found.conversation.language
    return wiring.words.of("language", code) if code else "not told yet"
