"""A whole database copied into another, of either kind, and compared row by row.

Law: everything is read from one state of the original, so that it may go on working meanwhile;
the copy is one transaction, so that there is all of it or nothing. Row numbers stay what they
are. A backup is such a copy in a SQLite file, whatever it was made from.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from itertools import islice, zip_longest
from pathlib import Path
from typing import Any

from msgspec import Struct
from sqlalchemy import (
    Column,
    ColumnElement,
    Connection,
    LargeBinary,
    Table,
    Text,
    func,
    insert,
    select,
    text,
)

from bot.service.database import Database, open_database
from bot.service.migrate import revision
from bot.service.replaying import Replayed, replay_stored
from bot.service.sealing import MAGIC, PLAIN, Sealer, SealError, is_sealed
from bot.service.tables import Base

BACKUP = "backup"
"""What a backup is sealed as."""
BATCH, FEW = 500, 20
"""Rows that are read and written at a time; of a table with pictures fewer."""

TABLES: tuple[Table, ...] = tuple(Base.metadata.sorted_tables)
"""Each after those that it points to."""

Tell = Callable[[str, int, int], object]
"""Hears what is being done, how much of it is done, and how much there is."""


class CopyError(ValueError):
    """The copy cannot be made, or is not what it should be."""


class Copied(Struct, frozen=True):
    """What was copied: rows by table, and the newest conversations played again."""

    rows: dict[str, int]
    replayed: Replayed

    @property
    def total(self) -> int:
        """All rows."""
        return sum(self.rows.values())


def copy_all(
    source: Database, target: Database, tell: Tell, newest: int = 500, *, hold: bool = False
) -> Copied:
    """Copy, compare every row, play the newest conversations again. CopyError where the target
    holds anything, or a row differs; the target is empty again then. With `hold` nobody else
    writes to a SQLite original meanwhile."""
    door = source.write if hold and source.is_sqlite else source.read
    with door() as old:
        counts = {table.name: _count(old, table) for table in TABLES}
        with target.write() as new:
            _must_be_alike(old, new)
            _must_be_empty(new)
            _copy(old, new, counts, tell)
            go_on_numbering(new)
            _compare(old, new, counts, tell)
    goal = min(newest, counts["conversations"])
    replayed = replay_stored(target, newest, lambda n: tell("played again", n, goal))
    return Copied(counts, replayed)


@contextmanager
def opened_backup(file: Path, sealer: Sealer = PLAIN) -> Iterator[Database]:
    """A backup, its schema brought up to date in a copy of its own. CopyError if it is none, or
    if it is encrypted and no key opens it."""
    if not file.is_file():
        raise CopyError(f"there is no file {file}")
    if not (_start_of(file).startswith(b"SQLite format 3") or is_backup_sealed(file)):
        raise CopyError(f"{file} is no backup")
    with tempfile.TemporaryDirectory(prefix="bushpost-restore-") as folder:
        own = Path(folder) / "backup.sqlite3"
        try:
            with file.open("rb") as source, own.open("wb") as target:
                sealer.open_file(source, target, BACKUP)
        except SealError as fault:
            raise CopyError(f"{file}: {fault}") from None
        database = open_database(f"sqlite:///{own}")
        try:
            yield database
        finally:
            database.close()


def seal_backup(plain: Path, sealed: Path, sealer: Sealer) -> None:
    """Encrypt a finished backup into another file, which must be there."""
    with plain.open("rb") as source, sealed.open("wb") as target:
        sealer.seal_file(source, target, BACKUP)


def is_backup_sealed(file: Path) -> bool:
    """Whether a backup is encrypted."""
    return is_sealed(_start_of(file))


def _start_of(file: Path) -> bytes:
    with file.open("rb") as opened:
        return opened.read(len(MAGIC))


def _count(connection: Connection, table: Table) -> int:
    return connection.scalar(select(func.count()).select_from(table)) or 0


def _must_be_alike(old: Connection, new: Connection) -> None:
    """Columns that this version does not know would be lost."""
    if revision(old) != revision(new):
        raise CopyError(
            f"the schemas differ: {revision(old) or 'none'} here, {revision(new)} there; "
            "use the version of the program that the original was made with"
        )


def _must_be_empty(connection: Connection) -> None:
    for table in TABLES:
        if connection.execute(select(table).limit(1)).first() is not None:
            raise CopyError(f"the target is not empty: there are rows in {table.name}")


def rows_of(
    connection: Connection, table: Table, *where: ColumnElement[bool]
) -> Iterator[tuple[Any, ...]]:
    """Every row in the order of its key, or those that are meant; never all of them in memory."""
    key = (_in_bytes(connection, column) for column in table.primary_key.columns)
    ordered = select(table).where(*where).order_by(*key)
    found = connection.execution_options(yield_per=_batch(table)).execute(ordered)
    return (tuple(_plain(value) for value in row) for row in found)


def write_rows(
    new: Connection, table: Table, rows: Iterable[tuple[Any, ...]], tell: Callable[[int], object]
) -> None:
    """Write them as they are; `tell` hears of each batch how many it was."""
    names = [column.name for column in table.columns]
    left = iter(rows)
    while batch := list(islice(left, _batch(table))):
        new.execute(insert(table).inline(), [dict(zip(names, row, strict=True)) for row in batch])
        tell(len(batch))


def must_be_same(
    table: Table, first: Iterable[tuple[Any, ...]], second: Iterable[tuple[Any, ...]]
) -> int:
    """How many rows there are on either side; CopyError names the first that differs."""
    seen = 0
    for own, its in zip_longest(first, second):
        seen += 1
        if own != its:
            raise CopyError(f"row {seen} of {table.name} is not the same in the copy")
    return seen


def _in_bytes(connection: Connection, column: Column[Any]) -> ColumnElement[Any]:
    """A key as both databases put it in the same order, whatever PostgreSQL's own collation."""
    plain = connection.dialect.name == "postgresql" and isinstance(column.type, Text)
    return column.collate("C") if plain else column


def _batch(table: Table) -> int:
    return FEW if any(isinstance(c.type, LargeBinary) for c in table.columns) else BATCH


def _plain(value: Any) -> Any:
    """Bytes are bytes, whatever a driver wraps them in."""
    return bytes(value) if isinstance(value, memoryview) else value


def _copy(old: Connection, new: Connection, counts: dict[str, int], tell: Tell) -> None:
    done, goal = 0, sum(counts.values())

    def count(rows: int) -> None:
        nonlocal done
        done += rows
        tell("copied", done, goal)

    for table in TABLES:
        write_rows(new, table, rows_of(old, table), count)


def go_on_numbering(new: Connection) -> None:
    """Let PostgreSQL's own numbers go on behind the copied ones; SQLite does so by itself."""
    if new.dialect.name != "postgresql":
        return
    for table in TABLES:
        if table.autoincrement_column is None:
            continue
        latest = new.scalar(select(func.max(table.autoincrement_column)))
        if latest is not None:
            ask = text("SELECT setval(pg_get_serial_sequence(:name, 'id'), :latest)")
            new.execute(ask, {"name": table.name, "latest": latest})


def _compare(old: Connection, new: Connection, counts: dict[str, int], tell: Tell) -> None:
    done, goal = 0, sum(counts.values())
    for table in TABLES:
        seen = must_be_same(table, rows_of(old, table), rows_of(new, table))
        if seen != counts[table.name]:
            raise CopyError(f"{table.name} had {counts[table.name]} rows, the copy has {seen}")
        done += seen
        tell("compared", done, goal)
