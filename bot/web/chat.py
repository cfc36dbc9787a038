"""/chat: the hunter's conversation in a browser, by the same intake as any text.

The visitor is known by a random name in the signed session cookie. Every form carries a name of
its own, so that a page sent twice is one text. All of it works without JavaScript; with it, the
same routes answer JSON.
"""

from __future__ import annotations

import secrets
from typing import Any

from flask import Blueprint, jsonify, redirect, render_template, request, session, url_for
from werkzeug.exceptions import NotFound
from werkzeug.wrappers import Response

from bot.gateways import payload
from bot.gateways.protocol import BadBody
from bot.messages import Heard, Photo, Pin
from bot.service.desk_rows import Line
from bot.web import wired
from bot.web.pictures import BadPicture, hear_with_pictures, keep_picture
from bot.web.words import moment

blueprint = Blueprint("chat", __name__, url_prefix="/chat")
GATEWAY = "chat"
LONGEST_TEXT = 2000

Answer = str | Response | tuple[str | Response, int]


class Refused(Exception):
    """What was sent cannot be taken, with the words that say why."""

    def __init__(self, why: str) -> None:
        super().__init__(why)
        self.why = why


@blueprint.before_request
def only_where_there_is_one() -> None:
    """A programme without a chat among its gateways has no such pages."""
    if GATEWAY not in wired().gateways:
        raise NotFound


@blueprint.get("")
def talk() -> str:
    """The conversation so far, and a form to go on with it."""
    return _page()


@blueprint.get("/news")
def news() -> Response:
    """What was said after the last line that the browser has, as JSON."""
    lines, after = _lines(request.args.get("after", 0, type=int))
    return jsonify(entries=[_told(line) for line in lines], after=after)


@blueprint.post("")
def say() -> Answer:
    """One text from the browser. It is in the database when this answers."""
    wants_json = request.accept_mimetypes.best == "application/json"
    try:
        heard = _heard()
    except Refused as refused:
        if wants_json:
            return jsonify(why=refused.why), 400
        return _page(refused.why, request.form.get("text", "")), 400
    hear_with_pictures(wired(), heard, wired().now())
    if wants_json:
        return jsonify(entry=_new_entry())
    return redirect(url_for("chat.talk", _anchor="pen"), 303)


def _heard() -> Heard:
    """The posted form as a text, or Refused."""
    now = wired().now()
    body = payload.as_text(request.form.get("text", ""), "text")[:LONGEST_TEXT].strip()
    pin, photos = _pin(), _photos()
    if not body and pin is None and not photos:
        raise Refused("Write something, or add a photo or your position.")
    sender = _visitor()
    entry = request.form.get("entry", "")[:64] or _new_entry()
    return Heard(
        id=f"{sender}:{entry}",
        gateway=GATEWAY,
        sender=sender,
        body=body,
        sent_at=now,
        pin=pin,
        photos=photos,
    )


def _pin() -> Pin | None:
    lat, lon = request.form.get("lat"), request.form.get("lon")
    if not lat or not lon:
        return None
    try:
        return payload.as_pin(lat, lon, request.form.get("accuracy") or None, "")
    except BadBody:
        raise Refused("That position cannot be right. Type it in instead.") from None


def _photos() -> tuple[Photo, ...]:
    file = request.files.get("photo")
    data = file.read() if file else b""
    if not data:
        return ()
    try:
        return (keep_picture(wired(), data),)
    except BadPicture:
        raise Refused("That photo cannot be opened. Send it as JPEG, PNG or WebP.") from None


def _page(why: str = "", draft: str = "") -> str:
    lines, after = _lines(0)
    return render_template(
        "chat/talk.html", entries=lines, after=after, entry=_new_entry(), why=why, draft=draft
    )


def _lines(after: int) -> tuple[list[dict[str, Any]], int]:
    """The lines of this visitor's talk after a point, and the point to ask from next time."""
    name = session.get(GATEWAY)
    if not isinstance(name, str):
        return [], after
    news = wired().desk.chat_talk(name, after)
    return [_line(entry) for entry in news.entries], news.after


def _line(entry: Line) -> dict[str, Any]:
    notes = ["with a photo"] * bool(entry.photos) + ["with a position"] * bool(entry.pin)
    return {
        "id": entry.id,
        "who": "you" if entry.inward else "us",
        "name": "You" if entry.inward else ("A person" if entry.kind == "person" else "Bushpost"),
        "at": entry.at,
        "body": entry.body,
        "notes": notes,
    }


def _told(line: dict[str, Any]) -> dict[str, Any]:
    return {**line, "at": line["at"].isoformat(), "moment": moment(line["at"])}


def _visitor() -> str:
    """The name of whoever is in this browser; made when the first text is sent."""
    name = session.get(GATEWAY)
    if not isinstance(name, str):
        name = session[GATEWAY] = secrets.token_urlsafe(16)
        session.permanent = True
    return name


def _new_entry() -> str:
    return secrets.token_urlsafe(9)
