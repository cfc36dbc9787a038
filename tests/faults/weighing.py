"""What must hold after everything has been broken, each as a list of what does not hold."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import timedelta
from itertools import pairwise

import msgspec
from sqlalchemy import func, select

from bot.messages import Effect, Event, OpenPickup, TellHunter, Text
from bot.service import tables as t
from bot.service.database import Database
from bot.service.replaying import replay_stored
from bot.service.reviewing import FAULT
from tests.faults.carrier import HandOver
from tests.faults.schedule import Fault, may_repeat

MARK_S = 2.0
"""A text stands in the book when it has been read; it is marked that much later at most."""


def kept_once(database: Database, acknowledged: Mapping[str, str]) -> Iterator[str]:
    """Every acknowledged text is there once, as it was written, and belongs to a hunter."""
    with database.read() as connection:
        rows = connection.execute(select(t.TextIn.gateway_id, t.TextIn.body, t.TextIn.hunter_id))
        kept: dict[str, list[tuple[str, int | None]]] = defaultdict(list)
        for id, body, hunter in rows:
            kept[id].append((body, hunter))
    for id, body in acknowledged.items():
        if [row[0] for row in kept.get(id, [])] != [body]:
            yield f"text {id} does not stand once, as it was written"
    yield from (f"text {id} is nobody's" for id, rows in kept.items() if rows[0][1] is None)
    yield from (f"text {id} stands twice" for id, rows in kept.items() if len(rows) > 1)


def replays(database: Database) -> Iterator[str]:
    """Every conversation equals the pure replay of its events, and its events its texts."""
    yield from (f"find {code} replays otherwise" for code in replay_stored(database).differing)
    texts: dict[int, Counter[str]] = defaultdict(Counter)
    heard: dict[int, Counter[str]] = defaultdict(Counter)
    with database.read() as connection:
        mine = (t.Hunter.id == t.Conversation.hunter_id) & (t.TextIn.hunter_id == t.Hunter.id)
        query = select(t.TextIn.conversation_id, t.TextIn.body).join(
            t.Conversation, t.Conversation.id == t.TextIn.conversation_id
        )
        for find, body in connection.execute(query.join(t.Hunter, mine)):
            texts[find][body] += 1
        events = select(t.Event.stream_id, t.Event.body).where(t.Event.kind == "text")
        for find, stored in connection.execute(events):
            event = msgspec.json.decode(stored, type=Event)
            assert isinstance(event, Text)
            heard[find][event.body] += 1
    yield from (f"conversation {find} heard other texts" for find in texts.keys() | heard.keys()
                if texts[find] != heard[find])  # fmt: skip


def pickups_once(database: Database) -> Iterator[str]:
    """One pickup a find that ordered one, and its hunter was told all that it had to tell."""
    ordered: Counter[int] = Counter()
    told: Counter[str] = Counter()
    with database.read() as connection:
        led = select(t.Event.stream, t.Event.stream_id, t.Effect.body)
        for stream, row, body in connection.execute(led.join(t.Effect)):
            effect = msgspec.json.decode(body, type=Effect)
            if stream == "conversation":
                ordered[row] += isinstance(effect, OpenPickup)
            told["told"] += isinstance(effect, TellHunter)
        news = select(func.count()).where(t.Event.kind == "pickup_news")
        told["heard"] = connection.scalar(news) or 0
        there = Counter(connection.scalars(select(t.Pickup.conversation_id)))
        opened = select(t.Event.stream_id).where(
            t.Event.stream == "pickup", t.Event.kind == "opened"
        )
        begun = Counter(connection.scalars(opened))
        streams = dict(connection.execute(select(t.Pickup.id, t.Pickup.version)).all())
        kept = select(t.Event.stream_id, func.count()).where(t.Event.stream == "pickup")
        counted = dict(connection.execute(kept.group_by(t.Event.stream_id)).all())
    wanted = {find for find, n in ordered.items() if n}
    yield from (f"find {find}: {there[find]} pickups" for find in wanted | set(there)
                if there[find] != (find in wanted))  # fmt: skip
    yield from (f"pickup {row} was opened {n} times" for row, n in begun.items() if n != 1)
    if streams != counted:
        yield "a pickup's version is not the number of its events"
    if told["told"] != told["heard"]:
        yield f"pickups told {told['told']} things, hunters heard {told['heard']}"


def handed_over(
    database: Database, book: Sequence[HandOver], faults: Sequence[Fault]
) -> Iterator[str]:
    """Every text that is marked as sent was handed over, to the right person; and again only
    where a kill, a hang or a dropped reply lay between."""
    by_key: dict[str, list[HandOver]] = defaultdict(list)
    for entry in book:
        by_key[entry.key].append(entry)
    with database.read() as connection:
        rows = connection.execute(select(t.TextOut.id, t.TextOut.number, t.TextOut.state)).all()
    known = {f"out-{row.id}" for row in rows}
    yield from (f"{key} was sent and is not known" for key in by_key.keys() - known)
    for row in rows:
        entries = by_key[f"out-{row.id}"]
        if row.state == "sent" and not entries:
            yield f"out-{row.id} is marked as sent and never was"
        if row.state == "failed":
            yield f"out-{row.id} was given up"
        if any(entry.to != row.number for entry in entries):
            yield f"out-{row.id} went to somebody else"
        for first, again in pairwise(entries):
            if not _excused(first, again, faults):
                yield f"out-{row.id} went out again without a reason"


def _excused(first: HandOver, again: HandOver, faults: Sequence[Fault]) -> bool:
    """Whether the first hand-over's mark may have been lost."""
    if first.answer != "ok":
        return True
    marked = min(first.at + MARK_S, again.at)
    return any(
        may_repeat(f.kind) and f.began <= marked and f.ended >= first.at - 0.1 for f in faults
    )


TAKEN_OUT = ("answered", "opted_out", "erased")


def in_order(database: Database, book: Sequence[HandOver]) -> Iterator[str]:
    """What one hunter got for the first time came in the order in which it was decided, but for
    what was taken out while it was on its way: what was decided after that may pass it."""
    first: dict[str, float] = {}
    for entry in book:
        first.setdefault(entry.key, entry.at)
    out = t.TextOut
    with database.read() as connection:
        query = select(out.id, out.hunter_id, out.kind, out.error).where(out.hunter_id.is_not(None))
        rows = connection.execute(query.order_by(out.id)).all()
    latest: dict[int, tuple[float, str]] = {}
    for row, hunter, kind, error in rows:
        at = first.get(f"out-{row}")
        if at is None or error in TAKEN_OUT:
            continue
        before, older = latest.get(hunter, (0.0, ""))
        if at < before:
            yield f"out-{row} ({kind}) overtook {older} by {before - at:.2f} s"
        latest[hunter] = at, f"out-{row} ({kind})"


def nothing_waits(database: Database) -> Iterator[str]:
    """No text waits, no wait is overdue, and nothing was set aside for our own faults."""
    due = database.now() - timedelta(seconds=5)
    with database.read() as connection:
        open_timers = (t.Timer.done_at.is_(None), t.Timer.due_at < due)
        counts = {
            "texts wait to be sent": select(func.count()).where(t.TextOut.state == "waiting"),
            "waits are overdue": select(func.count(t.Timer.id)).where(*open_timers),
            "texts our software could not take": select(func.count()).where(
                t.Review.reason == FAULT
            ),
        }
        for words, query in counts.items():
            if number := connection.scalar(query):
                yield f"{number} {words}"
