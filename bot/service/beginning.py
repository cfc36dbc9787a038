"""A new find: a free code, a conversation before its first event, and the files in force."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime
from typing import Literal

from sqlalchemy import Connection, select

from bot.service import tables
from bot.service.codes import Draw
from bot.service.database import Database
from bot.service.gather import Hunter, Talk
from bot.service.unfold import Rules
from bot.service.upsert import insert_new
from bot.talk.state import Conversation, dump

TRIES = 8
"""So many taken codes in a row say that those of this length are running out."""


class TakenCode(LookupError):
    """Another find has the code that was printed beforehand."""


def begin_find(
    connection: Connection,
    hunter: Hunter,
    rules: Rules,
    draw: Draw,
    now: datetime,
    *,
    greeted: bool,
    printed: str = "",
) -> Talk:
    """Open a conversation for a locked hunter under a code that no other find has: the printed
    one if there is one, TakenCode if that is not free.

    Whoever has reported before was `greeted`: he has heard who keeps the data, and is not told
    again.
    """
    for attempt in range(1 if printed else TRIES * 4):
        first = Conversation(
            code=printed or draw(attempt // TRIES),
            started_at=now,
            channel=_channel(hunter),
            language=hunter.language,
            greeted=greeted,
            opted_out=hunter.opted_out,
        )
        row = _insert(connection, hunter, rules, first)
        if row is not None:
            return Talk(row, 0, first, now)
    if printed:
        raise TakenCode(f"{printed} is another find's code already")
    raise LookupError("no free code for a new find")


def _channel(hunter: Hunter) -> Literal["sms", "chat"]:
    """A number can be rung and texted; whoever has none is spoken to as in a browser."""
    rings = hunter.channel == "sms" or (hunter.channel == "desk" and hunter.number[0] == "+")
    return "sms" if rings else "chat"


def _insert(
    connection: Connection, hunter: Hunter, rules: Rules, first: Conversation
) -> int | None:
    state = dump(first).decode()
    row = {
        "code": first.code,
        "hunter_id": hunter.id,
        "stage": first.stage,
        "find_state": "",
        "version": 0,
        "state": state,
        "first_state": state,
        "dialog_hash": rules.dialog_hash,
        "programme_hash": rules.programme_hash,
        "opened_at": first.started_at,
        "last_event_at": first.started_at,
    }
    made: int | None = insert_new(connection, tables.Conversation, row)
    return made


def keep_contents(database: Database, contents: Mapping[str, Mapping[str, str]]) -> None:
    """Keep the files behind each hash, once, so that a replay can use what was in force."""
    with database.write() as connection:
        for name, files in contents.items():
            row = {"hash": name, "files": json.dumps(dict(files), ensure_ascii=False)}
            insert_new(connection, tables.Content, row)


def contents_of(connection: Connection, name: str) -> dict[str, str] | None:
    """The files that a dialog's or programme's hash stands for."""
    kept = select(tables.Content.files).where(tables.Content.hash == name)
    files = connection.scalar(kept)
    return json.loads(files) if files is not None else None
