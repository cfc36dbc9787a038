"""Tables of the web chat: codes that prove a number, and which browser has proved which."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Index
from sqlalchemy.orm import Mapped, mapped_column

from bot.service.tables.base import Base, Numbered, points_to


class ChatCode(Numbered, Base):
    """One code that was sent to a number for a chat session. Only keyed hashes are kept, of the
    code and of the address it was asked from; `tries` counts what was typed."""

    __tablename__ = "chat_codes"
    __table_args__ = (Index(None, "session"), Index(None, "made_at"))

    session: Mapped[str]
    number: Mapped[str]
    asked_from: Mapped[str]
    code_hash: Mapped[str]
    made_at: Mapped[datetime]
    tries: Mapped[int] = mapped_column(default=0)
    used_at: Mapped[datetime | None]


class ChatLink(Base):
    """A chat session whose browser has proved a hunter's number: it speaks as that hunter."""

    __tablename__ = "chat_links"
    __table_args__ = (Index(None, "hunter_id"),)

    session: Mapped[str] = mapped_column(primary_key=True)
    hunter_id: Mapped[int] = points_to("hunters.id")
    made_at: Mapped[datetime]
