"""Flask: the webhook, the chat, the coordinator's desk."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from flask import abort, current_app

if TYPE_CHECKING:
    from bot.service.database import Database
    from bot.web.wiring import Wiring


def wired() -> Wiring:
    """The wiring of the app that is answering."""
    return cast("Wiring", current_app.extensions["bushpost"])


def stored() -> Database:
    """The database behind the office's pages; 503 where the pages stand on none."""
    return wired().database or abort(503)
