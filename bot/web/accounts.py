"""Logging in to the desk and out of it. Failures cost a delay that grows with each of them."""

from __future__ import annotations

import logging
from dataclasses import dataclass
from datetime import datetime, timedelta

from flask import Blueprint, current_app, redirect, render_template, request, session, url_for
from flask_login import LoginManager, UserMixin, login_user, logout_user
from werkzeug.wrappers import Response

from bot.service.sessions import Doors
from bot.service.tallies import Tallies
from bot.web import throttle, wired

blueprint = Blueprint("accounts", __name__)
log = logging.getLogger(__name__)
KEY = "door"
"""Where a browser's session keeps the key of its log-in."""
FREE_TRIES = 3
LONGEST_DELAY = timedelta(minutes=15)
FORGIVEN_AFTER = timedelta(days=1)
"""Without another failure."""
Answer = str | Response | tuple[str, int] | tuple[str, int, dict[str, str]]


class Coordinator(UserMixin):  # type: ignore[misc]  # flask-login has no types
    """Who is logged in: a name, which is also the id, and a role."""

    def __init__(self, name: str, role: str) -> None:
        self.id = name
        self.name = name
        self.role = role


def delay_after(failures: int) -> timedelta:
    """How long a name is shut after so many failures in a row: nothing for the first few, then
    2 s, 4 s, 8 s ... up to a quarter of an hour."""
    if failures < FREE_TRIES:
        return timedelta(0)
    return min(timedelta(seconds=2 ** min(failures - FREE_TRIES + 1, 12)), LONGEST_DELAY)


@dataclass(frozen=True, slots=True)
class Failures:
    """The latest failures by name and address, of all processes: nobody else's tries shut a
    coordinator out. Names that nobody has are counted alike."""

    tallies: Tallies

    def shut_for(self, name: str, now: datetime) -> timedelta:
        """How much longer a name has to wait."""
        failed = self.tallies.seen(_failing(name), now)
        if failed is None:
            return timedelta(0)
        return max(timedelta(0), failed.latest_at + delay_after(failed.count) - now)

    def add(self, name: str, now: datetime) -> None:
        """One more failure."""
        self.tallies.add(_failing(name), now, FORGIVEN_AFTER, slides=True)

    def clear(self, name: str, now: datetime) -> None:
        """The right password was given."""
        if self.tallies.seen(_failing(name), now):
            self.tallies.clear(_failing(name))


def _failing(name: str) -> str:
    return f"password {name}"


def _known(name: str) -> Coordinator | None:
    """Whoever a session remembers, if neither the account nor the log-in has ended."""
    database, now = wired().database, wired().now()
    if database is None:
        account = wired().accounts.account(name)
    else:
        account = Doors(database).account(str(session.get(KEY, "")), now)
    return Coordinator(account.name, account.role) if account and account.name == name else None


def login_manager() -> LoginManager:
    """flask-login, told where the log-in page is and who a stored name is."""
    manager = LoginManager()
    manager.login_view = "accounts.log_in"
    manager.login_message = ""
    manager.session_protection = "basic"
    manager.user_loader(_known)
    return manager


@blueprint.route("/log-in", methods=["GET", "POST"])
def log_in() -> Answer:
    """The log-in page, and what comes of it."""
    if request.method == "GET":
        return render_template("accounts/log_in.html", then=request.args.get("next", ""))
    return _try(
        request.form.get("name", "").strip().lower()[:200], request.form.get("password", "")[:1000]
    )


def _try(name: str, password: str) -> Answer:
    wiring = wired()
    failures, now = _failures(), wiring.now()
    who = f"{name} {request.remote_addr}"
    wait = failures.shut_for(who, now)
    wait = max(wait, throttle.wait_for(throttle.LOG_INS, throttle.address()))
    if wait:
        log.warning("log_in_shut")
        return _many(wait)
    account = wiring.accounts.check_password(name, password)
    if account is None:
        log.warning("log_in_failed")  # Without the name: it may be a password in the wrong field.
        failures.add(who, now)
        throttle.take(throttle.LOG_INS, throttle.address())
        return _refuse("That name and password do not go together.", 403)
    failures.clear(who, now)
    then = _local(request.form.get("then", ""))
    session.clear()  # A session from before the log-in must not become one that is logged in.
    if wiring.database is not None:
        browser = str(request.user_agent)
        session[KEY] = Doors(wiring.database).begin(account.name, browser, now)
    login_user(Coordinator(account.name, account.role))
    return redirect(then or url_for("desk.review"))


def _failures() -> Failures:
    failures: Failures = current_app.extensions["bushpost_failures"]
    return failures


def _many(wait: timedelta) -> tuple[str, int, dict[str, str]]:
    left = str(throttle.seconds(wait))
    return *_refuse(f"Too many tries. Wait {left} seconds.", 429), {"Retry-After": left}


def _refuse(why: str, status: int) -> tuple[str, int]:
    then = _local(request.form.get("then", ""))
    return render_template("accounts/log_in.html", then=then, why=why), status


def _local(path: str) -> str:
    """The path if it stays on this host, else ""."""
    good = path.startswith("/") and not path.startswith(("//", "/\\"))
    return path if good and path.isprintable() and "\\" not in path else ""


@blueprint.post("/log-out")
def log_out() -> Response:
    """End the session, for whoever has a copy of its cookie too."""
    database = wired().database
    if database is not None and KEY in session:
        Doors(database).end(str(session.pop(KEY)), wired().now())
    logout_user()
    return redirect(url_for("pages.front"))
