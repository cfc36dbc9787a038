"""The front page, the two that a watchdog asks (alive, and ready), and what machines may ask."""

from __future__ import annotations

from functools import cache
from importlib.resources import files

from flask import Blueprint, Response, render_template

from bot.web import wired
from bot.web.chat_session import GATEWAY

blueprint = Blueprint("pages", __name__)


@blueprint.get("/")
def front() -> str:
    """What this is, in a sentence, and where to go."""
    return render_template("pages/front.html", has_chat=GATEWAY in wired().gateways)


@blueprint.get("/openapi.json")
def description() -> Response:
    """Everything that machines may ask, by OpenAPI 3.1."""
    return Response(_described(), mimetype="application/json")


@cache
def _described() -> bytes:
    return files("bot.web").joinpath("openapi.json").read_bytes()


@blueprint.get("/healthz")
def alive() -> Response:
    """200 while the process answers."""
    return Response("alive\n", mimetype="text/plain")


@blueprint.get("/readyz")
def ready() -> Response:
    """200 while storage answers too, else 503."""
    good = wired().ready()
    words = "ready\n" if good else "storage does not answer\n"
    return Response(words, 200 if good else 503, mimetype="text/plain")
