"""`bushpost archive FILE --before DAY`: texts of long settled finds, out of the database.

First the file is finished and in its place, then the texts leave: whatever stops it in between
leaves them in both, and another run with another file takes them again.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy.exc import SQLAlchemyError

from bot.commands.copying import Bar
from bot.commands.database_address import add_database_option, database_address
from bot.commands.unfinished import finished
from bot.service.archiving import YOUNGEST, copy_old_texts, let_go, too_young
from bot.service.copying import CopyError, opened_backup
from bot.service.database import Database, open_database
from bot.service.sealing import Sealer
from bot.settings import Settings


def add_archive(subparsers: Any) -> None:
    """Add the command to the command line."""
    words = "move the texts of long settled finds into a file"
    parser = subparsers.add_parser("archive", help=words)
    parser.add_argument("file", type=Path)
    parser.add_argument(
        "--before",
        required=True,
        metavar="DAY",
        help=f"finds in which nothing happened since, YYYY-MM-DD; {YOUNGEST.days} days at least",
    )
    add_database_option(parser)
    parser.set_defaults(run=run_archive)


def run_archive(args: argparse.Namespace) -> int:
    """Exit code 2 and one line where it cannot be done; no text has left the database then."""
    try:
        source = open_database(database_address(args.database))
        try:
            return _archive(source, args.file, _day(args.before, source.now()))
        finally:
            source.close()
    except (ValueError, OSError, SQLAlchemyError) as fault:
        print(f"bushpost archive: {str(fault).splitlines()[0]}", file=sys.stderr)
        return 2


def _archive(source: Database, file: Path, before: datetime) -> int:
    sealer, bar = Sealer(Settings.from_environment(os.environ).encryption_keys), Bar()
    with finished(file, sealer) as plain, _opened(plain) as target:
        archived = copy_old_texts(source, target, before, bar.tell)
        if not archived.texts:
            raise CopyError("there is nothing so old")
    with opened_backup(file, sealer) as archive:
        finds = let_go(source, archive, before, source.now(), bar.tell)
    print(f"{archived.texts:,} texts stand in {file}, of {archived.rows['conversations']:,} finds")
    print(f"{finds:,} finds have let go of theirs; everything else of them stays")
    print("The file holds numbers and words: keep it as safe as a backup, and no longer.")
    return 0


@contextmanager
def _opened(plain: Path) -> Iterator[Database]:
    """A new database in the file, closed before the file is moved."""
    database = open_database(f"sqlite:///{plain}")
    try:
        yield database
    finally:
        database.close()


def _day(written: str, now: datetime) -> datetime:
    """The beginning of a day, UTC; ValueError where it is none, or too young."""
    try:
        before = datetime.strptime(written, "%Y-%m-%d").replace(tzinfo=UTC)
    except ValueError:
        raise ValueError(f"--before: {written!r} is not like 2026-11-25") from None
    if too_young(before, now):
        raise ValueError(f"--before: {written} is not {YOUNGEST.days} days ago")
    return before
