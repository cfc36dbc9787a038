"""/desk/people: who may come in, by whose invitation, whose log-ins are open, who saw what; and
what a hunter may ask for: all that is held of him, or that it be erased. For administrators."""

from __future__ import annotations

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.exceptions import BadRequest, NotFound
from werkzeug.wrappers import Response

from bot.service.accounts import LEAST_PASSWORD, AccountError
from bot.service.audit import noted
from bot.service.erasing import NobodyError, erase, export, hunters_of
from bot.service.second_factor import Factors
from bot.service.sessions import Doors
from bot.web import access, stored, wired
from bot.web.telling import Answer, words_of_form

blueprint = Blueprint("people", __name__, url_prefix="/desk/people")
access.keep(blueprint, reads="administrator", writes="administrator")
guests = Blueprint("guests", __name__, url_prefix="/invited")
AUDIT_PAGE = 100
BROWSERS = ("Firefox", "Edg", "Chrome", "Safari")
MACHINES = ("Android", "iPhone", "iPad", "Windows", "Macintosh", "Linux")
"""As browsers name themselves; the first that stands in the name counts."""


@blueprint.get("/")
def page() -> str:
    """Accounts with their open log-ins, and the forms."""
    return _page()


@blueprint.post("/invite")
def invite() -> str:
    """A link for somebody to make an account by, shown once."""
    key = Doors(stored()).invite(_role(), access.name(), wired().now())
    return _page(link=url_for("guests.form", key=key, _external=True))


@blueprint.post("/<name>/role")
def role(name: str) -> Response:
    """Give somebody another role."""
    return _changed(lambda doors: doors.change_role(name, _role()))


@blueprint.post("/<name>/end")
def end(name: str) -> Response:
    """End one of somebody's log-ins, or all."""
    id, now = request.form.get("session", ""), wired().now()
    return _changed(lambda d: d.end_by_id(id, now) if id else d.end_all(name, now))


@blueprint.post("/<name>/second")
def second(name: str) -> Response:
    """Take somebody's second factor away, as when his telephone and his paper are gone."""
    Factors(stored()).remove(name)
    return redirect(url_for("people.page"), 303)


@blueprint.post("/<name>/remove")
def remove(name: str) -> Response:
    """Take an account away."""
    return _changed(lambda doors: doors.remove(name, wired().now()))


@blueprint.get("/audit")
def audit() -> str:
    """Who saw or changed what, newest first."""
    about = request.args.get("about", "").strip()[:80]
    rows = noted(stored(), about, request.args.get("before", type=int), AUDIT_PAGE + 1)
    older = rows[AUDIT_PAGE - 1].id if len(rows) > AUDIT_PAGE else None
    return render_template("desk/audit.html", rows=rows[:AUDIT_PAGE], about=about, older=older)


@blueprint.post("/export")
def give_export() -> Response:
    """All that is held of one hunter, as a file."""
    held = export(stored(), _hunters(), wired().settings.sealer)
    headers = {"Content-Disposition": "attachment; filename=held-of-one-hunter.json"}
    return Response(held, mimetype="application/json", headers=headers)


@blueprint.post("/erase")
def give_erasure() -> str:
    """Blank a hunter's words, number and name."""
    if request.form.get("sure", "").strip().lower() != "erase":
        raise BadRequest("Write the word erase to show that it is meant.")
    erased = erase(stored(), _hunters(), wired().now())
    return _page(done=f"{erased.texts} texts of {erased.talks} talks are blank now.")


@guests.get("/<key>")
def form(key: str) -> str:
    """Where an invitation leads."""
    role = Doors(stored()).invited(key, wired().now())
    if not role:
        raise NotFound("This invitation was used, or its seven days are over.")
    return render_template("accounts/invited.html", key=key, role=role, least=LEAST_PASSWORD)


@guests.post("/<key>")
def accept(key: str) -> Answer:
    """Make the account, once."""
    name, password = request.form.get("name", ""), request.form.get("password", "")
    doors, now = Doors(stored()), wired().now()
    try:
        doors.accept(key, name, password, now, [wired().programme.head.name])
    except AccountError as fault:
        role = doors.invited(key, now)
        given = {"key": key, "role": role, "least": LEAST_PASSWORD, "why": str(fault)}
        return render_template("accounts/invited.html", name=name, **given), 400
    return redirect(url_for("accounts.log_in"), 303)


def browser_words(agent: str) -> str:
    """ "Firefox, Linux": a browser's long name for itself, as far as a person wants to know it."""
    parts = (next((w for w in names if w in agent), "") for names in (BROWSERS, MACHINES))
    return ", ".join(filter(None, parts)) or "an unknown browser"


def _page(link: str = "", done: str = "") -> str:
    people = Doors(stored()).people(wired().now())
    return render_template(
        "desk/people.html",
        people=people,
        roles=access.ROLES,
        link=link,
        done=done,
        browser=browser_words,
    )


def _role() -> str:
    role = request.form.get("role", "")
    if role not in access.ROLES:
        raise BadRequest("There is no such role.")
    return role


def _changed(change: object) -> Response:
    try:
        change(Doors(stored()))  # type: ignore[operator]
    except AccountError as fault:
        raise BadRequest(str(fault)) from None
    return redirect(url_for("people.page"), 303)


def _hunters() -> tuple[int, ...]:
    try:
        return hunters_of(stored(), wired().programme, words_of_form("hunter", 80))
    except NobodyError as fault:
        raise NotFound(str(fault)) from None
