"""What every table shares: names for constraints, column types, a numbered key."""

from __future__ import annotations

from datetime import datetime
from typing import Any, ClassVar

from sqlalchemy import ForeignKey, MetaData, Text
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


def points_to(column: str) -> MappedColumn[Any]:
    return mapped_column(RowNumber, ForeignKey(column))
