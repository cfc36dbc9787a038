"""Every page of the desk that shows a find or a person, and every change, is written down with
who asked for it; the lists that all look at all day are not."""

from __future__ import annotations

from flask import Flask, Response, request
from flask_login import current_user

from bot.service import audit
from bot.web import wired

SEEN = frozenset(
    {
        *("desk.find", "desk.photo", "custody.page", "roster.csv"),
        *("season.finds_csv", "season.finds_json"),
    }
)
"""Endpoints that are written down when they are read; all others only when they change."""

DOORS = frozenset({"accounts.log_in", "accounts.log_out", "second_step.answer", "people.accept"})


def keep_audit(app: Flask) -> None:
    """Write down what goes well from now on."""
    app.after_request(_note)


def _note(response: Response) -> Response:
    endpoint = request.endpoint or ""
    wanted = endpoint in SEEN if request.method == "GET" else request.method == "POST"
    of_desk = request.path.startswith("/desk/") or endpoint in DOORS
    database = wired().database
    if not (wanted and of_desk and database and response.status_code < 400):
        return response
    if current_user.is_authenticated:
        args = request.view_args or {}
        what = str(args.get("code") or args.get("name") or args.get("key") or "")
        audit.note(database, wired().now(), str(current_user.name), endpoint, what)
    return response
