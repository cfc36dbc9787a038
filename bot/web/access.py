"""Who may do what: a log-in for everything behind the desk, and what each role adds.

A viewer looks at lists, map and figures, where no hunter's words and no exact place stand, and
changes nothing; a coordinator does the day's work; an administrator besides
lets people in, ends their sessions, reads who saw what, and erases. Roles are nested.
"""

from __future__ import annotations

import logging
from collections.abc import Callable

from flask import Blueprint, abort, current_app, redirect, request, url_for
from flask_login import current_user
from werkzeug.wrappers import Response

from bot.service.accounts import ROLES
from bot.web import wired

__all__ = ["ROLES", "keep", "lacks_second", "may", "name", "need"]
log = logging.getLogger(__name__)
OWN = "own"
"""The pages of one's own log-in: all that is open until a second factor that is due is set."""
READING = frozenset({"GET", "HEAD", "OPTIONS"})


def may(role: str) -> bool:
    """Whether whoever is logged in has a role or one above it."""
    own = getattr(current_user, "role", "")
    return own in ROLES and ROLES.index(own) >= ROLES.index(role)


def need(role: str) -> None:
    """403 for whoever has neither a role nor one above it."""
    if not may(role):
        log.warning("not_allowed", extra={"reason": role})
        abort(403)


def name() -> str:
    """Whoever is logged in."""
    return str(current_user.name)


def lacks_second() -> bool:
    """Whether whoever is logged in must have a second factor, and has none yet."""
    who = wired().settings.second_factor
    asked = who == "everybody" or (who == "administrators" and may("administrator"))
    return asked and not getattr(current_user, "second", False)


def keep(blueprint: Blueprint, *, reads: str = "viewer", writes: str = "coordinator") -> None:
    """Shut a blueprint to all but those who may read it, and of these let some write."""
    blueprint.before_request(_guard(reads, writes))


def _guard(reads: str, writes: str) -> Callable[[], Response | None]:
    def guard() -> Response | None:
        if not current_user.is_authenticated:
            answer: Response = current_app.login_manager.unauthorized()  # type: ignore[attr-defined]
            return answer
        if request.blueprint != OWN and lacks_second():
            return redirect(url_for(f"{OWN}.page"))
        need(reads if request.method in READING else writes)
        return None

    return guard
