"""/desk: what needs a person, and one find's card. Every change is an event told to intake.

Each form carries the turn that its page was based on. Whoever comes second is told so (409),
and nothing is written over.
"""

from __future__ import annotations

from typing import Literal, get_args

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.exceptions import BadRequest, NotFound
from werkzeug.wrappers import Response

from bot.messages import (
    Closed,
    Correction,
    HandedBack,
    PersonWrote,
    SendNow,
    TakenOver,
)
from bot.reading.codes import find_codes
from bot.web import access, wired
from bot.web.card import card_of, list_rows
from bot.web.extras import extras_of
from bot.web.telling import Answer, tell, words_of_form

blueprint = Blueprint("desk", __name__, url_prefix="/desk")
access.keep(blueprint)
LONGEST_WORDS = 500
LONGEST_BODY = 1000
WhyClosed = Literal["finished", "no_find", "called_off"]
WHY_CLOSED: dict[str, WhyClosed] = {each: each for each in get_args(WhyClosed)}


@blueprint.get("/")
def review() -> str:
    """What needs a person, most urgent first."""
    now = wired().now()
    return render_template("desk/review.html", rows=list_rows(wired(), now), at=now)


@blueprint.get("/list")
def review_part() -> str:
    """The list alone, for a page that keeps itself up to date."""
    now = wired().now()
    return render_template("desk/list.html", rows=list_rows(wired(), now), at=now)


@blueprint.get("/find")
def by_code() -> Response:
    """To the find whose code was typed, with or without its dash, in any case."""
    codes = find_codes(request.args.get("code", "").strip()[:40].upper())
    if not codes:
        raise NotFound
    return redirect(url_for("desk.find", code=codes[0]))


@blueprint.get("/find/<code>")
def find(code: str) -> str:
    """One find's card."""
    access.need("coordinator")
    return _card(code)


@blueprint.post("/find/<code>/correct")
def correct(code: str) -> Answer:
    """Set one answer in plain words, read by the same readers."""
    words = words_of_form("words", LONGEST_WORDS)
    question = request.form.get("question", "")
    if question not in wired().dialog.by_key:
        raise BadRequest("There is no such question.")
    return tell(
        code, Correction(wired().now(), access.name(), question, words), words, f"a-{question}"
    )


@blueprint.post("/find/<code>/write")
def write(code: str) -> Answer:
    """Write to the hunter as a person."""
    body = words_of_form("body", LONGEST_BODY)
    return tell(code, PersonWrote(wired().now(), access.name(), body), body, "talk-title")


@blueprint.post("/find/<code>/take-over")
def take_over(code: str) -> Answer:
    """A person has the talk from now on, and the review list says who."""
    answer = tell(code, TakenOver(wired().now(), access.name()))
    if isinstance(answer, Response):
        wired().claims.claim(code, access.name())
    return answer


@blueprint.post("/find/<code>/hand-back")
def hand_back(code: str) -> Answer:
    """The bot goes on, and nobody's name stands on the find."""
    answer = tell(code, HandedBack(wired().now(), access.name()))
    if isinstance(answer, Response):
        wired().claims.release(code, access.name())
    return answer


@blueprint.post("/find/<code>/send")
def send_now(code: str) -> Answer:
    """Release the visit that the bot would not open by itself."""
    return tell(code, SendNow(wired().now(), access.name()))


@blueprint.post("/find/<code>/close")
def close(code: str) -> Answer:
    """End the conversation, with a reason."""
    reason = WHY_CLOSED.get(request.form.get("reason", ""))
    if reason is None:
        raise BadRequest("Say why the find is closed.")
    note = request.form.get("note", "").strip()[:LONGEST_WORDS]
    return tell(code, Closed(wired().now(), access.name(), reason, note), note)


@blueprint.get("/photo/<key>")
def photo(key: str) -> Response:
    """One kept picture."""
    access.need("coordinator")
    found = wired().shelf.fetch(key)
    if found is None:
        raise NotFound
    kind, data = found
    return Response(data, mimetype=kind)


def _card(code: str) -> str:
    found = wired().desk.find_card(code)
    if found is None:
        raise NotFound
    shown = card_of(wired(), found)
    return render_template("desk/find.html", card=shown, **extras_of(wired(), found))
