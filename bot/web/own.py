"""/desk/own: one's own password, second factor and open log-ins.

Law: the password is asked for before any of them changes, so that a screen that was left open
changes none. Wrong ones are counted as at the log-in.
"""

from __future__ import annotations

import segno
from flask import Blueprint, redirect, render_template, request, session, url_for
from markupsafe import Markup

from bot.service import totp
from bot.service.accounts import LEAST_PASSWORD, AccountError, Accounts
from bot.service.second_factor import Factors
from bot.service.sessions import Doors
from bot.web import access, accounts, stored, throttle, wired
from bot.web.accounts import Answer
from bot.web.people import browser_words

blueprint = Blueprint("own", __name__, url_prefix="/desk/own")
access.keep(blueprint, reads="viewer", writes="viewer")


@blueprint.get("/")
def page() -> str:
    """Everything of one's own."""
    return _page()


@blueprint.post("/password")
def password() -> Answer:
    """Another password; every other log-in ends, and this one gets a new key."""
    new, again = request.form.get("new", ""), request.form.get("again", "")
    if refused := _unproved():
        return refused
    if new != again:
        return _page("The two new passwords differ."), 400
    try:
        known = [wired().programme.head.name]
        Accounts(stored()).change_password(access.name(), new, known)
    except AccountError as fault:
        return _page(f"Not changed: {fault}."), 400
    doors, now = Doors(stored()), wired().now()
    doors.end_all(access.name(), now)
    session[accounts.KEY] = doors.begin(access.name(), str(request.user_agent), now)
    return _page(done="The password is changed. Your other log-ins have ended.")


@blueprint.post("/second")
def second() -> Answer:
    """A new secret, shown as a picture and as text; asked for only after its first code."""
    if refused := _unproved():
        return refused
    try:
        secret = _factors().propose(access.name(), wired().now())
    except AccountError as fault:
        return _page(f"Not changed: {fault}."), 400
    return _offer(secret)


@blueprint.post("/second/confirm")
def confirm() -> Answer:
    """The first code of the new secret: from now on it is asked for."""
    factors, name = _factors(), access.name()
    secret = factors.proposed(name)
    if secret is None:
        return redirect(url_for("own.page"), 303)
    if wait := accounts.shut_for(_who()):
        return _many(throttle.seconds(wait))
    codes = factors.confirm(name, request.form.get("code", "")[:100], wired().now())
    if not codes:
        accounts.failed(_who())
        return _offer(secret, "That is not the code of now. Look whether the clock is right."), 400
    return render_template("desk/own_codes.html", codes=codes, first=True)


@blueprint.post("/codes")
def codes() -> Answer:
    """New codes on paper in place of the old ones."""
    if refused := _unproved():
        return refused
    if not _factors().since(access.name()):
        return redirect(url_for("own.page"), 303)
    new = _factors().renew_paper(access.name(), wired().now())
    return render_template("desk/own_codes.html", codes=new, first=False)


@blueprint.post("/second/away")
def away() -> Answer:
    """The password is enough again."""
    if refused := _unproved():
        return refused
    _factors().remove(access.name())
    return _page(done="The second factor is taken away. Your password is enough again.")


@blueprint.post("/end")
def end() -> Answer:
    """End one of one's own log-ins, or all the others."""
    if refused := _unproved():
        return refused
    doors, now, id = Doors(stored()), wired().now(), request.form.get("session", "")
    if id:
        doors.end_own(access.name(), id, now)
    else:
        doors.end_others(access.name(), _key(), now)
    return redirect(url_for("own.page"), 303)


def _unproved() -> Answer | None:
    """What is answered where the password in the form is not one's own; None where it is."""
    if wait := accounts.shut_for(_who()):
        return _many(throttle.seconds(wait))
    given = request.form.get("password", "")[:1000]
    if wired().accounts.check_password(access.name(), given) is None:
        accounts.failed(_who())
        return _page("That is not your password. Nothing was changed."), 403
    accounts.failures().clear(_who(), wired().now())
    return None


def _who() -> str:
    return f"own {access.name()}"


def _many(left: int) -> Answer:
    return _page(f"Too many tries. Wait {left} seconds."), 429, {"Retry-After": str(left)}


def _page(why: str = "", done: str = "") -> str:
    name, now, factors, doors = access.name(), wired().now(), _factors(), Doors(stored())
    opened = [(s, doors.is_of(s.id, _key())) for s in doors.opened(name, now)]
    since = factors.since(name)
    return render_template(
        "desk/own.html",
        least=LEAST_PASSWORD,
        since=since,
        must=not since and access.lacks_second(),
        left=factors.paper_left(name) if since else 0,
        opened=opened,
        browser=browser_words,
        why=why,
        done=done,
    )


def _offer(secret: bytes, why: str = "") -> str:
    address = totp.otpauth(secret, wired().programme.head.name, access.name())
    picture = segno.make(address, error="m").svg_inline(border=4, light="#fff", omitsize=True)
    text = totp.as_text(secret)
    grouped = " ".join(text[at : at + 4] for at in range(0, len(text), 4))
    return render_template(
        "desk/own_second.html",
        picture=Markup(picture),  # noqa: S704 - drawn here, of squares alone
        address=address,
        secret=grouped,
        why=why,
    )


def _factors() -> Factors:
    return Factors(stored(), wired().settings.sealer)


def _key() -> str:
    return str(session.get(accounts.KEY, ""))
