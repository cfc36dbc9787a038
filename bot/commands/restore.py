"""`bushpost restore FILE`: a backup into an empty database of either kind."""

from __future__ import annotations

import argparse
import getpass
import os
import sys
from pathlib import Path
from typing import Any

from sqlalchemy.exc import SQLAlchemyError

from bot.commands.copying import Bar, summed_up
from bot.commands.database_address import add_database_option, database_address
from bot.service.copying import copy_all, is_backup_sealed, opened_backup
from bot.service.database import open_database
from bot.service.sealing import Sealer
from bot.settings import Settings, encryption_keys


def add_restore(subparsers: Any) -> None:
    """Add the command to the command line."""
    parser = subparsers.add_parser("restore", help="put a backup into an empty database")
    parser.add_argument("file", type=Path)
    add_database_option(parser)
    parser.set_defaults(run=run_restore)


def run_restore(args: argparse.Namespace) -> int:
    """Exit code 2 and one line where it cannot be done; the database is empty then as before."""
    try:
        with opened_backup(args.file, _sealer(args.file)) as source:
            target = open_database(database_address(args.database))
            copied = copy_all(source, target, Bar().tell)
            target.close()
    except (ValueError, OSError, SQLAlchemyError) as fault:
        print(f"bushpost restore: {str(fault).splitlines()[0]}", file=sys.stderr)
        return 2
    print(summed_up(copied))
    return 0


def _sealer(file: Path) -> Sealer:
    """The keys that are set; where none is and the backup needs one, it is asked for."""
    sealer = Sealer(Settings.from_environment(os.environ).encryption_keys)
    if sealer.on or not file.is_file() or not is_backup_sealed(file):
        return sealer
    if not sys.stdin.isatty():
        raise ValueError(f"{file} is encrypted: set BUSHPOST_ENCRYPTION_KEY")
    return Sealer(encryption_keys(getpass.getpass("The key of this backup: ")))
