"""What the pages read, as frozen rows: they show these, and change nothing but by events."""

from __future__ import annotations

from datetime import datetime, timedelta

from msgspec import Struct

from bot.fieldwork.state import Pickup
from bot.messages import Photo, Pin
from bot.talk.state import Conversation


class Waiting(Struct, frozen=True):
    """One conversation that needs a person, with every reason that stands open, worst first.

    `warm` is how long its head may have been warm, `overdue` how far it is past the time by
    which it is best at the laboratory; None where it is not.
    """

    code: str
    reasons: tuple[str, ...]
    heard: tuple[str, ...]
    at_once: bool
    opened_at: datetime
    taken_by: str
    warm: timedelta | None
    conversation: Conversation
    overdue: timedelta | None = None


class Line(Struct, frozen=True):
    """One text of a talk. `at` is when it arrived or was decided; outward ones carry what they
    are, what became of them and what the carrier reported. `with_staff` marks what was said to
    or by field staff."""

    id: str
    inward: bool
    at: datetime
    body: str
    sent_at: datetime | None = None
    kind: str = ""
    state: str = ""
    error: str = ""
    segments: int = 0
    report: str = ""
    reported_at: datetime | None = None
    with_staff: bool = False
    pin: Pin | None = None
    photos: tuple[Photo, ...] = ()


class ReviewRow(Struct, frozen=True):
    """One reason, open or settled."""

    reason: str
    heard: str
    at_once: bool
    opened_at: datetime
    closed_at: datetime | None
    taken_by: str


class AnswerRow(Struct, frozen=True):
    """One answer that was ever read, oldest first. `value` is its JSON, "null" if withdrawn."""

    question: str
    value: str
    heard: str
    by: str
    at: datetime


class EventRow(Struct, frozen=True):
    """One event of the find's conversation or pickup. `body` is its JSON."""

    stream: str
    seq: int
    kind: str
    at: datetime
    body: str
    dialog_hash: str
    programme_hash: str


class Card(Struct, frozen=True):
    """Everything about one find. `turn` is what a form must carry back."""

    code: str
    turn: int
    conversation: Conversation
    find_state: str
    opened_at: datetime
    last_event_at: datetime
    channel: str
    number: str
    gateway: str
    opted_out: bool
    pickup: Pickup | None = None
    lines: tuple[Line, ...] = ()
    answers: tuple[AnswerRow, ...] = ()
    reviews: tuple[ReviewRow, ...] = ()
    events: tuple[EventRow, ...] = ()
    archived_at: datetime | None = None
    """Since when the texts before it stand in an archive's file."""


class FindRow(Struct, frozen=True):
    """One find in a list. `id` is what the next page starts before."""

    id: int
    code: str
    stage: str
    find_state: str
    opened_at: datetime
    last_event_at: datetime
    pickup: str
    staff_id: str


class OutboxState(Struct, frozen=True):
    """How the outbox stands; `oldest` is when the oldest waiting text was decided."""

    waiting: int
    failed: int
    oldest: datetime | None


class ChatTalk(Struct, frozen=True):
    """The lines of a chat after a point, and the point to ask from the next time. `conversation`
    is the talk that goes on, `number` the one that the chat has proved, "" if none."""

    entries: tuple[Line, ...]
    after: int
    conversation: Conversation | None = None
    number: str = ""


class History(Struct, frozen=True):
    """What a replay of one find starts from, and every event since, in the order of arrival."""

    first: Conversation
    first_pickup: Pickup | None
    events: tuple[EventRow, ...]
