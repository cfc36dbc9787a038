"""The words that no reader knew, counted over the hunters' newest texts: for the word files."""

from __future__ import annotations

from collections import Counter
from datetime import datetime

from sqlalchemy import select

from bot.programme import Programme
from bot.reading.read import read
from bot.scenes import scene_for
from bot.service import tables
from bot.service.database import Database
from bot.service.findable import fold
from bot.talk.dialog import Dialog

_T, _H = tables.TextIn, tables.Hunter
NEWEST = 200
"""Texts that are read again for it: reading takes some milliseconds each."""


def unread_words(
    database: Database,
    dialog: Dialog,
    programme: Programme,
    span: tuple[datetime, datetime],
    most: int = 25,
) -> tuple[tuple[str, int], ...]:
    """(word, in how many texts), the most first; words of one letter and figures are left out."""
    since, until = span
    query = (
        select(_T.body, _T.sent_at)
        .join(_H, _H.id == _T.hunter_id)
        .where(_T.arrived_at >= since, _T.arrived_at < until, _T.body != "")
        .order_by(_T.id.desc())
        .limit(NEWEST)
    )
    with database.read() as connection:
        rows = connection.execute(query).all()
    counts: Counter[str] = Counter()
    for body, sent_at in rows:
        reading = read(body, scene_for(programme, dialog.words, sent_at))
        counts.update({word for part in reading.unread for word in fold(part).split()})
    plain = {w: n for w, n in counts.items() if len(w) > 1 and not any(c.isdigit() for c in w)}
    return tuple(sorted(plain.items(), key=lambda row: (-row[1], row[0]))[:most])
