"""`bushpost read`: one JSON object a text, as reading/shape.py documents it."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, get_args

import msgspec
from msgspec import Struct

from bot.programme import FILES, Programme, load_programme
from bot.reading.read import read
from bot.reading.scene import Order, Scene
from bot.reading.shape import shape
from bot.reading.words import Words, load_words
from bot.scenes import anywhere, frame_of
from bot.shipped import dialog_files, shipped


class InputError(ValueError):
    """What was given on the command line or on standard input cannot be used."""


class Line(Struct, frozen=True):
    """One line of --jsonl: a text, and optionally its own clock, date order and language."""

    text: str
    now: datetime | None = None
    order: Order | None = None
    language: str = ""


def add_read(subparsers: Any) -> None:
    """Add the command to the command line."""
    parser = subparsers.add_parser("read", help="read texts and print what was understood as JSON")
    parser.add_argument("text", nargs="?", help="the text; without it, one a line from stdin")
    parser.add_argument("--programme", type=Path, help="a programme's folder (default: the demo's)")
    parser.add_argument("--now", type=_moment, help="when the texts were sent, ISO 8601")
    parser.add_argument("--anywhere", action="store_true", help="no area, no age limit")
    parser.add_argument("--order", choices=get_args(Order), help="order of day and month")
    parser.add_argument("--jsonl", action="store_true", help="one JSON object a line on stdin")
    parser.set_defaults(run=run_read)


def run_read(args: argparse.Namespace) -> int:
    """Print one object a text; exit code 2 and one line on stderr where the input is at fault."""
    try:
        frame, words = _frame(args.programme)
        for line in _lines(args):
            reading = read(line.text, _scene(frame, line, args))
            sys.stdout.write(json.dumps(shape(reading, words), ensure_ascii=False) + "\n")
    except (ValueError, OSError) as fault:
        sys.stdout.flush()
        print(f"bushpost read: {fault}", file=sys.stderr)
        return 2
    return 0


def read_folder(folder: Path) -> Programme:
    """The programme in a folder."""
    return load_programme({n: (folder / n).read_text(encoding="utf-8") for n in FILES})


def _frame(folder: Path | None) -> tuple[Scene, Words]:
    words = load_words(dialog_files())
    programme = read_folder(folder or shipped("demo_conversations") / "programme")
    return frame_of(programme, words), words


def _moment(text: str) -> datetime:
    moment = datetime.fromisoformat(text)
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)


def _lines(args: argparse.Namespace) -> Iterator[Line]:
    if args.jsonl:
        source = [args.text] if args.text is not None else sys.stdin
        for number, row in enumerate(source, 1):
            yield _line(number, row)
        return
    for row in [args.text] if args.text is not None else sys.stdin:
        yield Line(row.rstrip("\n"))


def _line(number: int, row: str) -> Line:
    try:
        return msgspec.json.decode(row, type=Line)
    except (msgspec.DecodeError, UnicodeError) as fault:
        raise InputError(f"line {number}: {fault}") from fault


def _scene(frame: Scene, line: Line, args: argparse.Namespace) -> Scene:
    now = line.now or args.now or datetime.now(UTC)
    if now.tzinfo is None:
        now = now.replace(tzinfo=UTC)
    order = line.order or args.order or frame.order
    scene = anywhere(frame, now) if args.anywhere else frame.at(now)
    languages = (line.language,) if line.language in frame.words.languages else scene.languages
    return replace(scene, order=order, languages=languages)
