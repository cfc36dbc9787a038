"""/desk/season: how a season goes, in figures and plots that the server draws, and to take home
as CSV and GeoJSON. Exact places only for those whose role may know them."""

from __future__ import annotations

import csv
import io
import json

from flask import Blueprint, Response, render_template

from bot.evidence.season import by_week, share_by_bot, tally, waits
from bot.service.atlas import FindFacts, find_facts
from bot.service.unread import unread_words
from bot.web import access, stored, wired
from bot.web.geojson import collection, find_features, shown_place
from bot.web.maps import Sieve, sieve_of_request
from bot.web.plots import bars_of

blueprint = Blueprint("season", __name__, url_prefix="/desk/season")
access.keep(blueprint)
SEASON_DAYS = 182
COLUMNS = (
    *("code", "opened_at", "species", "kind", "kept_as", "zone", "lat", "lon", "accuracy_m"),
    *("died_earliest", "died_latest", "pickup", "taken_at", "handed_in_at", "without_a_person"),
)


@blueprint.get("/")
def page() -> str:
    """The figures and plots."""
    sieve, rows = _found()
    zone, wiring = wired().programme.zone, wired()
    weeks = by_week(rows, zone)
    return render_template(
        "desk/season.html",
        sieve=sieve,
        count=len(rows),
        weeks=weeks,
        plot=bars_of(weeks),
        species=tally((row.species or "not known", row) for row in rows),
        zones=tally((_zone(row), row) for row in rows),
        taken=waits(rows, "taken_at"),
        handed_in=waits(rows, "handed_in_at"),
        alone=share_by_bot(rows),
        unread=unread_words(stored(), wiring.dialog, wiring.programme, sieve.span()),
        exact=access.may("coordinator"),
    )


@blueprint.get("/finds.csv")
def finds_csv() -> Response:
    """One row a find (RFC 4180, UTF-8)."""
    _, rows = _found()
    page, exact = io.StringIO(), access.may("coordinator")
    table = csv.writer(page)
    table.writerow(COLUMNS)
    table.writerows(_row(row, exact=exact) for row in rows)
    return _file(page.getvalue(), "text/csv; charset=utf-8", "finds.csv")


@blueprint.get("/finds.geojson")
def finds_json() -> Response:
    """The places where they died (RFC 7946)."""
    _, rows = _found()
    features = find_features(rows, exact=access.may("coordinator"))
    return _file(json.dumps(collection(features)), "application/geo+json", "finds.geojson")


def _found() -> tuple[Sieve, tuple[FindFacts, ...]]:
    sieve = sieve_of_request(SEASON_DAYS)
    rows = find_facts(stored(), *sieve.span())
    return sieve, tuple(row for row in rows if sieve.lets(row) and row.find_state != "no_find")


def _zone(row: FindFacts) -> str:
    if row.kill is None:
        return "place not known"
    return wired().programme.zone_of(row.kill.lat, row.kill.lon) or "outside every zone"


def _row(row: FindFacts, *, exact: bool) -> list[object]:
    place = shown_place(row.kill, exact=exact) if row.kill else ("", "", "")
    when = (row.when.earliest.isoformat(), row.when.latest.isoformat()) if row.when else ("", "")
    times = [then.isoformat() if then else "" for then in (row.taken_at, row.handed_in_at)]
    alone = "yes" if row.by_bot_alone else "no"
    known = (row.code, row.opened_at.isoformat(), row.species, row.kind, row.find_state)
    return [*known, _zone(row), *place, *when, row.pickup, *times, alone]


def _file(body: str, kind: str, name: str) -> Response:
    headers = {"Content-Disposition": f"attachment; filename={name}"}
    return Response(body, content_type=kind, headers=headers)
