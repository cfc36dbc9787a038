"""What every account of the zones reads, in columns: one row a kept find."""

from __future__ import annotations

from sqlalchemy import ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from bot.service.columns import RowNumber
from bot.service.tables.base import Base


class Evidence(Base):
    """One kept find as evidence, written with its conversation, so that an account of all finds
    decodes no talk.

    `state` is how it was kept; times are POSIX seconds; null is not known. `checked` is what was
    looked at, as the JSON of the conversation.
    """

    __tablename__ = "evidence"

    conversation_id: Mapped[int] = mapped_column(
        RowNumber, ForeignKey("conversations.id"), primary_key=True, autoincrement=False
    )
    code: Mapped[str]
    state: Mapped[str]
    opened: Mapped[float]
    lat: Mapped[float | None]
    lon: Mapped[float | None]
    earliest: Mapped[float | None]
    latest: Mapped[float | None]
    species: Mapped[str | None]
    sort: Mapped[str | None]
    animals: Mapped[int]
    checked: Mapped[str]
