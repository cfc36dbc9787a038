"""/desk/try: a changed dialog on the history of the last weeks. Nothing is sent.

One try at a time in a process, by whoever may change things; the page reloads itself while it
runs, with or without JavaScript.
"""

from __future__ import annotations

from flask import Blueprint, current_app, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from bot.service.trial import MOST_SHOWN, Trial, dialog_in_zip
from bot.talk.dialog import DialogError
from bot.web import access, stored, wired

blueprint = Blueprint("trying", __name__, url_prefix="/desk/try")
access.keep(blueprint, reads="coordinator")
PLACE = "bushpost_trial"
MOST_WEEKS = 104


@blueprint.get("/")
def page() -> str:
    """The form, how far a running try is, and what the last one found."""
    return _page()


@blueprint.post("/")
def begin() -> str | Response | tuple[str, int]:
    """Begin a try with an uploaded zip."""
    weeks = min(max(request.form.get("weeks", 8, type=int), 1), MOST_WEEKS)
    upload = request.files.get("dialogs")
    last = current_app.extensions.get(PLACE)
    if last is not None and not last.over:
        return _page("A try is running already."), 409
    try:
        new = dialog_in_zip(upload.read() if upload else b"", wired().dialog)
    except DialogError as fault:
        return _page(str(fault)), 400
    trial = Trial(weeks)
    current_app.extensions[PLACE] = trial
    trial.start(stored(), (wired().dialog, new), wired().programme, wired().now())
    return redirect(url_for("trying.page"), 303)


def _page(fault: str = "") -> str:
    trial: Trial | None = current_app.extensions.get(PLACE)
    shown = trial.partings[:MOST_SHOWN] if trial is not None and trial.over else []
    return render_template("desk/try.html", trial=trial, shown=shown, fault=fault)
