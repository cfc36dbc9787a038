"""Tables of what was said: hunters, conversations, texts, events, answers, timers."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import CheckConstraint, ForeignKey, Index, UniqueConstraint, text
from sqlalchemy.orm import Mapped, mapped_column

from bot.service.columns import RowNumber
from bot.service.tables.base import Base, Numbered, points_to


class Hunter(Numbered, Base):
    """Whoever texts in: one E.164 number over all SMS gateways, or one chat session.

    `gateway` is where the latest text came from, and so where answers go.
    """

    __tablename__ = "hunters"
    __table_args__ = (UniqueConstraint("channel", "number"),)

    channel: Mapped[str]
    number: Mapped[str]
    gateway: Mapped[str]
    language: Mapped[str] = mapped_column(default="")
    opted_out: Mapped[bool] = mapped_column(default=False)
    first_text_at: Mapped[datetime]
    erased_at: Mapped[datetime | None]


class Conversation(Numbered, Base):
    """One conversation about one find, where it stands and where it began.

    `version` is the number of its last event; `first_state` is what a replay starts from.
    """

    __tablename__ = "conversations"
    __table_args__ = (
        UniqueConstraint("code"),
        Index(None, "hunter_id", "last_event_at"),
        Index(None, "last_event_at"),
    )

    code: Mapped[str]
    hunter_id: Mapped[int] = points_to("hunters.id")
    stage: Mapped[str]
    find_state: Mapped[str] = mapped_column(default="")
    version: Mapped[int] = mapped_column(default=0)
    state: Mapped[str]
    first_state: Mapped[str]
    dialog_hash: Mapped[str]
    programme_hash: Mapped[str]
    opened_at: Mapped[datetime]
    last_event_at: Mapped[datetime]


class TextIn(Numbered, Base):
    """One text as a gateway brought it, kept for ever, whatever became of it."""

    __tablename__ = "texts_in"
    __table_args__ = (
        UniqueConstraint("gateway", "gateway_id"),
        Index(None, "conversation_id"),
        Index(None, "hunter_id", "id"),
    )

    gateway: Mapped[str]
    gateway_id: Mapped[str]
    sender: Mapped[str]
    body: Mapped[str]
    sent_at: Mapped[datetime]
    arrived_at: Mapped[datetime]
    hunter_id: Mapped[int | None] = points_to("hunters.id")
    conversation_id: Mapped[int | None] = points_to("conversations.id")
    pin: Mapped[str | None]
    photos: Mapped[str | None]


class Event(Numbered, Base):
    """One event of a conversation or a pickup, numbered from 1 within its stream."""

    __tablename__ = "events"
    __table_args__ = (
        UniqueConstraint("stream", "stream_id", "seq"),
        CheckConstraint("stream IN ('conversation', 'pickup')", name="stream"),
    )

    stream: Mapped[str]
    stream_id: Mapped[int] = mapped_column(RowNumber)
    seq: Mapped[int]
    kind: Mapped[str]
    body: Mapped[str]
    at: Mapped[datetime]
    dialog_hash: Mapped[str]
    programme_hash: Mapped[str]


class Effect(Base):
    """What one event led to, in order."""

    __tablename__ = "effects"

    event_id: Mapped[int] = mapped_column(RowNumber, ForeignKey("events.id"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    body: Mapped[str]


class Answer(Numbered, Base):
    """Every answer that was ever read, and by which event. A withdrawn one has the value null."""

    __tablename__ = "answers"
    __table_args__ = (Index(None, "conversation_id"),)

    conversation_id: Mapped[int] = points_to("conversations.id")
    event_id: Mapped[int] = points_to("events.id")
    question: Mapped[str]
    value: Mapped[str]
    heard: Mapped[str]
    by: Mapped[str]
    at: Mapped[datetime]


class TextOut(Numbered, Base):
    """A text that is decided. `next_try_at` is also the lease of whoever is sending it.

    `hunter_id` is set where the text goes to the conversation's own hunter, whose wish to get
    no texts then binds it.
    """

    __tablename__ = "outbox"
    __table_args__ = (
        CheckConstraint("state IN ('waiting', 'sent', 'withdrawn', 'failed')", name="state"),
        Index(None, "conversation_id"),
        Index(
            "ix_outbox_waiting_recipient",
            "gateway",
            "number",
            "id",
            sqlite_where=text("state = 'waiting'"),
            postgresql_where=text("state = 'waiting'"),
        ),
        Index(
            "ix_outbox_waiting_next",
            "next_try_at",
            sqlite_where=text("state = 'waiting'"),
            postgresql_where=text("state = 'waiting'"),
        ),
        Index(None, "sent_at"),
    )

    gateway: Mapped[str]
    number: Mapped[str]
    hunter_id: Mapped[int | None] = points_to("hunters.id")
    conversation_id: Mapped[int | None] = points_to("conversations.id")
    body: Mapped[str]
    kind: Mapped[str]
    question: Mapped[str] = mapped_column(default="")
    segments: Mapped[int]
    state: Mapped[str] = mapped_column(default="waiting")
    decided_at: Mapped[datetime]
    next_try_at: Mapped[datetime]
    attempts: Mapped[int] = mapped_column(default=0)
    sent_at: Mapped[datetime | None]
    carrier_id: Mapped[str] = mapped_column(default="")
    error: Mapped[str] = mapped_column(default="")
    report: Mapped[str] = mapped_column(default="", server_default="")
    """What the carrier says became of it: "", accepted, delivered or undeliverable."""
    reported_at: Mapped[datetime | None]


class Carried(Base):
    """One part of a text out under its carrier's name for it, and what the carrier said of it.

    A report may come before the hand-over is marked, so either side may make the row.
    """

    __tablename__ = "carried"
    __table_args__ = (
        CheckConstraint("state IN ('', 'accepted', 'delivered', 'undeliverable')", name="state"),
        Index(None, "outbox_id"),
    )

    gateway: Mapped[str] = mapped_column(primary_key=True)
    carrier_id: Mapped[str] = mapped_column(primary_key=True)
    outbox_id: Mapped[int | None] = points_to("outbox.id")
    state: Mapped[str] = mapped_column(default="")
    reason: Mapped[str] = mapped_column(default="")
    at: Mapped[datetime]


class LongText(Numbered, Base):
    """A text that comes in parts (TS 23.040), until all are there or the wait is over.

    `parts` is JSON by number; once handed on, only the digests stay, by which a repeat is known.
    """

    __tablename__ = "long_texts"
    __table_args__ = (
        UniqueConstraint("gateway", "sender", "recipient", "ref", "total"),
        Index(None, "due_at"),
    )

    gateway: Mapped[str]
    sender: Mapped[str]
    recipient: Mapped[str]
    ref: Mapped[int]
    total: Mapped[int]
    parts: Mapped[str]
    began_at: Mapped[datetime]
    due_at: Mapped[datetime | None]
    """When it is handed on as it is; null once it has been."""


class Timer(Numbered, Base):
    """A machine wants to be woken; the machine itself knows whether it still does."""

    __tablename__ = "timers"
    __table_args__ = (
        CheckConstraint("stream IN ('conversation', 'pickup')", name="stream"),
        Index(
            "ix_timers_open",
            "due_at",
            sqlite_where=text("done_at IS NULL"),
            postgresql_where=text("done_at IS NULL"),
        ),
    )

    stream: Mapped[str]
    stream_id: Mapped[int] = mapped_column(RowNumber)
    mark: Mapped[int]
    due_at: Mapped[datetime]
    done_at: Mapped[datetime | None]


class Content(Base):
    """The very files that a dialog's or programme's hash stands for."""

    __tablename__ = "contents"

    hash: Mapped[str] = mapped_column(primary_key=True)
    files: Mapped[str]


class Photo(Base):
    """A picture, and what its EXIF said."""

    __tablename__ = "photos"
    __table_args__ = (Index(None, "text_id"),)

    key: Mapped[str] = mapped_column(primary_key=True)
    type: Mapped[str]
    data: Mapped[bytes]
    pin: Mapped[str | None]
    taken_at: Mapped[datetime | None]
    kept_at: Mapped[datetime]
    text_id: Mapped[int | None] = points_to("texts_in.id")


class Archived(Base):
    """A find whose texts stand in an archive's file, and since when."""

    __tablename__ = "archived"

    conversation_id: Mapped[int] = mapped_column(
        RowNumber, ForeignKey("conversations.id"), primary_key=True, autoincrement=False
    )
    at: Mapped[datetime]
