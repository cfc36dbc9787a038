"""`bushpost move --to URL`: takes a programme from SQLite to PostgreSQL, or from any to any.

Nothing is written to the original, and while the copy is made nobody else writes to it either:
carriers try again later. The service is then started with the new address.
"""

from __future__ import annotations

import argparse
import sys
from typing import Any

from sqlalchemy.exc import SQLAlchemyError

from bot.commands.copying import Bar, summed_up
from bot.commands.database_address import add_database_option, database_address
from bot.service.copying import copy_all
from bot.service.database import open_database


def add_move(subparsers: Any) -> None:
    """Add the command to the command line."""
    parser = subparsers.add_parser("move", help="copy everything into another, empty database")
    parser.add_argument("--to", required=True, metavar="URL", help="where everything shall be")
    add_database_option(parser)
    parser.set_defaults(run=run_move)


def run_move(args: argparse.Namespace) -> int:
    """Exit code 2 and one line where it cannot be done; the target is empty then as before."""
    try:
        address = database_address(args.database)
        if address == args.to:
            raise ValueError("the two addresses are the same")
        source, target = open_database(address), open_database(args.to)
        copied = copy_all(source, target, Bar().tell, hold=True)
        source.close()
        target.close()
    except (ValueError, OSError, SQLAlchemyError) as fault:
        print(f"bushpost move: {str(fault).splitlines()[0]}", file=sys.stderr)
        return 2
    print(summed_up(copied))
    print("Start the service with the new address as BUSHPOST_DATABASE, and put the old file away.")
    return 0
