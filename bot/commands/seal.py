"""`bushpost seal`: encrypts stored photos and second factors with the first key.

The service goes on working. For the day when a key is set, and for the day when one is changed: put
the new key before the old one, start the service with both, seal, and take the old one away.
"""

from __future__ import annotations

import argparse
import os
import sys
from typing import Any

from sqlalchemy.exc import SQLAlchemyError

from bot.commands.database_address import add_database_option, database_address
from bot.service.database import open_database
from bot.service.resealing import reseal
from bot.service.sealing import Sealer
from bot.settings import Settings


def add_seal(subparsers: Any) -> None:
    """Add the command to the command line."""
    words = "encrypt stored photos and second factors with the first key"
    parser = subparsers.add_parser("seal", help=words)
    add_database_option(parser)
    parser.set_defaults(run=run_seal)


def run_seal(args: argparse.Namespace) -> int:
    """Exit code 2 and one line where it cannot be done, 1 where some photos stay as they were."""
    try:
        sealer = Sealer(Settings.from_environment(os.environ).encryption_keys)
        if not sealer.on:
            raise ValueError("BUSHPOST_ENCRYPTION_KEY is not set")
        database = open_database(database_address(args.database))
        done = reseal(database, sealer)
        database.close()
    except (ValueError, OSError, SQLAlchemyError) as fault:
        print(f"bushpost seal: {str(fault).splitlines()[0]}", file=sys.stderr)
        return 2
    print(f"{done.now} photos and second factors encrypted, {done.already} photos were so already.")
    if done.shut:
        print(f"{done.shut} open with none of the keys that are set, and stay as they were.")
    return 1 if done.shut else 0
