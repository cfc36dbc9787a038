"""`bushpost deliver`: work off what is due. Texts out of the outbox, and waits that ran out.

`serve` does the same in a thread of its own; with several machines, run one or more of these and
`serve --no-deliver`. They share the work by what stands in the database.
"""

from __future__ import annotations

import argparse
import logging
import os
import sys
import threading
from collections.abc import Callable
from datetime import datetime
from typing import Any

from bot.commands.opening import Opened, add_service_options, open_service
from bot.service.limits import limits_of
from bot.service.listening import lines_of
from bot.service.logs import fault_code, start_logging
from bot.service.outbox import SENDERS, USUAL, Pace, Share, deliver
from bot.service.retention import Daily, blank_old
from bot.service.tallies import forget_over
from bot.settings import Settings

LOG = logging.getLogger(__name__)
PAUSE_S = 0.1
"""Between two looks at an idle outbox: half of it is what a text waits on average."""
PAUSE_AFTER_FAULT_S = 2.0
AT_ONCE = 2 * SENDERS
"""Texts of one claim: few, so that what is withdrawn meanwhile seldom still goes out."""


def add_deliver(subparsers: Any) -> None:
    """Add the command to the command line."""
    parser = subparsers.add_parser("deliver", help="send what is due and wake what waits")
    add_service_options(parser)
    parser.add_argument("--once", action="store_true", help="work off what is due now, and end")
    parser.set_defaults(run=run_deliver)


def run_deliver(args: argparse.Namespace) -> int:
    """Work until interrupted, or once; exit code 2 and one line where it cannot begin."""
    try:
        opened = open_service(args, Settings.from_environment(os.environ), os.environ)
    except (ValueError, OSError) as fault:
        print(f"bushpost deliver: {fault}", file=sys.stderr)
        return 2
    if args.once:
        at = opened.intake.database.now()
        print(f"{work_once(opened, at)} done")
        daily_of(opened).run_if_due(at)
        return 0
    start_logging()
    keep_working(opened, opened.intake.database.now, threading.Event())
    return 0


def keep_working(
    opened: Opened, now: Callable[[], datetime], stop: threading.Event, pace: Pace = USUAL
) -> None:
    """Work until told to stop. Whatever goes wrong is logged and tried again: a database that is
    away is waited for, and no fault of ours may leave everybody's texts lying."""
    daily = daily_of(opened)
    while not stop.is_set():
        try:
            at = now()
            daily.run_if_due(at)
            idle = work_once(opened, at, pace) == 0
            pause = PAUSE_S if idle else 0.0
        except Exception as fault:
            LOG.error("delivery_fault", extra={"fault": fault_code(fault)})
            pause = PAUSE_AFTER_FAULT_S
        stop.wait(pause)


def daily_of(opened: Opened) -> Daily:
    """What is done once a day: what is older than the programme keeps is blanked, and what
    strangers tried long ago is forgotten."""
    privacy, database = opened.intake.programme.head.privacy, opened.intake.database

    def work(now: datetime) -> None:
        blank_old(database, privacy, now)
        forget_over(database, now)

    return Daily(work)


def work_once(opened: Opened, now: datetime, pace: Pace = USUAL) -> int:
    """Wake what is due, then send; how many waits and texts were done with."""
    woken = opened.intake.run_due(now)
    database, gateways = opened.intake.database, opened.gateways
    tally = deliver(
        *(database, gateways, now, AT_ONCE),
        pace=pace,
        senders=SENDERS,
        limits=limits_of(opened.intake.programme),
        share=Share(lines_of(gateways)),
    )
    return woken + tally.sent + tally.failed + tally.held
