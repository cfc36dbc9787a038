"""Tables of the desk: what waits for a person, who may log in, what was looked at."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ForeignKey, Index, text
from sqlalchemy.orm import Mapped, mapped_column

from bot.service.columns import RowNumber
from bot.service.tables.base import Base, Numbered, points_to


class Review(Numbered, Base):
    """Why a conversation needs a person. One open row for each reason and conversation."""

    __tablename__ = "reviews"
    __table_args__ = (
        Index(None, "conversation_id"),
        Index(
            "ix_reviews_open",
            "conversation_id",
            "reason",
            unique=True,
            sqlite_where=text("closed_at IS NULL"),
            postgresql_where=text("closed_at IS NULL"),
        ),
    )

    conversation_id: Mapped[int] = points_to("conversations.id")
    reason: Mapped[str]
    heard: Mapped[str] = mapped_column(default="")
    at_once: Mapped[bool] = mapped_column(default=False)
    opened_at: Mapped[datetime]
    closed_at: Mapped[datetime | None]
    taken_by: Mapped[str] = mapped_column(default="")


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


class SecondFactor(Base):
    """What somebody is asked for besides his password, once it is confirmed. `last_step` is the
    latest of its codes that was used; `secret` is encrypted where a key is set."""

    __tablename__ = "second_factors"

    name: Mapped[str] = mapped_column(primary_key=True)
    secret: Mapped[str]
    made_at: Mapped[datetime]
    confirmed_at: Mapped[datetime | None]
    last_step: Mapped[int] = mapped_column(RowNumber)


class RecoveryCode(Base):
    """A code on paper that stands in for the second factor, once. Only its hash is kept."""

    __tablename__ = "recovery_codes"
    __table_args__ = (Index(None, "name"),)

    code_hash: Mapped[str] = mapped_column(primary_key=True)
    name: Mapped[str]
    made_at: Mapped[datetime]
    used_at: Mapped[datetime | None]


class Invitation(Base):
    """A link by which somebody may make an account of a role, once."""

    __tablename__ = "invitations"

    key_hash: Mapped[str] = mapped_column(primary_key=True)
    role: Mapped[str]
    by: Mapped[str]
    made_at: Mapped[datetime]
    until: Mapped[datetime]
    used_by: Mapped[str] = mapped_column(default="")


class Tally(Base):
    """How often somebody did one thing in a window of time. `who_hash` is keyed."""

    __tablename__ = "tallies"
    __table_args__ = (Index(None, "until"),)

    who_hash: Mapped[str] = mapped_column(primary_key=True)
    count: Mapped[int]
    began_at: Mapped[datetime]
    latest_at: Mapped[datetime]
    until: Mapped[datetime]


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
