"""Finding finds by places, people, codes, dates and words: kept with each event, read in a page.

Law: what is stored and what is asked for is folded here, in one way, into plain words of letters
and digits, so that both databases' own full-text indexes give the same finds in the same order:
newest first. The words are written in the transaction of the text that they come from.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from functools import cache
from typing import Any

from sqlalchemy import Connection, Executable, case, select, text

from bot.fieldwork.state import Pickup
from bot.messages import Closed, Correction, FieldReply, PersonWrote, Text
from bot.programme import e164
from bot.reading.codes import find_codes
from bot.service import tables
from bot.service.columns import Found
from bot.service.database import Database
from bot.service.gather import Find
from bot.service.unfold import Story
from bot.service.upsert import insert_into
from bot.talk.state import Conversation

_F, _C, _T = tables.Findable, tables.Conversation, tables.TextIn
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
    connection: Connection, find: Find, story: Story, describe: Callable[[Conversation], str]
) -> None:
    """Write down what a find is found by: its card anew, and what was said now besides."""
    number = find.hunter.number if find.hunter.number.startswith("+") else ""
    said = [str(getattr(m.event, _SAID.get(type(m.event), ""), "")) for m in story.moves]
    card = fold(f"{describe(story.conversation)} {number} {_held_by(story.pickup)}")
    more = " ".join(filter(None, map(fold, said)))
    row = {"conversation_id": find.id, "card": card, "said": more}
    connection.execute(_kept(connection.dialect.name), row)


@cache
def _kept(dialect: str) -> Executable:
    """The card anew, and behind what was said before what is said now."""
    statement = insert_into(dialect, _F).inline()
    new = statement.excluded
    added = case((new.said != "", _F.said + " " + new.said), else_=_F.said)
    return statement.on_conflict_do_update(
        index_elements=[_F.conversation_id], set_={"card": new.card, "said": added}
    )


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
