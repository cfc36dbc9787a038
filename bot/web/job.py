"""Pages for field staff on the telephone, opened by a signed link and by nothing else.

/job/<token> is the one job, /specimen/<token> a hand-over by the label's QR code. The token
stands for the log-in and, since nobody else has it, for the form's own token as well.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import cast, get_args

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from bot.fieldwork.custody import HandedOver, State
from bot.fieldwork.specimens import Specimen
from bot.fieldwork.state import Pickup
from bot.messages import FieldReply
from bot.reading.values import Place
from bot.service.custody_shelf import CustodyShelf
from bot.service.desk_rows import Card
from bot.service.links import LinkError, LinkExpired
from bot.web import stored, wired
from bot.web.custody_words import specimen_words
from bot.web.grid_words import grid_reference
from bot.web.sketch import Sketch, sketch_of
from bot.web.throttle import count_shut, guard_link

blueprint = Blueprint("job", __name__)
blueprint.before_request(guard_link)
blueprint.after_request(count_shut)
LONGEST = 160

BUTTONS: dict[str, tuple[tuple[str, str], ...]] = {
    "offered": (("yes", "I take it"), ("no", "I can't")),
    "taken": (
        ("collected", "I have it"),
        ("nobody_home", "Nobody there"),
        ("no_access", "Can't get in"),
        ("not_there", "Head gone"),
        ("wrong_head", "Wrong head"),
        ("no", "I can't after all"),
    ),
    "collected": (("handed_in", "Handed in"), ("no", "I can't bring it")),
}
"""What may be answered to a pickup that is with this member, by its state."""
VISIT_WORDS = {
    "collected": "I have been there",
    "handed_in": "Samples handed in",
    "not_there": "It is gone",
    "wrong_head": "Another animal",
}


@dataclass(frozen=True, slots=True)
class Job:
    """One job's page. `state` "" means that it is no longer this member's."""

    code: str
    state: str
    pickup: Pickup
    sketch: Sketch | None
    grid: str
    buttons: tuple[tuple[str, str], ...]
    visit: bool


@blueprint.get("/job/<token>")
def job(token: str) -> str | tuple[str, int]:
    """The one job that a link stands for."""
    try:
        code, staff_id = wired().intake.links.open_job(token, wired().now())
    except LinkError as fault:
        return _shut(isinstance(fault, LinkExpired))
    card = wired().desk.find_card(code)
    if card is None or card.pickup is None:
        return _shut(expired=False)
    words = specimen_words(wired().dialog, wired().programme)
    shown = _job(card, card.pickup, staff_id)
    people = words.names
    places = [pair for pair in words.holders(with_hunter=False) if pair[0] not in people]
    return render_template("job/job.html", job=shown, token=token, places=places)


@blueprint.post("/job/<token>")
def answer(token: str) -> str | Response | tuple[str, int]:
    """One answer about the job, the same as if it had been texted."""
    try:
        code, staff_id = wired().intake.links.open_job(token, wired().now())
    except LinkError as fault:
        return _shut(isinstance(fault, LinkExpired))
    card = wired().desk.find_card(code)
    if card is None or card.pickup is None:
        return _shut(expired=False)
    said = request.form.get("answer", "")
    allowed = _job(card, card.pickup, staff_id).buttons
    # A button of a page that is older than the pickup does nothing; the page says how it stands.
    if said in {key for key, _ in allowed}:
        words = request.form.get("words", "").replace("\x00", "").strip()[:LONGEST]
        where = request.form.get("where", "")[:LONGEST]
        heard = f"{where} {words}".strip() if said == "handed_in" else words
        event = FieldReply(wired().now(), staff_id, said, words, heard)  # type: ignore[arg-type]
        wired().intake.tell_pickup(code, event, event.at)
    return redirect(url_for("job.job", token=token), 303)


def _job(card: Card, pickup: Pickup, staff_id: str) -> Job:
    state = _state(pickup, staff_id)
    place = Place(pickup.lat, pickup.lon, pickup.accuracy_m, "degrees")
    visit = pickup.visit or not wired().programme.head.law.head_may_move
    buttons = tuple(
        (key, VISIT_WORDS.get(key, said) if visit else said) for key, said in BUTTONS.get(state, ())
    )
    return Job(
        code=card.code,
        state=state,
        pickup=pickup,
        sketch=sketch_of([("head", "head here", place)], wired().programme),
        grid=grid_reference(pickup.lat, pickup.lon, wired().programme),
        buttons=buttons,
        visit=visit,
    )


def _state(pickup: Pickup, staff_id: str) -> str:
    """How the pickup stands for this member: offered, taken, collected, done, or "" where it is
    not his."""
    if pickup.state == "offered":
        asked = {o.staff_id for o in pickup.offers if not o.answer}
        return "offered" if staff_id in asked else ""
    if pickup.staff_id != staff_id:
        return ""
    return "done" if pickup.state == "handed_in" else pickup.state


# ------------------------------------------------------------------------------------ a label


@blueprint.get("/specimen/<token>")
def specimen(token: str) -> str | tuple[str, int]:
    """A hand-over by scanning the label: what it is, who has it, and who takes it now. No name
    and no place of the hunter stands here, since anybody may hold a label."""
    found = _specimen(token)
    if not isinstance(found, Specimen):
        return found
    words = specimen_words(wired().dialog, wired().programme)
    done = request.args.get("done") == "1"
    return render_template(
        "job/specimen.html", s=found, token=token, names=words, states=get_args(State), done=done
    )


@blueprint.post("/specimen/<token>")
def hand_over(token: str) -> str | Response | tuple[str, int]:
    """Record who has it now; a contradiction is kept, and shown to the coordinator."""
    found = _specimen(token)
    if not isinstance(found, Specimen):
        return found
    words = specimen_words(wired().dialog, wired().programme)
    known = {key for key, _ in words.holders(with_hunter=False)}
    giver, receiver = request.form.get("giver", ""), request.form.get("receiver", "")
    state = request.form.get("state", "")
    if receiver not in known or giver not in {*known, "", "hunter"} or state not in get_args(State):
        return _shut(expired=False)
    changes = state and state != found.state
    if receiver != found.holder or changes:
        event = HandedOver(
            at=wired().now(),
            by="label",
            code=found.code,
            giver=receiver if receiver == found.holder else giver,
            receiver=receiver,
            place=request.form.get("place", "").replace("\x00", "").strip()[:LONGEST],
            state=cast(State, state),
        )
        wired().intake.tell_custody([event], event.at)
    return redirect(url_for("job.specimen", token=token, done=1), 303)


def _specimen(token: str) -> Specimen | tuple[str, int]:
    try:
        code = wired().intake.links.open_specimen(token, wired().now())
    except LinkError as fault:
        return _shut(isinstance(fault, LinkExpired))
    return CustodyShelf(stored()).trail(code).specimen(code) or _shut(expired=False)


def _shut(expired: bool) -> tuple[str, int]:
    """What a link says that opens nothing, and what to do."""
    return render_template("job/shut.html", expired=expired), 410 if expired else 404
