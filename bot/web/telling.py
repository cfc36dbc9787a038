"""What every form of the desk does with what it was sent: one event, told to intake.

Each form carries the turn that its page was based on. Whoever comes second is told so (409),
keeps his words, and nothing is written over.
"""

from __future__ import annotations

from collections.abc import Callable

from flask import redirect, render_template, request, url_for
from werkzeug.exceptions import BadRequest, NotFound
from werkzeug.wrappers import Response

from bot.messages import Event, PickupEvent
from bot.service.sorting_door import MovedOnError
from bot.talk.conversation import NotUnderstood
from bot.web import wired

Answer = str | Response | tuple[str, int]


def tell(code: str, event: Event, draft: str = "", anchor: str = "") -> Answer:
    """Tell a find's conversation what a coordinator did; then show the card."""
    return _told(code, lambda turn: wired().intake.tell(code, event, event.at, turn), draft, anchor)


def tell_pickup(code: str, event: PickupEvent) -> Answer:
    """Tell a find's pickup what a coordinator did; then show the card."""
    return _told(
        code, lambda turn: wired().intake.tell_pickup(code, event, event.at, turn), "", "pickup"
    )


def turn_of_form() -> int:
    """The turn that a form was based on."""
    turn = request.form.get("turn", type=int)
    if turn is None:
        raise BadRequest("The form does not say what it was based on.")
    return turn


def words_of_form(field: str, longest: int) -> str:
    """One field's words, trimmed; BadRequest if there are none or too many."""
    words = request.form.get(field, "").replace("\x00", "").strip()
    if not words:
        raise BadRequest("Nothing was written.")
    if len(words) > longest:
        raise BadRequest(f"That is longer than {longest} characters.")
    return words


def _told(code: str, say: Callable[[int], object], draft: str, anchor: str) -> Answer:
    try:
        say(turn_of_form())
    except LookupError:
        raise NotFound from None
    except NotUnderstood:
        raise BadRequest(
            "Nobody could read that as an answer to this question. Nothing was changed."
        ) from None
    except MovedOnError:
        return render_template("desk/moved_on.html", code=code, draft=draft), 409
    return redirect(url_for("desk.find", code=code, _anchor=anchor or None), 303)
