"""The front page, and the two that a watchdog asks: alive, and ready."""

from __future__ import annotations

from flask import Blueprint, Response, render_template

from bot.web import wired
from bot.web.chat_session import GATEWAY

blueprint = Blueprint("pages", __name__)


@blueprint.get("/")
def front() -> str:
    """What this is, in a sentence, and where to go."""
    return render_template("pages/front.html", has_chat=GATEWAY in wired().gateways)


@blueprint.get("/healthz")
def alive() -> Response:
    """200 while the process answers."""
    return Response("alive\n", mimetype="text/plain")


@blueprint.get("/readyz")
def ready() -> Response:
    """200 while storage answers too, else 503."""
    good = wired().ready()
    return Response("ready\n" if good else "storage does not answer\n", 200 if good else 503)
