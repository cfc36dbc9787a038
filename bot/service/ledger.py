"""What was decided is written down: events, effects, answers, texts, waits and reviews.

Law: called inside the transaction that holds the locks, after everything is decided. Only the
machines' present states are ever overwritten, and only from the version that was read.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from itertools import count
from typing import Any, cast

import msgspec
from sqlalchemy import Connection, Insert, bindparam, insert, update

from bot.fieldwork.state import Pickup
from bot.messages import KeepFind, PickupEvent, WaitFor
from bot.service import tables
from bot.service.custody import keep_custody
from bot.service.findable import keep_words
from bot.service.finds import keep_evidence
from bot.service.gather import Find
from bot.service.links import NO_LINKS, Links
from bot.service.posting import Post
from bot.service.reviewing import apply_reviews
from bot.service.unfold import Moved, Rules, Story
from bot.talk.state import Conversation


class OvertakenError(RuntimeError):
    """A row is no longer of the version that was read, though it was locked: our own fault."""


_E, _C, _P, _H = tables.Event, tables.Conversation, tables.Pickup, tables.Hunter
_NEW_EVENT = insert(_E).returning(_E.id)
_NEW_PICKUP = insert(_P).returning(_P.id)
_SAVE_TALK = (
    update(_C)
    .where(_C.id == bindparam("row"), _C.version == bindparam("read"))
    .values(
        version=bindparam("written"),
        state=bindparam("now"),
        stage=bindparam("standing"),
        last_event_at=bindparam("moment"),
    )
)


def encode(value: object) -> str:
    """A frozen value as JSON text, fit for storing."""
    return msgspec.json.encode(value).decode()


def in_hands(pickup: Pickup) -> str:
    """Whose job it is: who holds it, else who is asked for it, else ""."""
    offer = pickup.open_offer
    return pickup.staff_id or (offer.staff_id if offer else "")


@dataclass(slots=True)
class Ledger:
    """Writes stories of one find within one transaction."""

    connection: Connection
    rules: Rules
    sms: str
    now: datetime
    links: Links = NO_LINKS

    def record(self, find: Find, story: Story) -> None:
        """Keep all of a story that changed anything."""
        moves = [m for m in story.moves if not m.idle]
        carried = [m for m in moves if m.of_pickup]
        pickup_id = self._save_pickup(find, carried, story) if carried else 0
        post = Post(self.connection, self.sms, self.now, find.hunter.opted_out, self.links)
        streams = {
            True: ("pickup", pickup_id, count(find.pickup_version + 1)),
            False: ("conversation", find.id, count(find.version + 1)),
        }
        for moved in moves:
            stream, stream_id, seq = streams[moved.of_pickup]
            self._keep(find, moved, (stream, stream_id, next(seq)))
            post.take(find, moved)
            # After the outbox, never before it: who sends texts takes the two in this order.
            apply_reviews(self.connection, find.id, moved.effects, self.now)
            self._hand_over(moved, story)
        if moves:
            keep_words(self.connection, find, story, self.rules.describe)
        if len(moves) > len(carried):
            keep_evidence(self.connection, find.id, find.conversation, story)
            self._save_talk(find, story, find.version + len(moves) - len(carried))

    def _save_pickup(self, find: Find, carried: list[Moved], story: Story) -> int:
        """Save the pickup's new state, in a new row if it has none yet; the row's number."""
        pickup = story.pickup
        if pickup is None:
            raise LookupError("events of a pickup, and no pickup")
        state = {
            "version": find.pickup_version + len(carried),
            "state": encode(pickup),
            "name": pickup.state,
            "staff_id": in_hands(pickup),
            "last_event_at": self.now,
        }
        if find.pickup_id is None:
            first = {"first_state": encode(carried[0].before), "opened_at": self.now}
            named = {"conversation_id": find.id, "code": pickup.code}
            row = self.connection.execute(_NEW_PICKUP, state | first | named)
            return int(row.scalar_one())
        mine = (_P.id == find.pickup_id) & (_P.version == find.pickup_version)
        if self.connection.execute(update(_P).where(mine).values(state)).rowcount != 1:
            raise OvertakenError("pickup")
        return find.pickup_id

    def _save_talk(self, find: Find, story: Story, version: int) -> None:
        row = {
            "row": find.id,
            "read": find.version,
            "written": version,
            "now": encode(story.conversation),
            "standing": story.conversation.stage,
            "moment": self.now,
        }
        if self.connection.execute(_SAVE_TALK, row).rowcount != 1:
            raise OvertakenError("conversation")
        if story.conversation.language != find.hunter.language:
            speaks = update(_H).where(_H.id == find.hunter.id)
            self.connection.execute(speaks.values(language=story.conversation.language))

    def _keep(self, find: Find, moved: Moved, place: tuple[str, int, int]) -> None:
        """One event with its effects, its answers, its waits, and what the find is kept as."""
        event_id = self._event(moved, place)
        self._insert(tables.Effect, _effect_rows(event_id, moved))
        self._insert(tables.Answer, _answer_rows(find.id, event_id, moved, self.now))
        self._insert(tables.Timer, _timer_rows(place, moved))
        for effect in moved.effects:
            if isinstance(effect, KeepFind):
                kept = update(_C).where(_C.id == find.id).values(find_state=effect.state)
                self.connection.execute(kept)

    def _hand_over(self, moved: Moved, story: Story) -> None:
        """What a pickup's event says of who has the head."""
        before, after = moved.before, moved.after
        if isinstance(before, Pickup) and isinstance(after, Pickup):
            said = self.rules.custody(
                before, cast(PickupEvent, moved.event), after, story.conversation
            )
            if said:
                keep_custody(self.connection, after.code, said, self.now)

    def _event(self, moved: Moved, place: tuple[str, int, int]) -> int:
        stream, stream_id, seq = place
        row = {
            "stream": stream,
            "stream_id": stream_id,
            "seq": seq,
            "kind": moved.event.__struct_config__.tag,
            "body": encode(moved.event),
            "at": moved.event.at,
            "dialog_hash": self.rules.dialog_hash,
            "programme_hash": self.rules.programme_hash,
        }
        return int(self.connection.execute(_NEW_EVENT, row).scalar_one())

    def _insert(self, table: type[tables.Base], rows: Iterator[dict[str, Any]]) -> None:
        if listed := list(rows):
            self.connection.execute(_insert_of(table), listed)


