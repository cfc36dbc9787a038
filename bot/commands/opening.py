"""A programme's folder, a database and the environment -> a service that is ready to be used."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy.exc import OperationalError

from bot.commands.database_address import add_database_option
from bot.commands.loading import loaded_dialog, loaded_programme
from bot.commands.secret_checks import DEMO_SECRETS, KEY_NAME, secret_faults
from bot.fieldwork.travel import network_of
from bot.gateways.protocol import Gateway
from bot.gateways.registry import open_gateways
from bot.service.database import DatabaseError, open_database
from bot.service.findable import keep_missing
from bot.service.intake import Intake
from bot.service.links import Links
from bot.service.roster import import_roster, roster
from bot.service.wiring import open_intake
from bot.settings import Settings
from bot.talk.dialog import Dialog


@dataclass(frozen=True, slots=True)
class Opened:
    """A service: its door, its gateways, the dialog in force, and the key of its sessions."""

    intake: Intake
    gateways: Mapping[str, Gateway]
    dialog: Dialog
    secret_key: str = ""


def add_service_options(parser: argparse.ArgumentParser) -> None:
    """The options of every command that opens a service."""
    parser.add_argument("--programme", type=Path, help="a programme's folder (default: the demo's)")
    parser.add_argument("--dialogs", type=Path, help="a folder of dialogs (default: the shipped)")
    add_database_option(parser)


def open_service(
    args: argparse.Namespace,
    settings: Settings,
    env: Mapping[str, str],
    *,
    public: bool = False,
) -> Opened:
    """Load and connect. The roster is imported where the database has none: it owns the people
    from then on. Finds older than the search become searchable. ValueError names what is missing
    or wrong."""
    programme = loaded_programme(args.programme or settings.programme)
    if programme.tracks is not None:
        # Now, and not while the first find holds its transaction open.
        network_of(programme.tracks)
    dialog = loaded_dialog(args.dialogs or settings.dialogs)
    named = {KEY_NAME, *(n for row in programme.head.gateways.values() for n in row.secrets)}
    full = with_demo_secrets(env, named, public=public)
    gateways = open_gateways(programme.head.gateways, full)
    database = open_database(args.database or settings.database)
    links = Links(full[KEY_NAME], settings.public_url)
    intake = open_intake(database, dialog, programme, links=links)
    _make_ready(intake)
    return Opened(intake, gateways, dialog, full[KEY_NAME])


def _make_ready(intake: Intake) -> None:
    """Import the roster where the database has nobody yet, and the words of old finds."""
    database = intake.database
    try:
        with database.read() as connection:
            manned = bool(roster(connection).members)
        if not manned:
            import_roster(database, intake.programme.roster)
        keep_missing(database, intake.rules.describe)
    except OperationalError as fault:
        # As when its server is killed between two questions: one line, and the next start.
        raise DatabaseError(f"the database went away: {type(fault.orig).__name__}") from None


def with_demo_secrets(
    env: Mapping[str, str], named: Iterable[str], *, public: bool
) -> dict[str, str]:
    """The environment with the demo's secrets where those named are not set. ValueError if the
    service is to be public and one is missing, the demo's or weak."""
    wanted = sorted(named)
    faults = [f"{name} {why}" for name, why in secret_faults(env, wanted)]
    if public and faults:
        raise ValueError(f"--public needs secrets of your own: {'; '.join(faults)}")
    unset = [n for n in wanted if not env.get(n, "").strip() and n in DEMO_SECRETS]
    for name in unset:
        words = f"bushpost: {name} is not set; the demo's stands in, for this machine only"
        print(words, file=sys.stderr)
    return {**env, **{name: DEMO_SECRETS[name] for name in unset}}
