"""A programme's folder, a database and the environment -> a service that is ready to be used."""

from __future__ import annotations

import argparse
import base64
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from bot.commands.database_address import add_database_option, database_address
from bot.gateways.protocol import Gateway
from bot.gateways.registry import open_gateways
from bot.programme import load_programme, read_folder
from bot.service.database import open_database
from bot.service.intake import Intake
from bot.service.roster import import_roster
from bot.service.wiring import open_intake
from bot.shipped import dialog_files, shipped
from bot.talk.dialog import Dialog, load_dialog

DEMO_SECRETS = {
    "BUSHPOST_SECRET_KEY": "demo only: everybody can read this key in the program's own source",
    "BUSHPOST_PADDOCK_SECRET": "whsec_"
    + base64.b64encode(b"demo only, known to all the world").decode(),
}
"""What stands in for secrets that are not set, as long as nobody else can reach the service."""


@dataclass(frozen=True, slots=True)
class Opened:
    """A service: its door, its gateways, and the dialog in force."""

    intake: Intake
    gateways: Mapping[str, Gateway]
    dialog: Dialog


def add_service_options(parser: argparse.ArgumentParser) -> None:
    """The options of every command that opens a service."""
    parser.add_argument("--programme", type=Path, help="a programme's folder (default: the demo's)")
    parser.add_argument("--dialogs", type=Path, help="a folder of dialogs (default: the shipped)")
    add_database_option(parser)


def with_demo_secrets(env: Mapping[str, str], *, public: bool) -> dict[str, str]:
    """The environment with the demo's secrets where none are set. ValueError if the service is
    to be public and a secret is missing or is the demo's."""
    named = {name: env.get(name, "").strip() or secret for name, secret in DEMO_SECRETS.items()}
    known = [name for name, value in named.items() if value in DEMO_SECRETS.values()]
    if public and known:
        raise ValueError(f"--public needs secrets of your own: set {', '.join(known)}")
    for name in known:
        print(
            f"bushpost: {name} is not set; the demo's stands in, for this machine only",
            file=sys.stderr,
        )
    return {**env, **named}


def open_service(args: argparse.Namespace, env: Mapping[str, str]) -> Opened:
    """Load, connect, and take the roster over where the database has none of its own yet."""
    folder = args.programme or shipped("demo_conversations") / "programme"
    programme = load_programme(read_folder(folder))
    dialog = load_dialog(dialog_files(args.dialogs))
    gateways = open_gateways(programme.head.gateways, env)
    database = open_database(database_address(args.database))
    import_roster(database, programme.roster)
    return Opened(open_intake(database, dialog, programme), gateways, dialog)
