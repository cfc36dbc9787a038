"""The command line. Errors are one clear line and an exit code, never a traceback."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from typing import Any

from bot import __version__
from bot.commands.add_coordinator import add_add_coordinator
from bot.commands.chat import add_chat
from bot.commands.check import add_check
from bot.commands.deliver import add_deliver
from bot.commands.demo import add_demo
from bot.commands.erase import add_erase
from bot.commands.evidence import add_evidence
from bot.commands.export import add_export
from bot.commands.freedom import add_freedom
from bot.commands.new_programme import add_new_programme
from bot.commands.read import add_read
from bot.commands.rehearse import add_rehearse
from bot.commands.replay import add_replay
from bot.commands.serve import add_serve
from bot.commands.try_dialog import add_try

COMMANDS: dict[str, Callable[[Any], None]] = {
    "read": add_read,
    "serve": add_serve,
    "deliver": add_deliver,
    "add-coordinator": add_add_coordinator,
    "demo": add_demo,
    "chat": add_chat,
    "replay": add_replay,
    "rehearse": add_rehearse,
    "check": add_check,
    "new-programme": add_new_programme,
    "try": add_try,
    "erase": add_erase,
    "export": add_export,
    "evidence": add_evidence,
    "freedom": add_freedom,
}
"""Each command by its name, and the function that adds it to the command line."""


def parser() -> argparse.ArgumentParser:
    """The whole command line."""
    top = argparse.ArgumentParser(prog="bushpost", description=__doc__)
    top.add_argument("--version", action="version", version=__version__)
    subparsers = top.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for add in COMMANDS.values():
        add(subparsers)
    return top


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; its exit code."""
    args = parser().parse_args(argv)
    try:
        return int(args.run(args))
    except KeyboardInterrupt:
        return 130
    except BrokenPipeError:
        sys.stderr.close()
        return 0


if __name__ == "__main__":
    sys.exit(main())
