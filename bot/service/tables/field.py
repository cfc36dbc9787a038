"""Tables of the work outside: pickups, specimens and their custody, the roster."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Index, UniqueConstraint, text
from sqlalchemy.orm import Mapped, mapped_column

from bot.service.tables.base import Base, Numbered, points_to


class Pickup(Numbered, Base):
    """The job of fetching one head: one a conversation. `staff_id` is who has it or is asked."""

    __tablename__ = "pickups"
    __table_args__ = (
        UniqueConstraint("conversation_id"),
        Index(None, "staff_id", "name"),
    )

    conversation_id: Mapped[int] = points_to("conversations.id")
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


class Age(Numbered, Base):
    """One saying about an animal's age, as JSON, under its find's code."""

    __tablename__ = "ages"
    __table_args__ = (Index(None, "code"),)

    code: Mapped[str]
    body: Mapped[str]
    at: Mapped[datetime]
