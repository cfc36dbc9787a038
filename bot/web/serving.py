"""The pages on the real service, and a server for them: what `serve`, the demo and tests share."""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime

from flask import Flask
from sqlalchemy import select
from sqlalchemy.exc import SQLAlchemyError
from waitress.server import create_server

from bot.gateways.protocol import Gateway
from bot.service import reviewing
from bot.service.accounts import Accounts
from bot.service.database import Database
from bot.service.desk import Desk
from bot.service.intake import Intake
from bot.service.photos import Shelf
from bot.talk.dialog import Dialog
from bot.talk.page_words import page_words
from bot.web.app import MOST_BYTES
from bot.web.chat_session import GATEWAY
from bot.web.wiring import Settings, Wiring
from bot.web.words import FILE, load_words

THREADS = 8


@dataclass(frozen=True, slots=True)
class StoredClaims:
    """The names on a database's review list."""

    database: Database

    def claim(self, code: str, by: str) -> bool:
        """Put a name on a find's open rows; False if another stands there."""
        return reviewing.claim(self.database, code, by)

    def release(self, code: str, by: str) -> None:
        """Take one's own name off again."""
        reviewing.release(self.database, code, by)


def wiring_of(
    intake: Intake,
    gateways: Mapping[str, Gateway],
    dialog: Dialog,
    settings: Settings,
    now: Callable[[], datetime],
) -> Wiring:
    """The pages' wiring on a real service; WordsError if dialogs/desk.toml is at fault,
    DialogError if the words of the hunter's pages are."""
    database = intake.database
    if GATEWAY in gateways:
        page_words(dialog.files)
    return Wiring(
        intake=intake,
        desk=Desk(database),
        claims=StoredClaims(database),
        accounts=Accounts(database),
        shelf=Shelf(database, settings.sealer),
        gateways=gateways,
        programme=intake.programme,
        dialog=dialog,
        words=load_words(dialog.files.get(FILE, "")),
        settings=settings,
        now=now,
        ready=lambda: answers(database),
        database=database,
    )


def answers(database: Database) -> bool:
    """Whether storage answers."""
    try:
        with database.read() as connection:
            return connection.scalar(select(1)) == 1
    except SQLAlchemyError:
        return False


class Server:
    """waitress on one address. `port` 0 takes a free one; OSError if the address is taken."""

    def __init__(self, app: Flask, host: str, port: int, behind_proxy: bool = False) -> None:
        proxy = {
            "trusted_proxy": "*",
            "trusted_proxy_count": 1,
            "trusted_proxy_headers": {"x-forwarded-for", "x-forwarded-proto", "x-forwarded-host"},
            "clear_untrusted_proxy_headers": True,
        }
        self._server = create_server(
            app,
            host=host,
            port=port,
            threads=THREADS,
            ident="",
            # Above the pages' own limit, so that it is they who answer.
            max_request_body_size=2 * MOST_BYTES,
            **(proxy if behind_proxy else {}),
        )
        self.host = host
        self.port = int(self._server.effective_port)

    @property
    def url(self) -> str:
        """Where it answers."""
        host = f"[{self.host}]" if ":" in self.host else self.host
        return f"http://{host}:{self.port}"

    def run(self) -> None:
        """Answer until closed."""
        self._server.run()

    def start(self) -> threading.Thread:
        """Answer in a thread of its own."""
        thread = threading.Thread(target=self._server.run, name="web", daemon=True)
        thread.start()
        return thread

    def close(self) -> None:
        """Stop answering."""
        self._server.close()
