"""/round/<token>: one member's round of the day, for the telephone, opened by a signed link and
by nothing else; the same as GPX and GeoJSON. It works without JavaScript and changes nothing.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from flask import Blueprint, Response, render_template, url_for

from bot.fieldwork.round_text import DayRound, as_geojson, as_gpx
from bot.fieldwork.staff_day import StaffDay
from bot.service.days import day_of
from bot.service.links import AGES, JOB, ROUND, LinkError, LinkExpired
from bot.web import stored, wired
from bot.web.grid_words import grid_reference
from bot.web.round_sketch import round_sketch
from bot.web.throttle import count_shut, guard_link

blueprint = Blueprint("rounds", __name__, url_prefix="/round/<token>")
blueprint.before_request(guard_link)
blueprint.after_request(count_shut)

FILES: dict[str, tuple[str, Callable[[DayRound, str], str]]] = {
    "round.gpx": ("application/gpx+xml", as_gpx),
    "round.geojson": ("application/geo+json", as_geojson),
}
"""What may be saved: its type and how it is written."""

Refused = tuple[str, int]


@blueprint.get("")
def page(token: str) -> str | Refused:
    """The stops in their order, each with its minutes and its job."""
    day = _day(token)
    if not isinstance(day, StaffDay):
        return day
    now = wired().now()
    links = wired().intake.links

    def job_of(code: str) -> str:
        made = links.token(JOB, f"{code}~{day.member.id}", now)
        return url_for("job.job", token=made)

    return render_template("job/round.html", token=token, **shown(day, job_of))


@blueprint.get("/<any('round.gpx', 'round.geojson'):name>")
def file(token: str, name: str) -> Response | Refused:
    """The round for whatever somebody navigates with."""
    day = _day(token)
    return save(day, name) if isinstance(day, StaffDay) else day


def save(day: StaffDay, name: str) -> Response:
    """One of the files of a round."""
    kind, written = FILES[name]
    today = wired().now().astimezone(wired().programme.zone).date()
    headers = {"Content-Disposition": f"attachment; filename={name}"}
    return Response(written(day.plan, f"Round {today}"), content_type=kind, headers=headers)


def shown(day: StaffDay, job_of: Callable[[str], str]) -> dict[str, Any]:
    """What the page of a round shows, here and at the desk; `job_of` is where a code leads."""
    programme = wired().programme
    visits = not programme.head.law.head_may_move
    return {
        "day": day,
        "stops": [
            (job, leg, grid_reference(job.lat, job.lon, programme), job.visit or visits)
            for job, leg in zip(day.jobs, day.plan.legs, strict=False)
        ],
        "visits": visits,
        "drawing": round_sketch(day.plan, programme),
        "job_of": job_of,
        "speed": programme.head.pickup.speed_kmh,
        "has_tracks": programme.tracks is not None,
        "at": wired().now(),
    }


def _day(token: str) -> StaffDay | Refused:
    """The day that a link stands for; the page that says why it opens nothing."""
    try:
        staff_id = wired().intake.links.open_round(token, wired().now())
    except LinkError as fault:
        return _shut(isinstance(fault, LinkExpired))
    return day_of(stored(), staff_id, wired().programme) or _shut(expired=False)


def _shut(expired: bool) -> Refused:
    hours = int(AGES[ROUND].total_seconds() // 3600)
    page = render_template("job/round_shut.html", expired=expired, hours=hours)
    return page, 410 if expired else 404
