"""`bushpost export NUMBER-OR-CODE`: prints all that is held of one hunter, as JSON."""

from __future__ import annotations

import argparse
import os
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from bot.commands.database_address import add_database_option, database_address
from bot.commands.loading import loaded_programme
from bot.service import audit
from bot.service.database import open_database
from bot.service.erasing import export, hunters_of
from bot.service.sealing import Sealer
from bot.settings import Settings

BY = "command line"


def add_export(subparsers: Any) -> None:
    """Add the command to the command line."""
    parser = subparsers.add_parser("export", help="print all that is held of one hunter")
    parser.add_argument("hunter", metavar="NUMBER-OR-CODE")
    parser.add_argument("--programme", type=Path, help="a programme's folder (default: the demo's)")
    add_database_option(parser)
    parser.set_defaults(run=run_export)


def run_export(args: argparse.Namespace) -> int:
    """Print; exit code 2 and one line where nobody is known by that name."""
    try:
        programme = loaded_programme(args.programme)
        database = open_database(database_address(args.database))
        sealer = Sealer(Settings.from_environment(os.environ).encryption_keys)
        print(export(database, hunters_of(database, programme, args.hunter), sealer))
        audit.note(database, datetime.now(UTC), BY, "people.export", "one hunter")
        database.close()
    except (ValueError, LookupError, OSError) as fault:
        print(f"bushpost export: {fault}", file=sys.stderr)
        return 2
    return 0
