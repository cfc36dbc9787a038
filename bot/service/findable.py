"""Finding finds by places, people, codes, dates and words: kept with each event, read in a page.

Law: what is stored and what is asked for is folded here, in one way, into plain words of letters
and digits, so that both databases' own full-text indexes give the same finds in the same order:
newest first. The words are written in the transaction of the text that they come from.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable
from typing import Any

import msgspec
from sqlalchemy import Connection, case, select, text

from bot.fieldwork import state as pickup_state
from bot.fieldwork.state import Pickup
from bot.messages import (
    Closed,
    Correction,
    Event,
    FieldReply,
    PersonWrote,
    PickupEvent,
    Text,
)
from bot.programme import e164
from bot.reading.codes import find_codes
from bot.service import tables
from bot.service.columns import Found
from bot.service.database import Database
from bot.service.gather import Find
from bot.service.sheet import Rows, Sheet
from bot.service.unfold import Story
from bot.service.upsert import Insert, insert_new
from bot.talk import state as talk_state
from bot.talk.state import Conversation

_F, _C, _T = tables.Findable, tables.Conversation, tables.TextIn
_H, _P, _E = tables.Hunter, tables.Pickup, tables.Event
MOST_TOKENS = 12
LONGEST_TOKEN = 40
PHONE_DIGITS = 8
_DATE = re.compile(r"\b(\d{4})-(\d{2})-(\d{2})\b")
_SIGNS = re.compile(r"[\W_]+")
_SAID: dict[type, str] = {
    Text: "body",
    PersonWrote: "body",
    Correction: "words",
    Closed: "note",
    FieldReply: "heard",
}
"""The events that hold people's own words, and where. The bot's sentences are left out: every
find would be found by them."""

_SQLITE = text(
    "SELECT rowid FROM findable_words WHERE findable_words MATCH :asked "
    "AND rowid < :before ORDER BY rowid DESC LIMIT :most"
)
_POSTGRESQL = text(
    "SELECT conversation_id FROM findable WHERE to_tsvector('simple', card || ' ' || said) "
    "@@ to_tsquery('simple', :asked) AND conversation_id < :before "
    "ORDER BY conversation_id DESC LIMIT :most"
)
ENDLESS = 2**62
AT_ONCE = 100
"""Finds whose words are written down in one transaction, so that texts do not wait for all."""

# The hunters are locked: who is being erased at this moment gets no words anew.
_MISSING = (
    select(_C.id, _C.state, _H.number, _P.id.label("pickup_id"), _P.state.label("pickup"))
    .join(_H, _H.id == _C.hunter_id)
    .outerjoin(_P, _P.conversation_id == _C.id)
    .outerjoin(_F, _F.conversation_id == _C.id)
    .where(_F.conversation_id.is_(None), _H.erased_at.is_(None))
    .order_by(_H.id, _C.id)
    .limit(AT_ONCE)
    .with_for_update(of=_H)
)
_EVENTS: dict[str, msgspec.json.Decoder[Any]] = {
    "conversation": msgspec.json.Decoder(Event),
    "pickup": msgspec.json.Decoder(PickupEvent),
}


def fold(words: str) -> str:
    """Words without case, accents and signs: "K7R-4TR, Où?" -> "k7r4tr ou". Codes and days stay
    whole: "2026-11-25" -> "20261125"."""
    for code in find_codes(words):
        words = re.sub(f"{code[:3]}[ -]?{code[4:]}", code.replace("-", ""), words, flags=re.I)
    words = _DATE.sub(r"\1\2\3", words)
    plain = _SIGNS.sub(" ", (words if words.isascii() else _bare(words)).casefold())
    return " ".join(token[:LONGEST_TOKEN] for token in plain.split())


def _bare(words: str) -> str:
    spread = unicodedata.normalize("NFKD", words)
    return "".join(c for c in spread if not unicodedata.combining(c))


def tokens(asked: str, country: str) -> tuple[str, ...]:
    """What is looked for, folded; a telephone number is one word in its full form."""
    digits = sum(c.isdigit() for c in asked)
    rings = digits >= PHONE_DIGITS and digits > len(asked) / 2 and not _DATE.search(asked)
    number = e164(asked, country) if rings else None
    return tuple(fold(number or asked).split())[:MOST_TOKENS]


def keep_words(
    sheet: Sheet, find: Find, story: Story, describe: Callable[[Conversation], str]
) -> None:
    """Write down what a find is found by: its card anew, where it has changed, and what was said
    now besides."""
    card = ""
    if not _has_its_card(find, story):
        card = _card(describe(story.conversation), find.hunter.number, story.pickup)
    said = _said(move.event for move in story.moves)
    if card or said:
        sheet.add(WORDS, {"conversation_id": find.id, "card": card, "said": said})


def _has_its_card(find: Find, story: Story) -> bool:
    """Whether a card that was written before still says everything."""
    before, now = find.conversation, story.conversation
    alike = (before.kind, before.answers, before.pickup) == (now.kind, now.answers, now.pickup)
    return find.version > 0 and alike and not any(move.of_pickup for move in story.moves)


def _card(described: str, sender: str, pickup: Pickup | None) -> str:
    number = sender if sender.startswith("+") else ""
    return fold(f"{described} {number} {_held_by(pickup)}")


def _said(events: Iterable[object]) -> str:
    said = (str(getattr(event, _SAID.get(type(event), ""), "")) for event in events)
    return " ".join(filter(None, map(fold, said)))


def keep_missing(database: Database, describe: Callable[[Conversation], str]) -> int:
    """Write down what finds are found by that were stored before anything was searched; how
    many. Those of erased hunters have no words, and stay out."""
    filled = 0
    while True:
        with database.write() as connection:
            rows = connection.execute(_MISSING).all()
            for row in rows:
                _keep_old(connection, row, describe)
        filled += len(rows)
        if len(rows) < AT_ONCE:
            return filled


def _keep_old(connection: Connection, row: Found, describe: Callable[[Conversation], str]) -> None:
    """One find's words, from its state and from all events of its two streams."""
    mine = (_E.stream == "conversation") & (_E.stream_id == row.id)
    if row.pickup_id is not None:
        mine = mine | ((_E.stream == "pickup") & (_E.stream_id == row.pickup_id))
    events = connection.execute(select(_E.stream, _E.body).where(mine).order_by(_E.id))
    pickup = pickup_state.load(row.pickup) if row.pickup else None
    words = {
        "conversation_id": row.id,
        "card": _card(describe(talk_state.load(row.state)), row.number, pickup),
        "said": _said(_EVENTS[event.stream].decode(event.body) for event in events),
    }
    insert_new(connection, _F, words)