@cache
def _insert_of(table: type[tables.Base]) -> Insert:
    return insert(table).inline()  # Its rows' numbers are not asked for.


def _effect_rows(event_id: int, moved: Moved) -> Iterator[dict[str, Any]]:
    for position, effect in enumerate(moved.effects):
        yield {"event_id": event_id, "position": position, "body": encode(effect)}


def _timer_rows(place: tuple[str, int, int], moved: Moved) -> Iterator[dict[str, Any]]:
    for effect in moved.effects:
        if isinstance(effect, WaitFor):
            yield {
                "stream": place[0],
                "stream_id": place[1],
                "mark": effect.mark,
                "due_at": effect.due,
            }


def _answer_rows(
    find_id: int, event_id: int, moved: Moved, now: datetime
) -> Iterator[dict[str, Any]]:
    """A row for each answer that is new or changed, and one with null for each that is gone."""
    if not isinstance(moved.before, Conversation) or not isinstance(moved.after, Conversation):
        return
    old, new = moved.before.answers, moved.after.answers
    changed = {q: a for q, a in new.items() if old.get(q) != a}
    gone = {q: a for q, a in old.items() if q not in new}
    for question, answer in (gone | changed).items():
        yield {
            "conversation_id": find_id,
            "event_id": event_id,
            "question": question,
            "value": "null" if question in gone else encode(answer.value),
            "heard": answer.heard,
            "by": answer.by,
            "at": now if question in gone else answer.at,
        }
