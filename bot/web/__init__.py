"""Flask: the webhook, the chat, the coordinator's desk."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from flask import current_app

if TYPE_CHECKING:
    from bot.web.wiring import Wiring


def wired() -> Wiring:
    """The wiring of the app that is answering."""
    return cast("Wiring", current_app.extensions["bushpost"])
