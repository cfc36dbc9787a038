"""`bushpost check [DIR]`: what is wrong with the dialogs and with a programme's folder.

Findings and a one-line summary; with --all every sentence with its price too. Exit code 1 where
a finding is an error, 2 where a file cannot be read at all.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from bot.checking import Finding, Row, check, sentence_rows, staff_rows
from bot.commands.loading import loaded_dialog, loaded_programme
from bot.fieldwork.staff_dialog import load_staff_dialog


def add_check(subparsers: Any) -> None:
    """Add the command to the command line."""
    parser = subparsers.add_parser("check", help="find what is wrong with dialogs or a programme")
    parser.add_argument(
        "programme", nargs="?", type=Path, metavar="DIR", help="default: the demo's"
    )
    parser.add_argument("--dialogs", type=Path, help="a folder of dialogs (default: the shipped)")
    parser.add_argument("--all", action="store_true", help="show every sentence and its price")
    parser.set_defaults(run=run_check)


def run_check(args: argparse.Namespace) -> int:
    """Print the findings; the exit code tells whether any of them is an error."""
    try:
        programme, dialog = loaded_programme(args.programme), loaded_dialog(args.dialogs)
        staff = load_staff_dialog(dialog.files)
    except (ValueError, OSError) as fault:
        print(f"bushpost check: {fault}", file=sys.stderr)
        return 2
    rows = (*sentence_rows(dialog, programme), *staff_rows(staff, programme))
    if args.all:
        print_rows(rows)
    findings = check(dialog, staff, programme)
    for finding in findings:
        print(f"{finding.weight}: {finding.where}: {finding.what}")
    print(summary(findings, rows))
    return 1 if any(f.weight == "error" for f in findings) else 0


def print_rows(rows: Iterable[Row]) -> None:
    """The table of sentences: segments, language, key, and the text at its longest."""
    for row in rows:
        print(f"{row.segments}  {row.language:<3} {row.key:<24} {row.text}")


def summary(findings: tuple[Finding, ...], rows: tuple[Row, ...]) -> str:
    """One line: how much was looked at and what was found."""
    errors = sum(f.weight == "error" for f in findings)
    languages = len({row.language for row in rows})
    most = max((row.segments for row in rows), default=0)
    return (
        f"{len(rows)} sentences in {languages} language{'s' * (languages != 1)}, "
        f"at most {most} segments in one: {errors} errors, {len(findings) - errors} warnings"
    )
