"""The command line. Errors are one clear line and an exit code, never a traceback."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable, Sequence
from importlib import import_module

from bot import __version__

COMMANDS: dict[str, str] = {
    "read": "bot.commands.read",
    "ready": "bot.commands.ready",
    "serve": "bot.commands.serve",
    "deliver": "bot.commands.deliver",
    "carry": "bot.commands.carry",
    "add-coordinator": "bot.commands.add_coordinator",
    "demo": "bot.commands.demo",
    "chat": "bot.commands.chat",
    "replay": "bot.commands.replay",
    "rehearse": "bot.commands.rehearse",
    "check": "bot.commands.check",
    "new-programme": "bot.commands.new_programme",
    "try": "bot.commands.try_dialog",
    "move": "bot.commands.move",
    "backup": "bot.commands.backup",
    "restore": "bot.commands.restore",
    "archive": "bot.commands.archive",
    "seal": "bot.commands.seal",
    "erase": "bot.commands.erase",
    "export": "bot.commands.export",
    "evidence": "bot.commands.evidence",
    "freedom": "bot.commands.freedom",
}
"""Each command by its name, and the file that has it. Its `add_...` adds it to the command line."""


def parser(wanted: Iterable[str] = COMMANDS) -> argparse.ArgumentParser:
    """The command line of these commands. A file is loaded only for a command that is wanted:
    some of them load much, and nobody waits for what he has not asked for."""
    top = argparse.ArgumentParser(prog="bushpost", description=__doc__)
    top.add_argument("--version", action="version", version=__version__)
    subparsers = top.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for name in wanted:
        add = getattr(import_module(COMMANDS[name]), f"add_{name.replace('-', '_')}")
        add(subparsers)
    return top


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; its exit code."""
    words = sys.argv[1:] if argv is None else argv
    named = words[:1] if words and words[0] in COMMANDS else COMMANDS
    args = parser(named).parse_args(words)
    try:
        return int(args.run(args))
    except KeyboardInterrupt:
        return 130
    except BrokenPipeError:
        sys.stderr.close()
        return 0


if __name__ == "__main__":
    sys.exit(main())
