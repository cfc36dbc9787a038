"""What a coordinator does with one find beyond its talk: takes or leaves it, chooses a reading,
puts a place on the map, gives the pickup to somebody, calls it off."""

from __future__ import annotations

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.exceptions import BadRequest, NotFound
from werkzeug.wrappers import Response

from bot.messages import Assigned, CalledOff, Correction, Pin
from bot.service import reviewing
from bot.web import access, stored, wired
from bot.web.telling import Answer, tell, tell_pickup, words_of_form

blueprint = Blueprint("acts", __name__, url_prefix="/desk/find/<code>")
access.keep(blueprint)

PLACES = ("kill_place", "head_at")
LONGEST_HEARD = 500
WORST_ACCURACY_M = 50_000.0


@blueprint.post("/claim")
def claim(code: str) -> Answer:
    """Put one's name on a find; 409 where another name stands there already."""
    if wired().claims.claim(code, access.name()):
        return _back(code)
    other = reviewing.holder(stored(), code)
    if not other:
        raise NotFound
    return render_template("desk/taken.html", code=code, other=other), 409


@blueprint.post("/release")
def release(code: str) -> Response:
    """Take one's own name off a find."""
    wired().claims.release(code, access.name())
    return _back(code)


@blueprint.post("/choose")
def choose(code: str) -> Answer:
    """Take one of the readings on offer, with one click."""
    question, number = _question(), request.form.get("choice", 0, type=int)
    heard = request.form.get("heard", "").strip()[:LONGEST_HEARD]
    now, by, anchor = wired().now(), access.name(), f"a-{question}"
    if number > 0:
        return tell(code, Correction(now, by, question, heard, choice=number), anchor=anchor)
    if "lat" in request.form:
        return tell(code, Correction(now, by, question, heard, _pin()), heard, anchor)
    says = words_of_form("says", LONGEST_HEARD)
    return tell(code, Correction(now, by, question, says), says, anchor)


@blueprint.post("/place")
def place(code: str) -> Answer:
    """Put one of the find's places where the map was clicked."""
    question = _question()
    if question not in PLACES:
        raise BadRequest("Only a place can be put on the map.")
    event = Correction(wired().now(), access.name(), question, "", _pin())
    return tell(code, event, anchor=f"a-{question}")


@blueprint.post("/assign")
def assign(code: str) -> Answer:
    """Give the pickup to one of the field staff by hand."""
    staff_id = words_of_form("staff", 200)
    return tell_pickup(code, Assigned(wired().now(), access.name(), staff_id))


@blueprint.post("/call-off")
def call_off(code: str) -> Answer:
    """Nothing is to be fetched any more; the find itself stays."""
    why = request.form.get("why", "").strip()[:LONGEST_HEARD]
    return tell_pickup(code, CalledOff(wired().now(), access.name(), why))


def _question() -> str:
    question = request.form.get("question", "")
    if question not in wired().dialog.by_key:
        raise BadRequest("There is no such question.")
    return question


def _pin() -> Pin:
    """The point that a form carries: WGS84 degrees, accuracy in metres."""
    lat, lon = request.form.get("lat", type=float), request.form.get("lon", type=float)
    accuracy = request.form.get("accuracy_m", 50.0, type=float)
    # A comparison with "not a number" is False, so that it is refused as well.
    good = lat is not None and -90 <= lat <= 90 and lon is not None and -180 <= lon <= 180
    if not good or not 0 < accuracy <= WORST_ACCURACY_M:
        raise BadRequest("That is no point on the map.")
    return Pin(float(lat or 0), float(lon or 0), accuracy)


def _back(code: str) -> Response:
    """To the list or the card, whichever the form stood on."""
    on_card = request.form.get("from") == "card"
    there = url_for("desk.find", code=code) if on_card else url_for("desk.review")
    return redirect(there, 303)
