"""`bushpost carry NAME`: keep the line to one carrier, bring its texts in, and send those for it.

One process a line, beside `serve` and `deliver`, which leave that gateway's texts to it. A line
that breaks is opened again, waiting longer each time, to a minute at most.
"""

from __future__ import annotations

import argparse
import logging
import os
import random
import signal
import sys
import threading
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from bot.commands.opening import Opened, add_service_options, open_service
from bot.gateways.protocol import Gateway, Line, LineDown
from bot.service.listening import AT_ONCE, Listener, line_opened, lines_of, send_share
from bot.service.logs import JsonLines, fault_code
from bot.settings import Settings

LOG = logging.getLogger(__name__)

LISTEN_S = 0.2
"""How long to listen between two looks at the outbox."""
MOST_IN_VAIN = 500
FIRST_WAIT_S, LONGEST_WAIT_S = 1.0, 60.0


def add_carry(subparsers: Any) -> None:
    """Add the command to the command line."""
    parser = subparsers.add_parser("carry", help="keep the line to one carrier")
    add_service_options(parser)
    parser.add_argument("gateway", help="the gateway's name in programme.toml")
    words = "bring in what is there and send what waits, and end"
    parser.add_argument("--once", action="store_true", help=words)
    parser.set_defaults(run=run_carry)


def run_carry(args: argparse.Namespace) -> int:
    """Carry until interrupted, or once; exit code 2 and one line where it cannot begin."""
    try:
        opened = open_service(args, Settings.from_environment(os.environ), os.environ)
        carrier = carrier_of(opened, args.gateway)
    except (ValueError, OSError) as fault:
        print(f"bushpost carry: {fault}", file=sys.stderr)
        return 2
    handler = logging.StreamHandler()
    handler.setFormatter(JsonLines())
    logging.basicConfig(level=logging.INFO, handlers=[handler], force=True)
    if args.once:
        return carry_once(carrier)
    stop = threading.Event()
    signal.signal(signal.SIGTERM, lambda number, frame: stop.set())
    keep_line(carrier, stop)
    return 0


@dataclass(frozen=True, slots=True)
class Carrier:
    """One line and what it is carried for."""

    opened: Opened
    name: str
    gateway: Gateway
    line: Line
    now: Callable[[], datetime]

    def open(self) -> Listener:
        """Open the line; whoever takes what it brings, from now on."""
        self.line.open()
        line_opened(self.opened.intake, self.name, self.now())
        return Listener(self.opened.intake, self.name, self.now, self.line.renames)

    def round(self, ear: Listener) -> int:
        """Listen, then send; how many texts went."""
        self.line.listen(ear, LISTEN_S)
        return self.send()

    def send(self, most: int = AT_ONCE) -> int:
        """Send what waits, at most so many texts; how many went."""
        return send_share(self.opened.intake, self.name, self.gateway, self.now(), most)


def carrier_of(opened: Opened, name: str) -> Carrier:
    """The carrier of a gateway by its name; ValueError if that keeps no line."""
    gateway = opened.gateways.get(name)
    if gateway is None or not isinstance(gateway, Line):
        lines = ", ".join(lines_of(opened.gateways)) or "none of this programme's"
        raise ValueError(f"{name!r} is no gateway with a line: {lines}")
    return Carrier(opened, name, gateway, gateway, opened.intake.database.now)


def keep_line(carrier: Carrier, stop: threading.Event) -> None:
    """Carry until told to stop. Whatever breaks is logged, and the line opened anew."""
    wait = FIRST_WAIT_S
    while not stop.is_set():
        try:
            ear = carrier.open()
            LOG.info("line_open", extra={"gateway": carrier.name})
            while not stop.is_set():
                carrier.round(ear)
                wait = FIRST_WAIT_S
        except LineDown as down:
            LOG.warning("line_down", extra={"gateway": carrier.name, "reason": down.reason})
        except Exception as fault:
            LOG.error("line_fault", extra={"gateway": carrier.name, "fault": fault_code(fault)})
        finally:
            carrier.line.close()
        if not stop.is_set():
            _try_in_vain(carrier)
        # Spread, so that the lines of many processes do not all come back at once.
        stop.wait(wait * random.uniform(0.5, 1.0))  # noqa: S311 - a wait is spread
        wait = min(wait * 2, LONGEST_WAIT_S)


def _try_in_vain(carrier: Carrier) -> None:
    """Count a try for what waits while the line is down, so that it comes to the coordinator's
    list in the end, as with any carrier that is away. It goes at once when the line is open."""
    try:
        carrier.send(MOST_IN_VAIN)
    except Exception as fault:
        LOG.error("line_fault", extra={"gateway": carrier.name, "fault": fault_code(fault)})


def carry_once(carrier: Carrier) -> int:
    """Bring in what is there, send what waits; exit code 1 and one line if the line is down."""
    try:
        ear = carrier.open()
        while carrier.round(ear):
            pass
    except LineDown as down:
        print(f"bushpost carry: the line is down: {down.reason}", file=sys.stderr)
        return 1
    finally:
        carrier.line.close()
    return 0
