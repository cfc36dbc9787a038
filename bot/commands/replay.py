"""`bushpost replay FILE...`: plays transcripts and shows where the bot now talks differently.

--accept writes the bot's new lines into the files; the facts at their ends are never rewritten.
"""

from __future__ import annotations

import argparse
import difflib
import logging
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from bot.commands.loading import loaded_dialog, loaded_programme
from bot.demo.facts import differing_facts
from bot.demo.figures import figures
from bot.demo.play import Play, straight_into
from bot.demo.stage import open_stage
from bot.demo.transcript import Transcript, TranscriptError, parse, write
from bot.programme import Programme
from bot.shipped import shipped
from bot.talk.dialog import Dialog


def add_replay(subparsers: Any) -> None:
    """Add the command to the command line."""
    parser = subparsers.add_parser(
        "replay", help="play transcripts and show where the bot now talks differently"
    )
    parser.add_argument("files", nargs="*", type=Path, metavar="FILE", help="default: the demo's")
    parser.add_argument("--accept", action="store_true", help="write the bot's new lines down")
    parser.add_argument("--figures", action="store_true", help="what the talks cost")
    parser.add_argument("--programme", type=Path, help="a programme's folder (default: the demo's)")
    parser.add_argument("--dialogs", type=Path, help="a folder of dialogs (default: the shipped)")
    parser.set_defaults(run=run_replay)


def run_replay(args: argparse.Namespace) -> int:
    """Exit code 1 where any talk differs, 2 where a file cannot be used."""
    # A fault of ours is told as a fact that does not hold, not as a line of the log.
    logging.getLogger("bot").addHandler(logging.NullHandler())
    try:
        programme, dialog = loaded_programme(args.programme), loaded_dialog(args.dialogs)
        files = args.files or sorted(shipped("demo_conversations").glob("*.txt"))
        results = [_replay(file, programme, dialog, args.accept) for file in files]
    except (ValueError, OSError) as fault:
        print(f"bushpost replay: {fault}", file=sys.stderr)
        return 2
    if args.figures:
        print("\n".join(figures(talk for talk, _ in results)))
    same = sum(good for _, good in results)
    print(f"{same} of {len(results)} talks went as written")
    return 0 if same == len(results) else 1


def _replay(
    file: Path, programme: Programme, dialog: Dialog, accept: bool
) -> tuple[Transcript, bool]:
    written = _read(file)
    played, faults = replayed(written, programme, dialog)
    difference = "\n".join(differences(written, played))
    if accept and difference:
        file.write_text(write(played), encoding="utf-8")
        print(f"{file}: accepted")
    elif difference:
        print(f"{file}:\n{difference}")
    for fault in faults:
        print(f"{file}: {fault}")
    return played, not faults and (accept or not difference)


def _read(file: Path) -> Transcript:
    try:
        return parse(file.read_text(encoding="utf-8"))
    except TranscriptError as fault:
        raise TranscriptError(f"{file}: {fault}") from fault


def replayed(
    transcript: Transcript, programme: Programme, dialog: Dialog
) -> tuple[Transcript, tuple[str, ...]]:
    """The transcript as it goes now, on a database of its own, and the facts that do not hold."""
    with tempfile.TemporaryDirectory(prefix="bushpost-") as folder:
        stage = open_stage(Path(folder) / "replay.sqlite3", programme, dialog)
        try:
            play = Play(transcript, stage, straight_into(stage))
            return play.run(), tuple(differing_facts(play))
        finally:
            stage.database.close()


def differences(written: Transcript, played: Transcript) -> Iterator[str]:
    """The two conversations against each other, as a unified diff without its heading."""
    old, new = write(written).splitlines(), write(played).splitlines()
    diff = difflib.unified_diff(old, new, lineterm="", n=2)
    yield from (row for row in diff if not row.startswith(("---", "+++")))
