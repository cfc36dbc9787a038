"""/log-in/code: what a telephone shows, or a code from paper, after the right password.

Tries are counted by account, from wherever they come: whoever gets here knows the password. Each
failure is written down for the administrators.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from flask import Blueprint, redirect, render_template, request, session, url_for

from bot.service import audit
from bot.service.second_factor import Factors
from bot.web import accounts, stored, throttle, wired
from bot.web.accounts import WAITS, Answer

blueprint = Blueprint("second_step", __name__)
FAILED = "second_step.failed"
PATIENCE = timedelta(minutes=5)
"""Between the password and the code."""


@blueprint.get("/log-in/code")
def ask() -> Answer:
    """The page that asks."""
    return _page() if _waiting() else redirect(url_for("accounts.log_in"))


@blueprint.post("/log-in/code")
def answer() -> Answer:
    """What was typed, and where it leads."""
    name, now = _waiting(), wired().now()
    account = wired().accounts.account(name) if name else None
    if account is None:
        return redirect(url_for("accounts.log_in"))
    who = f"second factor {name}"
    if wait := accounts.shut_for(who):
        left = throttle.seconds(wait)
        return _page(f"Too many tries. Wait {left} seconds."), 429, {"Retry-After": str(left)}
    factors = Factors(stored(), wired().settings.sealer)
    if not factors.check(name, request.form.get("code", "")[:100], now):
        accounts.failed(who)
        audit.note(stored(), now, name, FAILED)
        return _page("That code is not good, or was used already."), 403
    accounts.failures().clear(who, now)
    return accounts.enter(account.name, account.role, _then())


def _waiting() -> str:
    """Who has given his password a short while ago, "" for nobody."""
    waits = session.get(WAITS) or {}
    try:
        at = datetime.fromisoformat(str(waits.get("at", "")))
    except ValueError:
        return ""
    return str(waits["name"]) if timedelta(0) <= wired().now() - at <= PATIENCE else ""


def _page(why: str = "") -> str:
    return render_template("accounts/code.html", then=_then(), why=why)


def _then() -> str:
    return accounts.local(request.values.get("then", ""))
