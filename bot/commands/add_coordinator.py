"""`bushpost add-coordinator NAME`: an account for the desk.

The password is asked for twice at a terminal, or read as one line from standard input; never
taken from the command line, where every user of the machine can see it.
"""

from __future__ import annotations

import argparse
import getpass
import sys
from datetime import UTC, datetime
from typing import Any

from bot.commands.database_address import add_database_option, database_address
from bot.service.accounts import ROLES, add_account
from bot.service.database import open_database


def add_add_coordinator(subparsers: Any) -> None:
    """Add the command to the command line."""
    words = "make an account for the coordinator's desk; the password is asked for"
    parser = subparsers.add_parser("add-coordinator", help=words)
    parser.add_argument("name")
    parser.add_argument(
        "--role", choices=ROLES, default="coordinator", help="(default: %(default)s)"
    )
    add_database_option(parser)
    parser.set_defaults(run=run_add_coordinator)


def run_add_coordinator(args: argparse.Namespace) -> int:
    """Make the account; exit code 2 and one line where that cannot be."""
    try:
        password = _password()
        database = open_database(database_address(args.database))
        account = add_account(database, args.name, password, datetime.now(UTC), args.role)
        database.close()
    except (ValueError, OSError) as fault:
        print(f"bushpost add-coordinator: {fault}", file=sys.stderr)
        return 2
    print(f"{account.name} may log in now.")
    return 0


def _password() -> str:
    if not sys.stdin.isatty():
        return sys.stdin.readline().rstrip("\r\n")
    password = getpass.getpass("Password: ")
    if getpass.getpass("Again: ") != password:
        raise ValueError("the two passwords differ")
    return password
