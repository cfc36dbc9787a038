"""/desk/roster: who fetches, when and from where; who is on duty now, and why another is not.

The database owns the roster; a form changes one member's duty, against what its page had shown,
and the whole may be saved as the staff.csv that the import reads.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from flask import Blueprint, Response, redirect, render_template, request, url_for
from werkzeug.exceptions import NotFound

from bot.fieldwork.dispatch import Roster
from bot.fieldwork.duty import is_on_call, next_duty, why_off
from bot.fieldwork.roster_csv import days_words, hours_words, national, roster_csv
from bot.programme import Member
from bot.service.days import day_of
from bot.service.roster import MemberMovedOnError, change_member, mark_of, roster
from bot.web import access, stored, wired
from bot.web.grid_words import grid_reference
from bot.web.roster_form import DutyForm, form_of, read_form
from bot.web.rounds import shown
from bot.web.telling import Answer

blueprint = Blueprint("roster", __name__, url_prefix="/desk/roster")
access.keep(blueprint, reads="coordinator")
PAGE = 60
"""So many members stand on one page."""


@dataclass(frozen=True, slots=True)
class Line:
    """One member in the list. `why` he is off duty, "" if he is on; `next` is when he is on."""

    member: Member
    phone: str
    why: str
    on_call: bool
    next: datetime | None
    jobs: int
    hours: str
    calls: str
    zone: str
    grid: str
    on_leave: tuple[str, ...]


@blueprint.get("/")
def page() -> str:
    """Everybody, those on duty first; or those whose name, id or number holds some words."""
    people, now = _people(), wired().now()
    wanted = request.args.get("for", "").strip()[:80].casefold()
    found = [m for m in people.members if wanted in _findable(m)]
    lines = sorted((_line(m, people, now) for m in found), key=_order)
    first = max(request.args.get("first", 0, type=int), 0)
    return render_template(
        "desk/roster.html",
        lines=lines[first : first + PAGE],
        first=first,
        before=max(first - PAGE, 0) if first else None,
        following=first + PAGE if len(lines) > first + PAGE else None,
        count=len(lines),
        on_duty=sum(not line.why for line in lines if line.member.role == "field"),
        wanted=request.args.get("for", ""),
        at=now,
    )


@blueprint.get("/staff.csv")
def csv() -> Response:
    """The roster in the columns of the import (RFC 4180, UTF-8)."""
    text = roster_csv(_people().members, wired().programme.head.country)
    headers = {"Content-Disposition": "attachment; filename=staff.csv"}
    return Response(text, content_type="text/csv; charset=utf-8", headers=headers)


@blueprint.get("/<key>")
def member(key: str) -> str:
    """One member's duty, to be changed."""
    found = _member(key)
    return _form(found, form_of(found))


@blueprint.post("/<key>")
def save(key: str) -> Answer:
    """Change one member's duty; what was typed stays where a field is wrong, or where somebody
    else was quicker."""
    found = _member(key)
    changed, sent = read_form(request.form, found)
    if changed is None:
        return _form(found, sent), 400
    try:
        change_member(stored(), changed, request.form.get("seen", ""))
    except MemberMovedOnError:
        return _form(_member(key), sent, moved=True), 409
    return redirect(url_for("roster.page", _anchor=f"m-{key}"), 303)


@blueprint.get("/<key>/round")
def day(key: str) -> str:
    """One member's round as it is now."""
    found = day_of(stored(), key, wired().programme)
    if found is None:
        raise NotFound
    job_of = lambda code: url_for("desk.find", code=code)  # noqa: E731
    return render_template("desk/round.html", **shown(found, job_of))


def _form(member: Member, form: DutyForm, *, moved: bool = False) -> str:
    people, now = _people(), wired().now()
    line = _line(member, people, now)
    return render_template(
        "desk/member.html", line=line, form=form, seen=mark_of(member), moved=moved
    )


def _people() -> Roster:
    with stored().read() as connection:
        return roster(connection)


def _member(key: str) -> Member:
    found = _people().by_id.get(key)
    if found is None:
        raise NotFound
    return found


def _findable(member: Member) -> str:
    phone = national(member.number, wired().programme.head.country)
    return " ".join((member.name, member.id, phone, phone.replace(" ", ""))).casefold()


def _line(member: Member, people: Roster, now: datetime) -> Line:
    programme = wired().programme
    zone = programme.zone
    today = now.astimezone(zone).date()
    return Line(
        member=member,
        phone=national(member.number, programme.head.country),
        why=why_off(member, now, zone),
        on_call=not member.off_duty and is_on_call(member, now, zone),
        next=next_duty(member, now, zone),
        jobs=people.open_jobs.get(member.id, 0),
        hours=_times(member.days, member.from_minute, member.to_minute),
        calls=_times(member.on_call, member.call_from, member.call_to),
        zone=programme.zone_of(member.lat, member.lon),
        grid=grid_reference(member.lat, member.lon, programme),
        on_leave=tuple(_days_off(*span) for span in member.leave if span[1] >= today),
    )


def _times(days: tuple[int, ...], start: int, end: int) -> str:
    """ "Mon-Fri, 07:00-18:30"; "" of no day."""
    return f"{days_words(days).title()}, {hours_words(start, end) or 'all day'}" if days else ""


def _days_off(first: date, last: date) -> str:
    begin, end = (f"{day.day} {day:%b %Y}" for day in (first, last))
    return begin if first == last else f"{begin} to {end}"


def _order(line: Line) -> tuple[bool, bool, str]:
    return line.member.role != "field", bool(line.why), line.member.name.casefold()
