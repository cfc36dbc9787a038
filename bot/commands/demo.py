"""`bushpost demo`: the transcripts played through the real webhook, then a service to look at.

The service stands on a SQLite file of its own in a temporary folder. It and its worker share one
clock, which stands where the talk stands; afterwards it ticks on from there.
"""

from __future__ import annotations

import argparse
import logging
import secrets
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from bot.commands.deliver import PAUSE_S
from bot.commands.loading import loaded_dialog, loaded_programme
from bot.demo.facts import differing_facts
from bot.demo.figures import cost, summary
from bot.demo.http import over_http
from bot.demo.play import Play
from bot.demo.showing import Screen, on_screen
from bot.demo.stage import Stage, open_stage
from bot.demo.transcript import Transcript, parse, write
from bot.service.accounts import add_account
from bot.service.desk import Desk
from bot.service.desk_rows import Card
from bot.shipped import shipped
from bot.web.app import create_app
from bot.web.serving import Server, wiring_of
from bot.web.wiring import Settings
from bot.web.words import FILE, load_words

PORT = 8077
HOST = "127.0.0.1"
COORDINATOR = "ines"


def add_demo(subparsers: Any) -> None:
    """Add the command to the command line."""
    parser = subparsers.add_parser(
        "demo", help="play the demo conversations on a real service, then stay up"
    )
    parser.add_argument("files", nargs="*", type=Path, metavar="FILE", help="default: all of them")
    parser.add_argument("--once", action="store_true", help="end when they have been played")
    parser.add_argument("--port", type=int, default=PORT, help=f"default: {PORT}")
    parser.set_defaults(run=run_demo)


def run_demo(args: argparse.Namespace) -> int:
    """Play, show, stay up; exit code 1 where a talk did not go as written, 2 for a bad file."""
    logging.getLogger("bot").addHandler(logging.NullHandler())
    screen = on_screen()
    with tempfile.TemporaryDirectory(prefix="bushpost-demo-") as folder:
        try:
            talks = _talks(args.files)
            stage = open_stage(
                Path(folder) / "demo.sqlite3", loaded_programme(None), loaded_dialog(None)
            )
            server = _server(stage, args.port, screen)
        except (ValueError, OSError) as fault:
            print(f"bushpost demo: {fault}", file=sys.stderr)
            return 2
        server.start()
        try:
            as_written = _play_all(talks, stage, server, screen)
            if not args.once:
                _stay_up(stage, server, screen)
        except KeyboardInterrupt:
            return 0
        finally:
            server.close()
            stage.database.close()
    return 0 if as_written else 1


def _talks(files: list[Path]) -> tuple[Transcript, ...]:
    chosen = files or sorted(shipped("demo_conversations").glob("*.txt"))
    talks = (parse(file.read_text(encoding="utf-8")) for file in chosen)
    # The clock never goes back, so the talks are played in the order of their beginnings.
    return tuple(sorted(talks, key=lambda talk: talk.starts))


def _server(stage: Stage, port: int, screen: Screen) -> Server:
    """The pages on this stage. A busy port is met by taking a free one and saying so."""
    settings = Settings(secret_key=secrets.token_hex(32), secure_cookies=False)
    wiring = wiring_of(stage.intake, stage.gateways, stage.dialog, settings, stage.clock)
    app = create_app(wiring)
    try:
        server = Server(app, HOST, port)
    except OSError:
        server = Server(app, HOST, 0)
        screen.say(f"Port {port} is busy; taking {server.port} instead.")
    screen.say(f"{stage.programme.head.name}: an invented programme, with invented people,")
    screen.say("places and disease. Every text below goes through the signed webhook at")
    screen.say(f"{server.url}/hear/{stage.carrier} into {stage.database.engine.url.database}")
    return server


def _play_all(talks: tuple[Transcript, ...], stage: Stage, server: Server, screen: Screen) -> bool:
    """Play every talk; whether all of them went as they are written."""
    bring = over_http(stage, server.url)
    desk = Desk(stage.database)
    cards: list[Card] = []
    played: list[Transcript] = []
    astray: list[str] = []
    for number, talk in enumerate(talks, 1):
        screen.begin(number, len(talks), talk)
        play = Play(talk, stage, bring, screen.line)
        played.append(play.run())
        own = [card for card in map(desk.find_card, play.codes()) if card]
        screen.end(own, stage)
        cards += own
        faults = tuple(differing_facts(play))
        for fault in faults:
            screen.say(f"          NOT AS WRITTEN: {fault}")
        if faults or write(played[-1]) != write(talk):
            astray.append(talk.title)
    latest = [card for card in (desk.find_card(c.code) for c in cards) if card]
    screen.pickups(latest, stage)
    words = load_words(stage.dialog.files[FILE])
    screen.reviews(desk.review_list(stage.clock()), words, stage.clock())
    screen.say()
    for row in summary(played, map(cost, played)):
        screen.say(row)
    screen.say(f"{len(talks) - len(astray)} of {len(talks)} talks went as written.")
    for title in astray:
        screen.say(f"Not as written: {title}")
    return not astray


def _stay_up(stage: Stage, server: Server, screen: Screen) -> None:
    """Serve until interrupted, the clock ticking on from the last talk's end."""
    password = secrets.token_urlsafe(12)
    add_account(stage.database, COORDINATOR, password, stage.clock())
    stage.clock.let_go()
    local = stage.clock().astimezone(stage.programme.zone)
    screen.say()
    screen.say("The service stays up until you press Ctrl-C. Look at:")
    screen.say(f"  {server.url}/chat    talk to the bot in a browser")
    screen.say(f"  {server.url}/desk    the coordinator's desk: {COORDINATOR} / {password}")
    screen.say(f"  {server.url}/manual  how everything works")
    screen.say(f"Or talk to it in another terminal:  {_own_name()} chat")
    screen.say(f"Its clock says {local:%a} {local.day} {local:%b %Y, %H:%M}, and ticks on.")
    while True:
        stage.intake.run_due(stage.clock())
        stage.send_all()
        time.sleep(PAUSE_S)


def _own_name() -> str:
    """How this very program is called again."""
    name = Path(sys.argv[0])
    return f"{sys.executable} -m bot" if name.name == "__main__.py" else str(name)
