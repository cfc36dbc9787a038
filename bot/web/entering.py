"""/desk/enter: finds that were told at the telephone, at the counter or by the crate, each by the
same machine as a text; joining two talks of one animal, splitting two animals out of one talk."""

from __future__ import annotations

import secrets
from typing import get_args

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.exceptions import BadRequest, NotFound

from bot.reading.codes import find_codes
from bot.service.beginning import TakenCode
from bot.service.codes import draw
from bot.service.sorting_door import Entry, How, MovedOnError
from bot.talk.sorting import CannotSort
from bot.web import access, wired
from bot.web.telling import Answer, turn_of_form, words_of_form

blueprint = Blueprint("entering", __name__, url_prefix="/desk")
access.keep(blueprint, reads="coordinator")
HOWS: dict[str, How] = {each: each for each in get_args(How)}
LONGEST_WORDS = 1500
LONGER_CODES = 1
"""Printed codes have a character more than drawn ones, so that no text begins under one."""
CODES_A_SHEET = 30


@blueprint.get("/enter")
def form() -> str:
    """The form, for a crate with what the heads of one crate share."""
    return _page(request.args.get("done", "")[:20])


@blueprint.post("/enter")
def enter() -> Answer:
    """One find. For a crate the form comes back for the next head, else the card."""
    how = HOWS.get(request.form.get("how", ""))
    if how is None:
        raise BadRequest("Say how it was told.")
    own, shared = words_of_form("words", LONGEST_WORDS), _field("shared", LONGEST_WORDS)
    entry = Entry(
        id=_field("entry", 60) or secrets.token_urlsafe(12),
        by=access.name(),
        how=how,
        words=f"{own}. {shared}" if shared else own,
        number=_field("number", 40),
        code=_field("code", 20),
        texts="texts" in request.form,
    )
    try:
        code = wired().intake.enter(entry, wired().now())
    except (CannotSort, TakenCode) as fault:
        return _page(fault=str(fault)), 400
    if how != "crate":
        return redirect(url_for("desk.find", code=code), 303)
    there = url_for("entering.form", done=code, how=how, shared=shared, number=entry.number)
    return redirect(there, 303)


@blueprint.get("/codes")
def codes() -> str:
    """A sheet of new codes to print and stick on a crate's bags beforehand."""
    sheet = sorted({draw(LONGER_CODES) for _ in range(CODES_A_SHEET)})
    return render_template("desk/codes.html", codes=sheet)


@blueprint.post("/find/<code>/join")
def join(code: str) -> Answer:
    """This talk is about the animal of another, and ends into it."""
    found = find_codes(_field("into", 40))
    if not found:
        raise BadRequest("That is no code of a find.")
    try:
        wired().intake.join(code, found[0], access.name(), wired().now(), turn_of_form())
    except LookupError:
        raise NotFound from None
    except CannotSort as fault:
        raise BadRequest(f"They cannot be joined: {fault}.") from None
    except MovedOnError:
        return render_template("desk/moved_on.html", code=code, draft=""), 409
    return redirect(url_for("desk.find", code=found[0]), 303)


@blueprint.post("/find/<code>/split")
def split(code: str) -> Answer:
    """A second animal of this talk gets a find of its own."""
    words, keys = words_of_form("words", LONGEST_WORDS), tuple(request.form.getlist("keep"))
    by, now = access.name(), wired().now()
    try:
        new = wired().intake.split(code, by, words, keys, now, turn_of_form())
    except LookupError:
        raise NotFound from None
    except CannotSort as fault:
        raise BadRequest(f"It cannot be split: {fault}.") from None
    except MovedOnError:
        return render_template("desk/moved_on.html", code=code, draft=words), 409
    return redirect(url_for("desk.find", code=new), 303)


def _field(name: str, longest: int) -> str:
    return request.form.get(name, "").replace("\x00", "").strip()[:longest]


def _page(done: str = "", fault: str = "") -> str:
    return render_template(
        "desk/enter.html",
        how=request.values.get("how", "telephone"),
        given=request.values,
        entry=secrets.token_urlsafe(12),
        done=done,
        fault=fault,
    )
