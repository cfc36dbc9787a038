"""Which database a command works on: --database, else BUSHPOST_DATABASE, else a file here."""

from __future__ import annotations

import argparse
import os

USUAL = "sqlite:///bushpost.sqlite3"


def add_database_option(parser: argparse.ArgumentParser) -> None:
    """The option that every command of the service has."""
    parser.add_argument(
        "--database",
        help=f"sqlite:///FILE or postgresql://... (default: BUSHPOST_DATABASE, else {USUAL})",
    )


def database_address(given: str | None) -> str:
    """The address to open."""
    return given or os.environ.get("BUSHPOST_DATABASE", "").strip() or USUAL
