"""/desk: what needs a person, and one find's card. Every change is an event told to intake.

Each form carries the turn that its page was based on. Whoever comes second is told so (409),
and nothing is written over.
"""

from __future__ import annotations

from typing import Literal, get_args

from flask import Blueprint, redirect, render_template, request, url_for
from flask_login import current_user, login_required
from werkzeug.exceptions import BadRequest, NotFound
from werkzeug.wrappers import Response

from bot.messages import (
    Closed,
    Correction,
    Event,
    HandedBack,
    PersonWrote,
    SendNow,
    TakenOver,
)
from bot.reading.codes import find_codes
from bot.service.intake import MovedOnError
from bot.talk.segments import segments_of
from bot.web import wired
from bot.web.card import card_of, list_rows

blueprint = Blueprint("desk", __name__, url_prefix="/desk")
LONGEST_WORDS = 500
LONGEST_BODY = 1000
WhyClosed = Literal["finished", "no_find", "called_off"]
WHY_CLOSED: dict[str, WhyClosed] = {each: each for each in get_args(WhyClosed)}

Answer = str | Response | tuple[str, int]


@blueprint.before_request
@login_required  # type: ignore[untyped-decorator]
def only_coordinators() -> None:
    """Nothing here is shown or changed without a log-in."""


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
    return _card(code)


@blueprint.post("/find/<code>/correct")
def correct(code: str) -> Answer:
    """Set one answer in plain words, read by the same readers."""
    words = _words("words", LONGEST_WORDS)
    question = request.form.get("question", "")
    if question not in wired().dialog.by_key:
        raise BadRequest("There is no such question.")
    return _tell(code, Correction(wired().now(), _by(), question, words), words, f"a-{question}")


@blueprint.post("/find/<code>/write")
def write(code: str) -> Answer:
    """Write to the hunter as a person."""
    body = _words("body", LONGEST_BODY)
    return _tell(code, PersonWrote(wired().now(), _by(), body), body, "talk-title")


@blueprint.post("/find/<code>/take-over")
def take_over(code: str) -> Answer:
    """A person has the talk from now on, and the review list says who."""
    answer = _tell(code, TakenOver(wired().now(), _by()))
    if isinstance(answer, Response):
        wired().claims.claim(code, _by())
    return answer


@blueprint.post("/find/<code>/hand-back")
def hand_back(code: str) -> Answer:
    """The bot goes on, and nobody's name stands on the find."""
    answer = _tell(code, HandedBack(wired().now(), _by()))
    if isinstance(answer, Response):
        wired().claims.release(code, _by())
    return answer


@blueprint.post("/find/<code>/send")
def send_now(code: str) -> Answer:
    """Release the visit that the bot would not open by itself."""
    return _tell(code, SendNow(wired().now(), _by()))


@blueprint.post("/find/<code>/close")
def close(code: str) -> Answer:
    """End the conversation, with a reason."""
    reason = WHY_CLOSED.get(request.form.get("reason", ""))
    if reason is None:
        raise BadRequest("Say why the find is closed.")
    note = request.form.get("note", "").strip()[:LONGEST_WORDS]
    return _tell(code, Closed(wired().now(), _by(), reason, note), note)


@blueprint.post("/cost")
def cost() -> str:
    """What a text would cost as SMS, for the page that is writing it."""
    body = request.form.get("body", "")[:LONGEST_BODY]
    count = segments_of(body)
    return f"{len(body)} characters, {count} segment{'s' if count > 1 else ''}"


@blueprint.get("/photo/<key>")
def photo(key: str) -> Response:
    """One kept picture."""
    found = wired().shelf.fetch(key)
    if found is None:
        raise NotFound
    kind, data = found
    return Response(data, mimetype=kind)


def _by() -> str:
    return str(current_user.name)


def _words(field: str, longest: int) -> str:
    words = request.form.get(field, "").replace("\x00", "").strip()
    if not words:
        raise BadRequest("Nothing was written.")
    if len(words) > longest:
        raise BadRequest(f"That is longer than {longest} characters.")
    return words


def _tell(code: str, event: Event, draft: str = "", anchor: str = "") -> Answer:
    """Tell intake what a coordinator did, based on the turn of the page; then show the card."""
    turn = request.form.get("turn", type=int)
    if turn is None:
        raise BadRequest("The form does not say what it was based on.")
    try:
        wired().intake.tell(code, event, wired().now(), turn)
    except LookupError:
        raise NotFound from None
    except MovedOnError:
        return render_template("desk/moved_on.html", code=code, draft=draft), 409
    return redirect(url_for("desk.find", code=code, _anchor=anchor or None), 303)


def _card(code: str) -> str:
    found = wired().desk.find_card(code)
    if found is None:
        raise NotFound
    return render_template("desk/find.html", card=card_of(wired(), found), draft="")
