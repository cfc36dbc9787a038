"""/desk/find/<code>/custody: who has a find's specimens, its result, its labels.

Every act is an event of the trail or of the talk. A form carries how much of the trail its page
had seen; whoever comes second is told so (409), and nothing is written over.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import cast, get_args

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.exceptions import BadRequest, NotFound
from werkzeug.wrappers import Response

from bot.fieldwork.custody import (
    CustodyEvent,
    Decided,
    HandedOver,
    JawReleased,
    LabSaid,
    Made,
    Outcome,
    Part,
    Release,
    Settled,
    State,
    Status,
)
from bot.fieldwork.laboratory import Entry, weigh
from bot.fieldwork.specimens import Finding, Trail, next_container, open_questions, root_of, told
from bot.messages import AuthorityTold, ResultApproved
from bot.reading.codes import find_codes
from bot.service.custody_door import TrailMovedOnError
from bot.service.custody_shelf import CustodyShelf
from bot.service.sorting_door import MovedOnError
from bot.talk.results_talk import POSITIVE, TO_APPROVE, TooSoon
from bot.talk.state import Conversation
from bot.talk.wording import Speaker
from bot.web import access, stored, wired
from bot.web.custody_words import specimen_words
from bot.web.labels import roll, sheets
from bot.web.specimen_lines import Lines
from bot.web.telling import Answer

blueprint = Blueprint("custody", __name__, url_prefix="/desk/find/<code>/custody")
access.keep(blueprint, reads="coordinator")
LONGEST = 200
KINDS = {"roll": roll, "a4": sheets}


def lines() -> Lines:
    """What writes specimens for people."""
    return Lines(wired(), specimen_words(wired().dialog, wired().programme))


@blueprint.get("")
def page(code: str) -> str:
    """The find's containers, its trail, its result."""
    return _page(code)


@blueprint.get("/labels-<kind>.pdf")
def labels(code: str, kind: str) -> Response:
    """A label for every container of the find, or for the one that is asked for."""
    if kind not in KINDS:
        raise NotFound
    shelf, write = CustodyShelf(stored()), lines()
    talks = shelf.talks([code])
    only, now = request.args.get("container", ""), wired().now()
    made = [
        write.label(s, trail, talks.get(s.find), wired().intake.links.specimen(s.code, now))
        for trail in shelf.trails(code)
        for s in trail.specimens
        if only in ("", s.code) and not s.released
    ]
    if not made:
        raise NotFound
    return Response(KINDS[kind](made, write.notes()), mimetype="application/pdf")


# ------------------------------------------------------------------------------ acts of a person


@blueprint.post("/<act>")
def act(code: str, act: str) -> Answer:
    """One act on the trail or the result, by its name in ACTS or TELLS."""
    talk = CustodyShelf(stored()).talks([code]).get(code)
    if talk is None:
        raise NotFound
    try:
        if act in TELLS:
            _tell(code, act)
        elif act in ACTS:
            event = ACTS[act](code)
            wired().intake.tell_custody([event], wired().now(), _seen(event))
        else:
            raise NotFound
    except (TrailMovedOnError, MovedOnError):
        return render_template("desk/custody_moved_on.html", code=code), 409
    except TooSoon as why:
        return _page(code, str(why)), 409
    except (LookupError, ValueError) as why:
        return _page(code, str(why)), 400
    return redirect(url_for("custody.page", code=code), 303)


def _tell(code: str, act: str) -> None:
    turn = request.form.get("turn", type=int)
    if turn is None:
        raise BadRequest("The form does not say what it was based on.")
    wired().intake.tell(code, TELLS[act](wired().now(), access.name()), wired().now(), turn)


def _seen(event: CustodyEvent) -> int | None:
    """How much of the trail the page had seen; a new trail has none."""
    if isinstance(event, Made) and not event.code:
        return None
    seen = request.form.get("seen", type=int)
    if seen is None:
        raise BadRequest("The form does not say what it was based on.")
    return seen


def _field(name: str) -> str:
    return request.form.get(name, "").replace("\x00", "").strip()[:LONGEST]


def _one_of(name: str, allowed: tuple[str, ...]) -> str:
    said = _field(name)
    if said not in allowed:
        raise ValueError(f"{name}: choose one of those that are offered")
    return said


def _container(code: str) -> str:
    """The container that a form is about: one under a trail of this find."""
    said = _field("container") or code
    known = {s.code for t in CustodyShelf(stored()).trails(code) for s in t.specimens}
    if said not in known and said != code:
        raise ValueError(f"{said} is no specimen of this find")
    return said


def _at() -> datetime:
    """When it happened, by the programme's clock; now where the form says nothing."""
    said, now = _field("at"), wired().now()
    if not said:
        return now
    try:
        at = datetime.fromisoformat(said)
    except ValueError:
        raise ValueError("the time is not like 2026-11-25T18:30") from None
    at = at if at.tzinfo else at.replace(tzinfo=wired().programme.zone)
    if at > now:
        raise ValueError("that time is still to come")
    return at


