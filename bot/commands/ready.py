"""`bushpost ready`: what is unsafe or missing before the service goes live.

One finding a line, and a summary; exit code 1 where there is any, 2 where nothing can be said.
"""

from __future__ import annotations

import argparse
import os
import sys
from datetime import UTC, datetime
from typing import Any

from bot.commands.loading import loaded_dialog, loaded_programme
from bot.commands.opening import add_service_options
from bot.commands.readiness import lacks
from bot.settings import Settings

ENCRYPTED = "Photos and backups are encrypted by the program."
NOT_ENCRYPTED = (
    "Photos and backups are not encrypted by the program: that is left to the disks. "
    "BUSHPOST_ENCRYPTION_KEY turns it on."
)


def add_ready(subparsers: Any) -> None:
    """Add the command to the command line."""
    parser = subparsers.add_parser("ready", help="tell what is unsafe or missing before going live")
    add_service_options(parser)
    parser.set_defaults(run=run_ready)


def run_ready(args: argparse.Namespace) -> int:
    """Print what is not right; the exit code tells whether anything is."""
    try:
        settings = Settings.from_environment(os.environ)
        programme = loaded_programme(args.programme or settings.programme)
        loaded_dialog(args.dialogs or settings.dialogs)
        address = args.database or settings.database
        found = lacks(programme, settings, os.environ, address, datetime.now(UTC))
    except (ValueError, OSError) as fault:
        print(f"bushpost ready: {fault}", file=sys.stderr)
        return 2
    for lack in found:
        print(f"{lack.where}: {lack.what}")
    who = settings.second_factor or "nobody"
    print(f"A second factor is asked of {who} at the desk (BUSHPOST_SECOND_FACTOR).")
    print(ENCRYPTED if settings.encryption_keys else NOT_ENCRYPTED)
    print(f"Not ready: {len(found)} to be put right." if found else "Ready.")
    return 1 if found else 0
