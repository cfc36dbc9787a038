"""/chat/number: a find that began by text goes on here, and one that began here by text.

A number is proved by the code that is sent to it (bot/service/number_door.py has the law). The
page says the same whether we know the number or not.
"""

from __future__ import annotations

from flask import redirect, request, session, url_for
from werkzeug.exceptions import NotFound
from werkzeug.wrappers import Response

from bot.programme import e164
from bot.service.number_door import GOOD_FOR, MOST_TRIES, CodeOrder
from bot.web import wired
from bot.web.chat_session import (
    can_text,
    chat_blueprint,
    fresh_name,
    render,
    take_name,
    talk_so_far,
    visitor,
)
from bot.web.chat_words import speech_for

blueprint = chat_blueprint("chat_number")
ASKED = "chat_number"
"""The number to which this browser's latest code went."""
MINUTES = int(GOOD_FOR.total_seconds() // 60)


@blueprint.before_request
def only_with_texts() -> None:
    """Without a gateway for texts there is nothing to join."""
    if not can_text():
        raise NotFound


@blueprint.get("/number")
def page() -> str:
    """Which number, then which code; and once it is proved, that it is."""
    return _page()


@blueprint.post("/number")
def ask() -> str | Response | tuple[str, int]:
    """Send a code to a number."""
    typed = request.form.get("number", "")[:40]
    number = e164(typed, wired().programme.head.country)
    if number is None:
        return _page("number_none"), 400
    speech = speech_for(talk_so_far().conversation)
    order = CodeOrder(
        session=visitor(),
        number=number,
        asked_from=request.remote_addr or "",
        wording=lambda code: speech.say("code_text", code=code, minutes=MINUTES),
    )
    wiring = wired()
    if not wiring.intake.ask_code(order, wiring.settings.secret_key, wiring.now()):
        return _page("number_many"), 429
    session[ASKED] = number
    return redirect(url_for("chat_number.page"), 303)


@blueprint.post("/code")
def prove() -> str | Response | tuple[str, int]:
    """Take the code that came to the number."""
    wiring, fresh = wired(), fresh_name()
    typed = request.form.get("code", "")[:40]
    key = wiring.settings.secret_key
    if not wiring.intake.prove_number(visitor(), typed, fresh, key, wiring.now()):
        return _page("code_wrong"), 403
    session.pop(ASKED, None)
    take_name(fresh)
    return redirect(url_for("chat_number.page"), 303)


@blueprint.post("/another")
def another() -> Response:
    """Begin again with a number."""
    session.pop(ASKED, None)
    return redirect(url_for("chat_number.page"), 303)


def _page(why: str = "") -> str:
    told = talk_so_far()
    speech = speech_for(told.conversation)
    return render(
        "chat/number.html",
        speech,
        here=url_for("chat_number.page"),
        why=speech.say(why, tries=MOST_TRIES) if why else "",
        asked=session.get(ASKED, ""),
        proved=told.number,
        minutes=MINUTES,
    )
