"""`bushpost erase NUMBER-OR-CODE`: blanks a hunter's words, number and name; the finds stay."""

from __future__ import annotations

import argparse
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from bot.commands.database_address import add_database_option, database_address
from bot.commands.loading import loaded_programme
from bot.service import audit
from bot.service.database import open_database
from bot.service.erasing import erase, hunters_of

BY = "command line"


def add_erase(subparsers: Any) -> None:
    """Add the command to the command line."""
    words = "blank a hunter's words, number and name on request; it cannot be undone"
    parser = subparsers.add_parser("erase", help=words)
    parser.add_argument("hunter", metavar="NUMBER-OR-CODE")
    parser.add_argument("--yes", action="store_true", help="do it without asking")
    parser.add_argument("--programme", type=Path, help="a programme's folder (default: the demo's)")
    add_database_option(parser)
    parser.set_defaults(run=run_erase)


def run_erase(args: argparse.Namespace) -> int:
    """Erase; exit code 1 if it was not wanted after all, 2 where it cannot be done."""
    try:
        programme = loaded_programme(args.programme)
        database = open_database(database_address(args.database))
        hunters = hunters_of(database, programme, args.hunter)
        if not (args.yes or _is_wanted(len(hunters))):
            return 1
        now = datetime.now(UTC)
        erased = erase(database, hunters, now)
        audit.note(database, now, BY, "people.erase", f"{erased.talks} talks")
        database.close()
    except (ValueError, LookupError, OSError) as fault:
        print(f"bushpost erase: {fault}", file=sys.stderr)
        return 2
    print(f"Erased: {erased.texts} texts of {erased.talks} talks are blank.")
    return 0


def _is_wanted(count: int) -> bool:
    print(f"{count} hunter{'s' if count > 1 else ''} by that name. This cannot be undone.")
    try:
        return input("Write erase to do it: ").strip().lower() == "erase"
    except EOFError:
        return False
