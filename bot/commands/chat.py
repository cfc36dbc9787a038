"""`bushpost chat`: talk to the bot in a terminal, as a hunter who has never texted before.

Everything runs in this process on a database that is thrown away afterwards. Empty lines are
nothing; "/wait 3h" lets time pass, "/quit" or the end of the input ends the talk.
"""

from __future__ import annotations

import argparse
import re
import sys
import tempfile
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from bot.commands.loading import loaded_dialog, loaded_programme
from bot.demo.stage import Stage, open_stage
from bot.gateways.paper import Note
from bot.messages import Heard
from bot.talk.segments import segments_of

HUNTER = "0491 570 110"
"""From the range that is kept for fiction; so is every number of the invented programme."""
_WAIT = re.compile(r"/wait (\d+)\s*(m|h|d)")
_UNITS = {"m": timedelta(minutes=1), "h": timedelta(hours=1), "d": timedelta(days=1)}


def add_chat(subparsers: Any) -> None:
    """Add the command to the command line."""
    parser = subparsers.add_parser("chat", help="talk to the bot in this terminal")
    parser.add_argument("--programme", type=Path, help="a programme's folder (default: the demo's)")
    parser.add_argument("--dialogs", type=Path, help="a folder of dialogs (default: the shipped)")
    parser.add_argument("--from", dest="number", default=HUNTER, help="the number that texts")
    parser.set_defaults(run=run_chat)


def run_chat(args: argparse.Namespace) -> int:
    """Talk until the input ends; exit code 2 where a file cannot be used."""
    try:
        programme, dialog = loaded_programme(args.programme), loaded_dialog(args.dialogs)
    except (ValueError, OSError) as fault:
        print(f"bushpost chat: {fault}", file=sys.stderr)
        return 2
    with tempfile.TemporaryDirectory(prefix="bushpost-") as folder:
        stage = open_stage(Path(folder) / "chat.sqlite3", programme, dialog)
        stage.clock.set(datetime.now(UTC))
        stage.clock.let_go()
        try:
            _talk(stage, args.number)
        finally:
            stage.database.close()
    return 0


def _talk(stage: Stage, number: str) -> None:
    print("You are the hunter. Text what you like; /wait 3h lets time pass, /quit ends.")
    for count, line in enumerate(iter(_typed, None)):
        words = line.strip()
        if words == "/quit":
            return
        if wait := _WAIT.fullmatch(words):
            until = stage.clock() + int(wait[1]) * _UNITS[wait[2]]
            for _, notes in stage.run_until(until):
                _show(notes)
        elif words:
            now = stage.clock()
            stage.intake.hear(Heard(f"chat-{count}", stage.carrier, number, words, now), now)
        _show(stage.send_all())


def _typed() -> str | None:
    try:
        return input("> " if sys.stdin.isatty() else "")
    except EOFError:
        return None


def _show(notes: Iterable[Note]) -> None:
    for note in notes:
        count = segments_of(note.body)
        print(f"  to {note.address.number} ({count} segment{'s' * (count != 1)}): {note.body}")
