"""`bushpost rehearse`: throws a season's finds at a programme, to see whether its roster is enough.

The first row has the finds that were asked for; three more have as many as fill 50, 80 and 95 % of
what the roster can take on. Nothing is stored and nobody is sent a text.
"""

from __future__ import annotations

import argparse
import sys
from datetime import date
from pathlib import Path
from typing import Any

from bot.commands.loading import loaded_dialog, loaded_programme
from bot.fieldwork.staff_dialog import StaffDialog, load_staff_dialog
from bot.programme import Programme
from bot.rehearsal.hindsight import best_driven, driven
from bot.rehearsal.playing import Rehearsal
from bot.rehearsal.season import Habits, capacity, draw_finds, staff_with_bounds
from bot.rehearsal.summary import HEADING, Summary, line, reasons, summed

LOADS = (0.5, 0.8, 0.95)


def add_rehearse(subparsers: Any) -> None:
    """Add the command to the command line."""
    parser = subparsers.add_parser("rehearse", help="throw a season's finds at a programme")
    parser.add_argument("--days", type=int, default=30)
    parser.add_argument("--finds", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--start", type=date.fromisoformat, default=date(2026, 11, 2))
    parser.add_argument("--jobs-a-day", type=int, default=Habits().jobs_a_day)
    parser.add_argument("--programme", type=Path, help="a programme's folder (default: the demo's)")
    parser.set_defaults(run=run_rehearse)


def run_rehearse(args: argparse.Namespace) -> int:
    """Print a row of figures for each load; exit code 2 where something given is at fault."""
    try:
        if min(args.days, args.finds, args.jobs_a_day) < 1:
            raise ValueError("--days, --finds and --jobs-a-day are at least 1")
        programme = loaded_programme(args.programme)
        dialog = load_staff_dialog(loaded_dialog(None).files)
    except (ValueError, OSError) as fault:
        print(f"bushpost rehearse: {fault}", file=sys.stderr)
        return 2
    habits = Habits(jobs_a_day=args.jobs_a_day)
    most = capacity(staff_with_bounds(programme, habits), programme, args.start, args.days)
    print(f"{programme.head.name}: {args.days} days, seed {args.seed}; the roster can take {most}")
    print(HEADING)
    for count in (args.finds, *(round(load * most) for load in LOADS)):
        row = rehearsed(programme, dialog, habits, args.seed, args.start, args.days, count)
        print("\n".join(filter(None, (line(row), reasons(row)))), flush=True)
    return 0


def rehearsed(
    programme: Programme,
    dialog: StaffDialog,
    habits: Habits,
    seed: int,
    start: date,
    days: int,
    count: int,
) -> Summary:
    """One season of so many finds, played and weighed against hindsight."""
    people = staff_with_bounds(programme, habits)
    finds = draw_finds(seed, programme, start, days, count)
    rehearsal = Rehearsal(programme, dialog, people, habits, seed)
    played = rehearsal.run(finds, lambda done: _progress(done, count))
    most = capacity(people, programme, start, days)
    best = best_driven(played, people, programme, habits, seed)
    return summed(played, most, driven(played), best)


def _progress(done: int, of: int) -> None:
    """A bar on standard error, redrawn at every hundredth."""
    if done == of or done % max(1, of // 100) == 0:
        bar = "#" * (40 * done // of)
        end = "\n" if done == of else ""
        print(f"\r[{bar:<40}] {done}/{of} finds", end=end, file=sys.stderr, flush=True)
