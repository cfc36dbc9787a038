"""`bushpost backup FILE`: everything in one SQLite file, while the service goes on working.

With a key the file is encrypted; the plain copy is made in this machine's temporary folder first,
and never where the file is to lie.
"""

from __future__ import annotations

import argparse
import os
import sys
from pathlib import Path
from typing import Any

from sqlalchemy.exc import SQLAlchemyError

from bot.commands.copying import Bar, summed_up
from bot.commands.database_address import add_database_option, database_address
from bot.commands.unfinished import finished
from bot.service.copying import Copied, copy_all
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
    try:
        sealer = Sealer(Settings.from_environment(os.environ).encryption_keys)
        with finished(args.file, sealer) as plain:
            copied = _copied(database_address(args.database), plain)
    except (ValueError, OSError, SQLAlchemyError) as fault:
        print(f"bushpost backup: {str(fault).splitlines()[0]}", file=sys.stderr)
        return 2
    print(summed_up(copied))
    if sealer.on:
        print("It is encrypted, and worth nothing without the key: keep that elsewhere.")
    return 0


def _copied(address: str, file: Path) -> Copied:
    source = open_database(address, migrate=False)
    target = open_database(f"sqlite:///{file}")
    try:
        return copy_all(source, target, Bar().tell)
    finally:
        source.close()
        target.close()
