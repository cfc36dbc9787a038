"""Who is in a browser before the chat, and what its pages share.

Two names in the signed cookie: the visitor's, by which his talk is read, which changes when a
number is proved; and the pen's, which every text's id begins with and which never changes, so
that a text that is sent twice around a proof is still one.
"""

from __future__ import annotations

import hashlib
import secrets
from typing import Any

from flask import Blueprint, render_template, request, session
from werkzeug.exceptions import NotFound

from bot.service.desk_rows import ChatTalk
from bot.web import wired
from bot.web.chat_words import Speech, languages, pick_language, speech_for

GATEWAY = "chat"
PEN = "chat_pen"


def chat_blueprint(name: str) -> Blueprint:
    """Pages below /chat. A programme without a chat among its gateways has none of them."""
    blueprint = Blueprint(name, f"bot.web.{name}", url_prefix="/chat")
    blueprint.before_request(_only_where_there_is_one)
    return blueprint


def _only_where_there_is_one() -> None:
    if GATEWAY not in wired().gateways:
        raise NotFound
    pick_language()


def visitor() -> str:
    """The name of whoever is in this browser; made with the first page, so that a text whose
    answer is lost on the way is known when it comes again."""
    name = session.get(GATEWAY)
    if not isinstance(name, str):
        name = take_name(fresh_name())
    return name


def fresh_name() -> str:
    """A name that nobody has."""
    return secrets.token_urlsafe(16)


def take_name(name: str) -> str:
    """Be known by a name from now on; the pen stays."""
    pen = session.get(PEN) or session.get(GATEWAY) or name
    session[GATEWAY], session[PEN] = name, pen
    session.permanent = True
    return name


def pen() -> str:
    """What the ids of this browser's texts begin with."""
    name = visitor()
    return str(session.get(PEN) or name)


def mark_of(name: str) -> str:
    """A sign of whose talk a page holds that does not give the name away."""
    return hashlib.sha256(name.encode()).hexdigest()[:16]


def talk_so_far(after: int = 0) -> ChatTalk:
    """The visitor's talk after a point; nobody's is empty."""
    name = session.get(GATEWAY)
    return wired().desk.chat_talk(name, after) if isinstance(name, str) else ChatTalk((), 0)


def can_text() -> bool:
    """Whether the programme has a gateway by which a number gets texts."""
    rows = wired().programme.head.gateways
    return any(row.kind != "chat" for row in rows.values())


def has_drawings() -> bool:
    """Whether the programme guides a look at the glands, which is off until it says so."""
    return wired().programme.head.guided_check and bool(wired().dialog.check_steps)


def render(template: str, speech: Speech | None = None, **values: Any) -> str:
    """A hunter's page in his language."""
    speech = speech or speech_for(talk_so_far().conversation)
    values.setdefault("here", request.path)
    return render_template(
        template,
        lang=speech.language,
        say=speech.say,
        say_with=speech.say_with,
        names={code: speech.name_of(code) for code in languages()},
        can_text=can_text(),
        has_drawings=has_drawings(),
        **values,
    )
