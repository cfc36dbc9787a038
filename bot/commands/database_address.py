"""Which database a command works on: --database, else BUSHPOST_DATABASE, else a file here."""

from __future__ import annotations

import argparse
import os

from bot.settings import USUAL_DATABASE, Settings


def add_database_option(parser: argparse.ArgumentParser) -> None:
    """The option that every command of the service has."""
    usual = f"default: BUSHPOST_DATABASE, else {USUAL_DATABASE}"
    parser.add_argument("--database", help=f"sqlite:///FILE or postgresql://... ({usual})")


def database_address(given: str | None) -> str:
    """The address to open; SettingsError where the environment is at fault."""
    return given or Settings.from_environment(os.environ).database
