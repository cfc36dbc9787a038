"""Logging in to the desk and out of it. Failures cost a delay that grows with each of them.

Who has a second factor is not let in by his password: the browser remembers, signed and for five
minutes, that it was right, and `second_step` asks on.
"""

from __future__ import annotations

import logging
from dataclasses import dataclass
from datetime import datetime, timedelta

from flask import Blueprint, current_app, redirect, render_template, request, session, url_for
from flask_login import LoginManager, UserMixin, login_user, logout_user
from werkzeug.wrappers import Response

from bot.service.second_factor import Factors
from bot.service.sessions import Doors
from bot.service.tallies import Tallies
from bot.web import throttle, wired

blueprint = Blueprint("accounts", __name__)
log = logging.getLogger(__name__)
KEY = "door"
"""Where a browser's session keeps the key of its log-in."""
WAITS = "waits"
"""Where it keeps who has given his password and still owes the second factor."""
FREE_TRIES = 3
LONGEST_DELAY = timedelta(minutes=15)
FORGIVEN_AFTER = timedelta(days=1)
"""Without another failure."""
Answer = str | Response | tuple[str, int] | tuple[str, int, dict[str, str]]


class Coordinator(UserMixin):  # type: ignore[misc]  # flask-login has no types
    """Who is logged in: a name, which is also the id, a role, and whether he has a second
    factor."""

    def __init__(self, name: str, role: str, *, second: bool = False) -> None:
        self.id = name
        self.name = name
        self.role = role
        self.second = second


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
    if account is None or account.name != name:
        return None
    return Coordinator(account.name, account.role, second=getattr(account, "second", False))


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
    who = f"{name} {request.remote_addr}"
    if wait := shut_for(who):
        return _many(wait)
    account = wiring.accounts.check_password(name, password)
    if account is None:
        failed(who)  # Without the name in the log: it may be a password in the wrong field.
        return _refuse("That name and password do not go together.", 403)
    failures().clear(who, wiring.now())
    then = local(request.form.get("then", ""))
    if wiring.database and Factors(wiring.database).since(account.name):
        session.clear()
        session[WAITS] = {"name": account.name, "at": wiring.now().isoformat()}
        return redirect(url_for("second_step.ask", then=then))
    return enter(account.name, account.role, then)


def enter(name: str, role: str, then: str) -> Response:
    """Let somebody in who has shown all that he is asked for."""
    wiring = wired()
    session.clear()  # A session from before the log-in must not become one that is logged in.
    if wiring.database is not None:
        browser = str(request.user_agent)
        session[KEY] = Doors(wiring.database).begin(name, browser, wiring.now())
    login_user(Coordinator(name, role))
    return redirect(then or url_for("desk.review"))


def shut_for(who: str) -> timedelta:
    """How long somebody has to wait before he may try again."""
    wait = failures().shut_for(who, wired().now())
    wait = max(wait, throttle.wait_for(throttle.LOG_INS, throttle.address()))
    if wait:
        log.warning("log_in_shut")
    return wait


def failed(who: str) -> None:
    """A try that failed counts against who it was for and against its address."""
    log.warning("log_in_failed")
    failures().add(who, wired().now())
    throttle.take(throttle.LOG_INS, throttle.address())


def failures() -> Failures:
    """What counts them in this app."""
    counted: Failures = current_app.extensions["bushpost_failures"]
    return counted


def _many(wait: timedelta) -> tuple[str, int, dict[str, str]]:
    left = str(throttle.seconds(wait))
    return *_refuse(f"Too many tries. Wait {left} seconds.", 429), {"Retry-After": left}


def _refuse(why: str, status: int) -> tuple[str, int]:
    then = local(request.form.get("then", ""))
    return render_template("accounts/log_in.html", then=then, why=why), status


def local(path: str) -> str:
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
