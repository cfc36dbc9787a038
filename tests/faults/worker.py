"""`bushpost deliver`, or all of `bushpost serve`, with less patience: what takes minutes in real
life takes seconds here. Run by the faults suite as `python -m tests.faults.worker ...`.
"""

from __future__ import annotations

import os
import sys
import threading
from datetime import UTC, datetime, timedelta

from bot.__main__ import parser
from bot.commands.deliver import keep_working
from bot.commands.opening import Opened, open_service
from bot.gateways.signed import Signed
from bot.service.outbox import Pace
from bot.settings import Settings
from bot.web.app import create_app
from bot.web.serving import Server, wiring_of
from bot.web.wiring import Settings as WebSettings

TIMEOUT_S = 4.0
QUICK = Pace(
    lease=timedelta(seconds=20),
    hand_over=timedelta(seconds=9),
    first_wait=timedelta(seconds=1),
    longest_wait=timedelta(seconds=4),
)


def main(arguments: list[str]) -> None:
    """Work until killed."""
    args = parser().parse_args(arguments)
    opened = open_service(args, Settings.from_environment(os.environ), os.environ)
    for gateway in opened.gateways.values():
        if isinstance(gateway, Signed):
            gateway.client.timeout = TIMEOUT_S
    if args.command == "serve":
        threading.Thread(target=_serve, args=(opened, args.port), daemon=True).start()
    keep_working(opened, opened.intake.database.now, threading.Event(), QUICK)


def _serve(opened: Opened, port: int) -> None:
    web = WebSettings(opened.secret_key, secure_cookies=False)

    def now() -> datetime:
        return datetime.now(UTC)

    app = create_app(wiring_of(opened.intake, opened.gateways, opened.dialog, web, now))
    Server(app, "127.0.0.1", port).run()


if __name__ == "__main__":
    main(sys.argv[1:])
