"""`bushpost evidence`: what all finds say about one zone, as one JSON object.

Probabilities are null where they are not available: a confirmed positive, a suspect that waits.
"""

from __future__ import annotations

import argparse
import sys
from datetime import datetime, time, timedelta
from pathlib import Path
from typing import Any

import msgspec
from msgspec.structs import replace

from bot.commands.database_address import add_database_option, database_address
from bot.commands.loading import loaded_programme
from bot.evidence.ageing import load_teeth
from bot.evidence.programme_account import account_of
from bot.evidence.sentences import load_sentences
from bot.evidence.zones import Assumptions
from bot.programme import Evidence, Programme
from bot.service.database import open_database
from bot.service.evidence_shelf import Gathered, gather
from bot.shipped import dialog_files

ASSUMED = {
    "pstar": "design prevalence: the share of the zone's cells that hold the disease",
    "catch": "chance that an animal living right there would have caught it",
    "reach": "factor of the radius that an animal covers",
    "se": "factor of the sensitivity with which it was looked at",
    "prior": "probability before any evidence that less than that is there",
    "p_intro": "probability of introduction in a month",
}
"""The assumptions that may be set, in words."""


def add_evidence(subparsers: Any) -> None:
    """Add the command to the command line."""
    parser = subparsers.add_parser("evidence", help="print what finds say about a zone as JSON")
    parser.add_argument(
        "--programme", type=Path, metavar="DIR", help="a programme's folder (default: the demo's)"
    )
    parser.add_argument("--zone", required=True, metavar="NAME", help="the zone's name")
    parser.add_argument(
        "--until", required=True, metavar="DAY", help="the last day that counts, YYYY-MM-DD"
    )
    parser.add_argument(
        "--cell-km", type=float, metavar="KM", help="side of a cell (default: the programme's)"
    )
    for name, words in ASSUMED.items():
        default = "the programme's" if name in Evidence.__struct_fields__ else "1"
        parser.add_argument(
            "--" + name.replace("_", "-"),
            type=float,
            metavar="N",
            help=f"{words} (default: {default})",
        )
    add_database_option(parser)
    parser.set_defaults(run=run_evidence)


def run_evidence(args: argparse.Namespace) -> int:
    """Print one object; exit code 2 and one line on stderr where something given is at fault."""
    try:
        programme = loaded_programme(args.programme)
        names = [z.name for z in programme.zones]
        if args.zone not in names:
            raise ValueError(f"--zone: no {args.zone!r} here, but {', '.join(names)}")
        until = _end_of(args.until, programme)
        book = load_sentences(dialog_files()["evidence.toml"])
        own = programme.head.evidence
        gathered = _gathered(args.database, until, programme)
        account = account_of(
            programme,
            book,
            gathered.kept,
            until,
            ages=gathered.ages,
            assumptions=_assumptions(args, programme),
            cell_km=own.cell_km if args.cell_km is None else args.cell_km,
        )[names.index(args.zone)]
    except (ValueError, OSError) as fault:
        print(f"bushpost evidence: {fault}", file=sys.stderr)
        return 2
    answer = msgspec.to_builtins(account) | {"unplaced": gathered.unplaced}
    print(msgspec.json.encode(answer).decode())
    return 0


def _end_of(day: str, programme: Programme) -> datetime:
    try:
        date = datetime.strptime(day, "%Y-%m-%d").date()
    except ValueError:
        raise ValueError(f"--until: {day!r} is not like 2026-11-25") from None
    return datetime.combine(date + timedelta(days=1), time(), programme.zone)


def _assumptions(args: argparse.Namespace, programme: Programme) -> Assumptions:
    """The programme's own, as its page has them, but for what was given."""
    given = {name: getattr(args, name) for name in ASSUMED if getattr(args, name) is not None}
    own = programme.head.evidence
    return replace(
        Assumptions(pstar=own.pstar, catch=own.catch, prior=own.prior, p_intro=own.p_intro),
        **given,
    )


def _gathered(address: str | None, until: datetime, programme: Programme) -> Gathered:
    database = open_database(database_address(address))
    try:
        teeth = load_teeth(dialog_files()["teeth.toml"])
        return gather(database, until, teeth, programme.head.evidence.teeth_region)
    finally:
        database.close()
