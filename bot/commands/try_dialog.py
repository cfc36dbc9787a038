"""`bushpost try FOLDER`: plays stored talks by a changed folder of dialogs, and sends nothing.

What each talk would say otherwise is printed, and in sum the change in texts, segments and
hand-overs to a person.
"""

from __future__ import annotations

import argparse
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from bot.commands.database_address import add_database_option, database_address
from bot.commands.loading import loaded_dialog, loaded_programme
from bot.service.database import open_database
from bot.service.trial import Trial


def add_try(subparsers: Any) -> None:
    """Add the command to the command line."""
    words = "play the stored talks of the last weeks by a changed folder of dialogs"
    parser = subparsers.add_parser("try", help=words)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--weeks", type=int, default=8, help="how far back (default: %(default)s)")
    parser.add_argument("--programme", type=Path, help="a programme's folder (default: the demo's)")
    parser.add_argument("--dialogs", type=Path, help="the dialogs in force (default: the shipped)")
    add_database_option(parser)
    parser.set_defaults(run=run_try)


def run_try(args: argparse.Namespace) -> int:
    """Exit code 0 where every talk goes as it did, 1 where any parts, 2 where it cannot begin."""
    trial = Trial(args.weeks)
    try:
        programme = loaded_programme(args.programme)
        dialogs = loaded_dialog(args.dialogs), loaded_dialog(args.folder)
        database = open_database(database_address(args.database))
        trial.run(database, dialogs, programme, datetime.now(UTC))
        database.close()
    except (ValueError, OSError) as fault:
        print(f"bushpost try: {fault}", file=sys.stderr)
        return 2
    for parting in trial.partings:
        print(f"{parting.code}:", *parting.diff, sep="\n")
    if trial.fault:
        print(f"bushpost try: {trial.fault}", file=sys.stderr)
        return 2
    print(
        f"{len(trial.partings)} of {trial.done} talks part: {trial.texts:+d} texts, "
        f"{trial.segments:+d} segments, {trial.handovers:+d} hand-overs"
    )
    return 1 if trial.partings else 0
