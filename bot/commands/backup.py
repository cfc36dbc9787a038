"""`bushpost backup FILE`: everything in one SQLite file, while the service goes on working."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any

from sqlalchemy.exc import SQLAlchemyError

from bot.commands.copying import Bar, summed_up
from bot.commands.database_address import add_database_option, database_address
from bot.service.copying import CopyError, copy_all
from bot.service.database import open_database


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
        unfinished.unlink(missing_ok=True)
        unfinished.touch(mode=0o600)
        source = open_database(database_address(args.database), migrate=False)
        target = open_database(f"sqlite:///{unfinished}")
        copied = copy_all(source, target, Bar().tell)
        source.close()
        target.close()
        unfinished.rename(args.file)
    except (ValueError, OSError, SQLAlchemyError) as fault:
        for left in args.file.parent.glob(f"{unfinished.name}*"):
            left.unlink()
        print(f"bushpost backup: {str(fault).splitlines()[0]}", file=sys.stderr)
        return 2
    print(summed_up(copied))
    return 0
