"""/chat: the hunter's conversation in a browser, by the same intake as any text.

Every form carries an id of its own, made here or, without signal, by the browser: a page sent
twice is one text. All of it works without JavaScript; with it, the same routes answer JSON.
"""

from __future__ import annotations

import secrets
from datetime import timedelta
from typing import Any

import msgspec
from flask import jsonify, redirect, request, url_for
from flask_wtf.csrf import generate_csrf
from werkzeug.wrappers import Response

from bot.gateways import payload
from bot.gateways.protocol import BadBody
from bot.messages import Heard, Photo, Pin
from bot.service.desk_rows import ChatTalk, Line
from bot.talk.buttons import buttons_for, place_wanted
from bot.web import throttle, wired
from bot.web.chat_session import (
    GATEWAY,
    chat_blueprint,
    mark_of,
    pen,
    render,
    talk_so_far,
    visitor,
)
from bot.web.chat_words import Speech, speech_for
from bot.web.pictures import BadPicture, hear_with_pictures, keep_picture

blueprint = chat_blueprint("chat")
LONGEST_TEXT = 2000
LONGEST_WAIT_MS = 30 * 24 * 3600 * 1000
NOTEWORTHY = timedelta(minutes=3)
"""A text that took longer is shown with the time at which it was written."""

SCRIPT_WORDS = (
    *("empty", "large_photo", "bad_photo", "photo_ready", "photo_out", "waits", "sending"),
    *("sent", "not_taken", "take_away", "all_sent", "no_signal", "here_kill_place"),
    *("here_head_at", "here_out", "here_looking", "here_found", "here_rough", "here_none", "you"),
    *("with_photo", "with_position"),
)
"""What the page's script says, by key."""

Answer = str | Response | tuple[str | Response, int] | tuple[str | Response, int, dict[str, str]]


class Refused(Exception):
    """What was sent cannot be taken, with the key of the sentence that says why."""

    def __init__(self, why: str) -> None:
        super().__init__(why)
        self.why = why


@blueprint.get("")
def talk() -> str:
    """The conversation so far, and a form to go on with it."""
    return _page()


@blueprint.get("/news")
def news() -> Response:
    """What was said after the last line that the browser has, and how the talk stands, as JSON."""
    told = talk_so_far(request.args.get("after", 0, type=int))
    speech = speech_for(told.conversation)
    return jsonify(
        entries=[_told(_line(entry, speech)) for entry in told.entries],
        after=told.after,
        talk=mark_of(visitor()),
        language=speech.language,
        **_standing(told),
    )


@blueprint.get("/token")
def token() -> Response:
    """What a form that waited for signal must carry; the one in the page may be old by then."""
    return jsonify(token=generate_csrf(), talk=mark_of(visitor()))


@blueprint.post("")
def say() -> Answer:
    """One text from the browser. It is in the database when this answers."""
    wants_json = request.accept_mimetypes.best == "application/json"
    if wait := _too_fast():
        return _slow_down(wait, wants_json)
    try:
        heard = _heard()
    except Refused as refused:
        speech = speech_for(talk_so_far().conversation)
        if wants_json:
            return jsonify(why=speech.say(refused.why)), 400
        return _page(speech.say(refused.why), request.form.get("text", "")), 400
    hear_with_pictures(wired(), heard, wired().now())
    if wants_json:
        return jsonify(entry=_new_entry())
    return redirect(url_for("chat.talk", _anchor="pen"), 303)


def _too_fast() -> timedelta:
    """How long this browser, or its address, has to wait; if not at all, the text is counted."""
    if wait := throttle.wait_for(throttle.BROWSER, visitor()):
        return wait
    if wait := throttle.take(throttle.CHAT, throttle.address()):
        return wait
    return throttle.take(throttle.BROWSER, visitor())


def _slow_down(wait: timedelta, wants_json: bool) -> Answer:
    """429: what was written stays in the pen, or on the telephone until it comes again."""
    seconds = throttle.seconds(wait)
    why = speech_for(talk_so_far().conversation).say("too_fast", seconds=seconds)
    told = jsonify(why=why) if wants_json else _page(why, request.form.get("text", ""))
    return told, 429, {"Retry-After": str(seconds)}


def _heard() -> Heard:
    """The posted form as a text, or Refused."""
    body = payload.as_text(request.form.get("text", ""), "text")[:LONGEST_TEXT].strip()
    pin, photos = _pin(), _photos()
    if not body and pin is None and not photos:
        raise Refused("empty")
    entry = request.form.get("entry", "")[:64] or _new_entry()
    return Heard(
        id=f"{pen()}:{entry}",
        gateway=GATEWAY,
        sender=visitor(),
        body=body,
        sent_at=wired().now() - _waited(),
        pin=pin,
        photos=photos,
    )


def _waited() -> timedelta:
    """How long the text lay on the telephone. A length and no time of day, so that a clock that
    is wrong does not put an answer before its question."""
    try:
        ms = payload.as_number(request.form.get("waited") or 0, "waited", 0, LONGEST_WAIT_MS)
    except BadBody:
        return timedelta(0)
    return timedelta(milliseconds=ms)


def _pin() -> Pin | None:
    lat, lon = request.form.get("lat"), request.form.get("lon")
    if not lat or not lon:
        return None
    try:
        return payload.as_pin(lat, lon, request.form.get("accuracy") or None, "")
    except BadBody:
        raise Refused("bad_position") from None


def _photos() -> tuple[Photo, ...]:
    data, exif = _file("photo"), _file("exif")
    if not data:
        return ()
    try:
        return (keep_picture(wired(), data, exif),)
    except BadPicture:
        raise Refused("bad_photo") from None


def _file(name: str) -> bytes:
    file = request.files.get(name)
    return file.read() if file else b""


def _page(why: str = "", draft: str = "") -> str:
    name, told = visitor(), talk_so_far()
    speech = speech_for(told.conversation)
    return render(
        "chat/talk.html",
        speech,
        entries=[_line(entry, speech) for entry in told.entries],
        after=told.after,
        talk=mark_of(name),
        entry=_new_entry(),
        why=why,
        draft=draft,
        moment=speech.moment,
        script_words=speech.raw(SCRIPT_WORDS),
        **_standing(told),
    )


def _standing(told: ChatTalk) -> dict[str, Any]:
    """What can be pressed now, and what a position would answer."""
    wiring = wired()
    buttons = buttons_for(told.conversation, wiring.dialog, wiring.programme)
    return {
        "buttons": msgspec.to_builtins(buttons),
        "place": place_wanted(told.conversation, wiring.dialog, wiring.programme),
    }


def _line(entry: Line, speech: Speech) -> dict[str, Any]:
    notes = ["with_photo"] * bool(entry.photos) + ["with_position"] * bool(entry.pin)
    words = [speech.say(note) for note in notes]
    written = entry.sent_at if entry.inward else None
    if written and entry.at - written > NOTEWORTHY:
        words.append(speech.say("written", when=speech.moment(written)))
    who = "you" if entry.inward else "person" if entry.kind == "person" else "bot"
    return {
        "id": entry.id,
        "who": "you" if entry.inward else "us",
        "name": speech.say(who),
        "at": entry.at,
        "moment": speech.moment(entry.at),
        "body": entry.body,
        "notes": words,
    }


def _told(line: dict[str, Any]) -> dict[str, Any]:
    return {**line, "at": line["at"].isoformat()}


def _new_entry() -> str:
    return secrets.token_urlsafe(9)
