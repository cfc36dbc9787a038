"""/desk/search: finds by places, people, codes, dates and words, as small cards, newest first."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from flask import Blueprint, render_template, request

from bot.service.columns import Found
from bot.service.findable import ENDLESS, found_finds, lines_with, search, tokens
from bot.talk import state as talk_state
from bot.talk.segments import clip
from bot.web import access, stored, wired
from bot.web.card import about

blueprint = Blueprint("searching", __name__, url_prefix="/desk/search")
access.keep(blueprint, reads="coordinator")
A_PAGE = 20
LONGEST = 200


@dataclass(frozen=True, slots=True)
class Hit:
    """One find that was found: what it is about, how it stands, and a line that says why."""

    code: str
    about: str
    stage: str
    find_state: str
    opened_at: datetime
    line: str


@blueprint.get("/")
def page() -> str:
    """The form, and what was found."""
    asked = request.args.get("for", "").replace("\x00", "")[:LONGEST].strip()
    before = request.args.get("before", ENDLESS, type=int)
    wanted = tokens(asked, wired().programme.head.country)
    rows = search(stored(), wanted, before, A_PAGE + 1)
    shown = rows[:A_PAGE]
    lines = lines_with(stored(), shown, wanted)
    return render_template(
        "desk/search.html",
        asked=asked,
        hits=[_hit(row, lines.get(row.id, "")) for row in found_finds(stored(), shown)],
        older=shown[-1] if len(rows) > A_PAGE else None,
    )


def _hit(row: Found, line: str) -> Hit:
    talk = talk_state.load(row.state)
    words = about(talk, wired())
    return Hit(row.code, words, talk.stage, row.find_state, row.opened_at, clip(line, 160))
