"""What was decided is written down: events, effects, answers, texts, waits and reviews.

Law: called inside the transaction that holds the locks, after everything is decided. Only the
machines' present states are ever overwritten, and only from the version that was read.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import count
from typing import Any, cast

import msgspec
from sqlalchemy import bindparam, func, update

from bot.fieldwork.state import Pickup
from bot.messages import KeepFind, PickupEvent, WaitFor
from bot.service import tables
from bot.service.custody import keep_custody
from bot.service.findable import WORDS, keep_words
from bot.service.finds import keep_evidence
from bot.service.gather import Find, Hunter
from bot.service.links import NO_LINKS, Links
from bot.service.posting import OUT, WITHDRAW_ASKED, Post
from bot.service.reviewing import apply_reviews
from bot.service.sheet import Change, OvertakenError, Rows, Sheet, Usual, mark_of
from bot.service.taking import CLAIM
from bot.service.unfold import Moved, Rules, Story
from bot.service.upsert import insert_new
from bot.talk.state import Conversation

_C, _P, _H = tables.Conversation, tables.Pickup, tables.Hunter
_EVENTS = Rows(
    tables.Event,
    ("stream", "stream_id", "seq", "kind", "body", "at", "dialog_hash", "programme_hash"),
)
_EFFECTS = Rows(tables.Effect, ("event_id", "position", "body"))
_ANSWERS = Rows(
    tables.Answer, ("conversation_id", "event_id", "question", "value", "heard", "by", "at")
)
_TIMERS = Rows(tables.Timer, ("stream", "stream_id", "mark", "due_at"))
_TALK = Change(
    "talk",
    update(_C)
    .where(_C.id == bindparam("talk_id"), _C.version == bindparam("talk_read"))
    .values(
        version=bindparam("talk_version"),
        state=bindparam("talk_state"),
        stage=bindparam("talk_stage"),
        last_event_at=bindparam("talk_moved_at"),
        find_state=func.coalesce(bindparam("talk_kept"), _C.find_state),
    ),
    sure=True,
)
_PICKUP_COLUMNS = ("version", "state", "name", "staff_id", "last_event_at")
_PICKUP = Change(
    "pickup",
    update(_P)
    .where(_P.id == bindparam("pickup_id"), _P.version == bindparam("pickup_read"))
    .values({name: bindparam(f"pickup_{name}") for name in _PICKUP_COLUMNS}),
    sure=True,
)
_HUNTER = Change(
    "hunter",
    update(_H)
    .where(_H.id == bindparam("hunter_id"))
    .values(language=bindparam("hunter_language"), opted_out=bindparam("hunter_opted_out")),
)


USUAL = Usual((_EVENTS, _EFFECTS, _ANSWERS, _TIMERS, OUT, WORDS), (_TALK, CLAIM, WITHDRAW_ASKED))
"""What an ordinary text writes."""


def encode(value: object) -> str:
    """A frozen value as JSON text, fit for storing."""
    return msgspec.json.encode(value).decode()


def in_hands(pickup: Pickup) -> str:
    """Whose job it is: who holds it, else who is asked for it, else ""."""
    offer = pickup.open_offer
    return pickup.staff_id or (offer.staff_id if offer else "")


@dataclass(slots=True)
class Ledger:
    """Writes stories of one find within one transaction, and with them what else stands on the
    sheet."""

    sheet: Sheet
    rules: Rules
    sms: str
    now: datetime
    links: Links = NO_LINKS

    def record(self, find: Find, story: Story) -> None:
        """Keep all of a story that changed anything."""
        moves = [m for m in story.moves if not m.idle]
        carried = [m for m in moves if m.of_pickup]
        pickup_id = self._save_pickup(find, carried, story) if carried else 0
        post = Post(self.sheet, self.sms, self.now, find.hunter.opted_out, self.links)
        streams = {
            True: ("pickup", pickup_id, count(find.pickup_version + 1)),
            False: ("conversation", find.id, count(find.version + 1)),
        }
        for moved in moves:
            stream, stream_id, seq = streams[moved.of_pickup]
            self._keep(find, moved, (stream, stream_id, next(seq)))
            post.take(find, moved)
        if moves:
            keep_words(self.sheet, find, story, self.rules.describe)
        if len(moves) > len(carried):
            keep_evidence(self.sheet, find.id, find.conversation, story)
            self._save_talk(find, story, find.version + len(moves) - len(carried))
        self._save_hunter(find.hunter, story.conversation.language, post.opted_out)
        self.sheet.write()
        for moved in moves:
            # After the outbox, never before it: who sends texts takes the two in this order.
            apply_reviews(self.sheet.connection, find.id, moved.effects, self.now)
            self._hand_over(moved, story)

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
            made = insert_new(self.sheet.connection, _P, state | first | named)
            if made is None:
                raise OvertakenError("pickup")
            return int(made)
        values = {f"pickup_{name}": value for name, value in state.items()}
        read = {"pickup_id": find.pickup_id, "pickup_read": find.pickup_version}
        self.sheet.change(_PICKUP, values | read)
        return find.pickup_id

    def _save_talk(self, find: Find, story: Story, version: int) -> None:
        kept = [e.state for m in story.moves for e in m.effects if isinstance(e, KeepFind)]
        row = {
            "talk_id": find.id,
            "talk_read": find.version,
            "talk_version": version,
            "talk_state": encode(story.conversation),
            "talk_stage": story.conversation.stage,
            "talk_moved_at": self.now,
            "talk_kept": kept[-1] if kept else None,
        }
        self.sheet.change(_TALK, row)

    def _save_hunter(self, hunter: Hunter, language: str, opted_out: bool) -> None:
        if (language, opted_out) == (hunter.language, hunter.opted_out):
            return
        row = {"hunter_id": hunter.id, "hunter_language": language, "hunter_opted_out": opted_out}
        self.sheet.change(_HUNTER, row)

    def _keep(self, find: Find, moved: Moved, place: tuple[str, int, int]) -> None:
        """One event with its effects, its answers and its waits."""
        stream, stream_id, seq = place
        mark = mark_of(stream, seq)
        event = {
            "stream": stream,
            "stream_id": stream_id,
            "seq": seq,
            "kind": moved.event.__struct_config__.tag,
            "body": encode(moved.event),
            "at": moved.event.at,
            "dialog_hash": self.rules.dialog_hash,
            "programme_hash": self.rules.programme_hash,
        }
        self.sheet.add(_EVENTS, event)
        self.sheet.add(_EFFECTS, *_effect_rows(mark, moved))
        self.sheet.add(_ANSWERS, *_answer_rows(find.id, mark, moved, self.now))
        self.sheet.add(_TIMERS, *_timer_rows(place, moved))

    def _hand_over(self, moved: Moved, story: Story) -> None:
        """What a pickup's event says of who has the head."""
        before, after = moved.before, moved.after
        if isinstance(before, Pickup) and isinstance(after, Pickup):
            said = self.rules.custody(
                before, cast(PickupEvent, moved.event), after, story.conversation
            )
            if said:
                keep_custody(self.sheet.connection, after.code, said, self.now)


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