def _or_added(statement: Insert) -> Insert:
    """The card anew, if there is one, and behind what was said before what is said now."""
    new = statement.excluded
    card = case((new.card != "", new.card), else_=_F.card)
    added = case((new.said != "", _F.said + " " + new.said), else_=_F.said)
    return statement.on_conflict_do_update(
        index_elements=[_F.conversation_id], set_={"card": card, "said": added}
    )


WORDS = Rows(_F, ("conversation_id", "card", "said"), _or_added)


def _held_by(pickup: Pickup | None) -> str:
    return f"{pickup.state} {pickup.staff_id} {pickup.place_words}" if pickup else ""


def search(
    database: Database, asked: tuple[str, ...], before: int = ENDLESS, most: int = 20
) -> tuple[int, ...]:
    """The rows of the finds that hold every word, or one that begins with it; newest first."""
    if not asked:
        return ()
    sqlite = database.is_sqlite
    ask = " AND ".join(f'"{t}" *' for t in asked) if sqlite else " & ".join(f"{t}:*" for t in asked)
    values: dict[str, Any] = {"asked": ask, "before": before, "most": most}
    with database.read() as connection:
        return tuple(connection.scalars(_SQLITE if sqlite else _POSTGRESQL, values))


def found_finds(database: Database, rows: tuple[int, ...]) -> tuple[Found, ...]:
    """Code, state and times of some finds, in the order of their rows given."""
    columns = select(_C.id, _C.code, _C.state, _C.find_state, _C.opened_at, _C.last_event_at)
    with database.read() as connection:
        found = {r.id: r for r in connection.execute(columns.where(_C.id.in_(rows)))}
    return tuple(found[row] for row in rows if row in found)


def lines_with(database: Database, rows: tuple[int, ...], asked: tuple[str, ...]) -> dict[int, str]:
    """For each find one text that somebody wrote with one of the words, where there is one."""
    texts = select(_T.conversation_id, _T.body).where(_T.conversation_id.in_(rows), _T.body != "")
    lines: dict[int, str] = {}
    with database.read() as connection:
        for find, body in connection.execute(texts.order_by(_T.id)):
            if (
                find is not None
                and find not in lines
                and any(f" {t}" in f" {fold(body)}" for t in asked)
            ):
                lines[find] = body
    return lines