def _hand_over(code: str) -> CustodyEvent:
    return HandedOver(
        at=_at(),
        by=access.name(),
        code=_container(code),
        giver=_field("giver"),
        receiver=_receiver(),
        place=_field("place"),
        state=cast(State, _one_of("state", get_args(State))),
        words=_field("words"),
    )


def _receiver() -> str:
    """Who has it now, "" where it is lost from sight; silence is no answer."""
    said = _field("other") or _field("receiver")
    if not said:
        raise ValueError("say who has it now")
    return "" if said == "lost" else said


def _add(code: str) -> CustodyEvent:
    trail = CustodyShelf(stored()).trail(code)
    part = cast(Part, _one_of("part", get_args(Part)))
    state = cast(State, _one_of("state", get_args(State)))
    return Made(_at(), access.name(), next_container(trail), part, _field("receiver"), state)


def _unlabelled(code: str) -> CustodyEvent:
    finds = tuple(dict.fromkeys((code, *find_codes(_field("finds").upper()))))
    if len(finds) < 2:
        raise ValueError("name the other find that it may belong to")
    part = cast(Part, _one_of("part", get_args(Part)))
    return Made(_at(), access.name(), "", part, _field("receiver"), either_of=finds)


def _settle(code: str) -> CustodyEvent:
    return Settled(_at(), access.name(), _container(code), _receiver(), _field("words"))


def _decide(code: str) -> CustodyEvent:
    container = _container(code)
    specimen = CustodyShelf(stored()).trail(container).specimen(container)
    find = _one_of("find", specimen.either_of if specimen else ())
    return Decided(_at(), access.name(), container, find, _field("words"))


def _lab(code: str) -> CustodyEvent:
    said = LabSaid(
        at=_at(),
        by=access.name(),
        code=_container(code),
        status=cast(Status, _one_of("status", get_args(Status)[1:])),
        lab_number=_field("lab_number"),
        outcome=cast(Outcome, _one_of("outcome", get_args(Outcome))),
        words=_field("words"),
    )
    if bool(said.outcome) != (said.status in ("provisional", "final", "amended")):
        raise ValueError("a result goes with provisional, final and amended, and with nothing else")
    _, faults = weigh([Entry(1, said)], CustodyShelf(stored()).history())
    if faults:
        raise ValueError("; ".join(f.what for f in faults))
    return said


def _jaw(code: str) -> CustodyEvent:
    how = cast(Release, _one_of("how", get_args(Release)[1:]))
    if how != "kept" and not wired().programme.head.laboratory.releases_jaws:
        raise ValueError("the laboratory releases no jaws: it can only be kept")
    return JawReleased(_at(), access.name(), _container(code), how, _field("words"))


ACTS: Mapping[str, Callable[[str], CustodyEvent]] = {
    "hand-over": _hand_over,
    "add": _add,
    "unlabelled": _unlabelled,
    "settle": _settle,
    "decide": _decide,
    "lab": _lab,
    "jaw": _jaw,
}
TELLS: Mapping[str, type[AuthorityTold] | type[ResultApproved]] = {
    "authority-told": AuthorityTold,
    "approve": ResultApproved,
}


# ------------------------------------------------------------------------------------- the page


def _page(code: str, why: str = "") -> str:
    shelf = CustodyShelf(stored())
    talk = shelf.talks([code]).get(code)
    if talk is None:
        raise NotFound
    write = lines()
    trails = shelf.trails(code)
    return render_template(
        "desk/custody.html",
        code=code,
        talk=talk,
        trails=trails,
        held=[(t, s) for t in trails for s in t.specimens],
        standing=[f for t in trails for f in open_questions(t)],
        told=[(t, e, _found(t, n)) for t in trails for n, e in enumerate(t.events)],
        names=write.words,
        local=write.local,
        holders_in=lambda said: " and ".join(
            map(write.words.holder, filter(None, said.split(", ")))
        ),
        root_of=root_of,
        wants_jaw="want" in getattr(getattr(talk.answers.get("jaw"), "value", None), "keys", ()),
        approval=_approval(talk),
        states=get_args(State),
        parts=get_args(Part),
        statuses=get_args(Status)[1:],
        outcomes=get_args(Outcome)[1:],
        why=why,
    )


def _found(trail: Trail, number: int) -> list[str]:
    """What was found wrong with one event of a trail: what it adds to the findings before."""
    before = _findings_after(trail, number)
    return [f.reason for f in _findings_after(trail, number + 1)[len(before) :]]


def _findings_after(trail: Trail, count: int) -> tuple[Finding, ...]:
    return told(trail.root, trail.events[:count]).findings


def _approval(talk: Conversation) -> dict[str, object]:
    """What waits before the hunter hears the result, and the very words he would hear."""
    again = "amended_" if talk.result_told else ""
    speaker = Speaker(talk, wired().dialog, wired().programme)
    return {
        "authority": POSITIVE in talk.reviews,
        "approve": TO_APPROVE in talk.reviews,
        "text": speaker.say(f"result_{again}{talk.result}") if talk.result else "",
    }
