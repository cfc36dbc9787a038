"""Every table of the service, once, for SQLite and PostgreSQL alike.

Law: a change here is a change of the schema and needs a file in migrations/versions; a test
compares the two. Values of the pure rooms are stored as the JSON that those rooms write, in
text columns, and are read back by them alone. Nothing here is ever queried through a session.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any, ClassVar

from sqlalchemy import CheckConstraint, ForeignKey, Index, MetaData, Text, UniqueConstraint, text
from sqlalchemy.orm import DeclarativeBase, Mapped, MappedColumn, mapped_column

from bot.service.columns import Instant, RowNumber


class Base(DeclarativeBase):
    """Names for every constraint, so that a migration can name what it changes."""

    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
            "fk": "fk_%(table_name)s_%(column_0_name)s",
            "pk": "pk_%(table_name)s",
        }
    )
    type_annotation_map: ClassVar[dict[Any, Any]] = {datetime: Instant, str: Text}


class Numbered:
    """A table whose rows are numbered by the database."""

    id: Mapped[int] = mapped_column(RowNumber, primary_key=True, autoincrement=True, sort_order=-1)


def _points_to(column: str) -> MappedColumn[Any]:
    return mapped_column(RowNumber, ForeignKey(column))


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
    hunter_id: Mapped[int] = _points_to("hunters.id")
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
    hunter_id: Mapped[int | None] = _points_to("hunters.id")
    conversation_id: Mapped[int | None] = _points_to("conversations.id")
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

    conversation_id: Mapped[int] = _points_to("conversations.id")
    event_id: Mapped[int] = _points_to("events.id")
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
    )

    gateway: Mapped[str]
    number: Mapped[str]
    hunter_id: Mapped[int | None] = _points_to("hunters.id")
    conversation_id: Mapped[int | None] = _points_to("conversations.id")
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


class Pickup(Numbered, Base):
    """The job of fetching one head: one a conversation. `staff_id` is who has it or is asked."""

    __tablename__ = "pickups"
    __table_args__ = (
        UniqueConstraint("conversation_id"),
        Index(None, "staff_id", "name"),
    )

    conversation_id: Mapped[int] = _points_to("conversations.id")
    code: Mapped[str]
    name: Mapped[str]
    staff_id: Mapped[str] = mapped_column(default="")
    version: Mapped[int] = mapped_column(default=0)
    state: Mapped[str]
    first_state: Mapped[str]
    opened_at: Mapped[datetime]
    last_event_at: Mapped[datetime]


class Custody(Numbered, Base):
    """One thing that was said of a specimen, at `at`, kept at `kept_at`. Only ever added to."""

    __tablename__ = "custody"
    __table_args__ = (Index(None, "root"),)
    root: Mapped[str]
    kind: Mapped[str]
    body: Mapped[str]
    at: Mapped[datetime]
    kept_at: Mapped[datetime]


class Specimen(Base):
    """How a container stands. While `find` is "", `candidates` are the finds it may be of."""

    __tablename__ = "specimens"
    __table_args__ = (Index(None, "find"), Index(None, "root"))

    code: Mapped[str] = mapped_column(primary_key=True)
    root: Mapped[str]
    find: Mapped[str]
    candidates: Mapped[str] = mapped_column(default="")
    state: Mapped[str]


class Review(Numbered, Base):
    """Why a conversation needs a person. One open row for each reason and conversation."""

    __tablename__ = "reviews"
    __table_args__ = (
        Index(
            "ix_reviews_open",
            "conversation_id",
            "reason",
            unique=True,
            sqlite_where=text("closed_at IS NULL"),
            postgresql_where=text("closed_at IS NULL"),
        ),
    )

    conversation_id: Mapped[int] = _points_to("conversations.id")
    reason: Mapped[str]
    heard: Mapped[str] = mapped_column(default="")
    at_once: Mapped[bool] = mapped_column(default=False)
    opened_at: Mapped[datetime]
    closed_at: Mapped[datetime | None]
    taken_by: Mapped[str] = mapped_column(default="")


class Staff(Base):
    """The roster. Whoever an import leaves out stays here, no longer active."""

    __tablename__ = "staff"
    __table_args__ = (
        Index(
            "ix_staff_active_number",
            "number",
            unique=True,
            sqlite_where=text("active"),
            postgresql_where=text("active"),
        ),
    )

    id: Mapped[str] = mapped_column(primary_key=True)
    name: Mapped[str]
    role: Mapped[str]
    number: Mapped[str]
    lat: Mapped[float]
    lon: Mapped[float]
    reach_km: Mapped[float]
    days: Mapped[str]
    from_minute: Mapped[int]
    to_minute: Mapped[int]
    terms: Mapped[str] = mapped_column(server_default="{}", default="{}")
    """The rest of what the roster says of him, as JSON."""
    active: Mapped[bool] = mapped_column(default=True)


class Account(Base):
    """Who may log in to the desk. Only argon2 hashes are kept."""

    __tablename__ = "accounts"

    name: Mapped[str] = mapped_column(primary_key=True)
    password_hash: Mapped[str]
    role: Mapped[str]
    created_at: Mapped[datetime]


class Session(Base):
    """One log-in. Only the hash of what the browser remembers is kept."""

    __tablename__ = "sessions"
    __table_args__ = (Index(None, "name"),)

    key_hash: Mapped[str] = mapped_column(primary_key=True)
    name: Mapped[str]
    browser: Mapped[str]
    started_at: Mapped[datetime]
    ended_at: Mapped[datetime | None]


class Invitation(Base):
    """A link by which somebody may make an account of a role, once."""

    __tablename__ = "invitations"

    key_hash: Mapped[str] = mapped_column(primary_key=True)
    role: Mapped[str]
    by: Mapped[str]
    made_at: Mapped[datetime]
    until: Mapped[datetime]
    used_by: Mapped[str] = mapped_column(default="")


class Audit(Numbered, Base):
    """Who saw or changed what at the desk. `what` is a find's code or a name."""

    __tablename__ = "audit"
    __table_args__ = (Index(None, "what"),)

    at: Mapped[datetime]
    who: Mapped[str]
    act: Mapped[str]
    what: Mapped[str]


class Findable(Base):
    """The words by which a find is searched, folded: its card's, and what people said. Each
    database has its own full-text index over them, which its migration makes."""

    __tablename__ = "findable"

    conversation_id: Mapped[int] = mapped_column(
        RowNumber, ForeignKey("conversations.id"), primary_key=True, autoincrement=False
    )
    card: Mapped[str]
    said: Mapped[str]


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
    text_id: Mapped[int | None] = _points_to("texts_in.id")
