"""`bushpost backup FILE`: everything in one SQLite file, while the service goes on working.

With a key the file is encrypted; the plain copy is made in this machine's temporary folder first,
and never where the file is to lie.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy.exc import SQLAlchemyError

from bot.commands.copying import Bar, summed_up
from bot.commands.database_address import add_database_option, database_address
from bot.service.copying import Copied, CopyError, copy_all, seal_backup
from bot.service.database import open_database
from bot.service.sealing import Sealer
from bot.settings import Settings


def add_backup(subparsers: Any) -> None:
    """Add the command to the command line."""
    words = "copy everything into one file while the service works"
    parser = subparsers.add_parser("backup", help=words)
    parser.add_argument("file", type=Path)
    add_database_option(parser)
    parser.set_defaults(run=run_backup)


def run_backup(args: argparse.Namespace) -> int:
    """Exit code 2 and one line where it cannot be done; no half of a backup is left behind."""
    unfinished = args.file.with_name(args.file.name + ".unfinished")
    try:
        if args.file.exists():
            raise CopyError(f"{args.file} is there already")
        sealer = Sealer(Settings.from_environment(os.environ).encryption_keys)
        unfinished.unlink(missing_ok=True)
        unfinished.touch(mode=0o600)
        with _plain_file(unfinished, sealer) as plain:
            copied = _copied(database_address(args.database), plain)
            if plain != unfinished:
                seal_backup(plain, unfinished, sealer)
        unfinished.rename(args.file)
    except (ValueError, OSError, SQLAlchemyError) as fault:
        for left in args.file.parent.glob(f"{unfinished.name}*"):
            left.unlink()
        print(f"bushpost backup: {str(fault).splitlines()[0]}", file=sys.stderr)
        return 2
    print(summed_up(copied))
    if sealer.on:
        print("It is encrypted, and worth nothing without the key: keep that elsewhere.")
    return 0


@contextmanager
def _plain_file(unfinished: Path, sealer: Sealer) -> Iterator[Path]:
    """Where the copy is written as it is: in its own place, or what is to be encrypted apart."""
    if not sealer.on:
        yield unfinished
        return
    with tempfile.TemporaryDirectory(prefix="bushpost-backup-") as folder:
        yield Path(folder) / "plain.sqlite3"


def _copied(address: str, file: Path) -> Copied:
    source = open_database(address, migrate=False)
    target = open_database(f"sqlite:///{file}")
    try:
        return copy_all(source, target, Bar().tell)
    finally:
        source.close()
        target.close()
