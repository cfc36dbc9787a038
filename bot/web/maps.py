"""/desk/map: finds, pickups and the programme's ground, from our own endpoints and no others.

The drawing needs JavaScript; the page gives the same finds as a table without. The map library
comes out of an installed package; tiles are drawn only where an address for them is set.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta

from flask import Blueprint, Response, jsonify, render_template, request, send_from_directory
from werkzeug.exceptions import BadRequest, NotFound
from xstatic.pkg import leaflet

from bot.service.atlas import FindFacts, find_facts, one_find, spread
from bot.web import access, stored, wired
from bot.web.geojson import collection, find_features, ground_features, shown_place

blueprint = Blueprint("maps", __name__, url_prefix="/desk/map")
access.keep(blueprint)
LIBRARY = {"leaflet.js": "text/javascript", "leaflet.css": "text/css"}
STATES = ("suspect", "clean", "found_dead", "no_find")
USUAL_DAYS = 56
LONGEST_TABLE = 200


@dataclass(frozen=True, slots=True)
class Sieve:
    """What is to be seen: a span of local days, a species and a state, "" for any."""

    first: str
    last: str
    species: str = ""
    state: str = ""

    def span(self) -> tuple[datetime, datetime]:
        """From the first day's beginning to the last day's end, aware; BadRequest if no days."""
        try:
            days = [datetime.fromisoformat(day).date() for day in (self.first, self.last)]
            zone = wired().programme.zone
            begin, end = (datetime.combine(day, time(), zone).astimezone(UTC) for day in days)
            return begin, end + timedelta(days=1)
        except (ValueError, OverflowError):
            raise BadRequest("A day is written like 2026-11-25.") from None

    def lets(self, row: FindFacts) -> bool:
        """Whether a find is to be seen."""
        return self.species in ("", row.species) and self.state in ("", row.find_state)


def sieve_of_request(days: int = USUAL_DAYS) -> Sieve:
    """The sieve that the page's form asks for; without one, the last `days` days."""
    today = wired().now().astimezone(wired().programme.zone).date()
    given = {key: request.args.get(key, "").strip()[:40] for key in ("first", "last")}
    return Sieve(
        given["first"] or (today - timedelta(days=days)).isoformat(),
        given["last"] or today.isoformat(),
        request.args.get("species", "")[:40],
        request.args.get("state", "")[:40],
    )


@blueprint.get("/")
def page() -> str:
    """The map with its filter, and the finds as a table beneath."""
    sieve = sieve_of_request()
    rows = find_facts(stored(), *sieve.span())
    seen = [row for row in rows if sieve.lets(row)]
    exact = access.may("coordinator")
    return render_template(
        "desk/map.html",
        sieve=sieve,
        rows=[(row, _where(row, exact=exact)) for row in seen[:LONGEST_TABLE]],
        count=len(seen),
        species=spread(rows),
        states=STATES,
        exact=exact,
        tiles=wired().settings.tiles,
        zone_of=wired().programme.zone_of,
    )


@blueprint.get("/finds.json")
def finds() -> Response:
    """The finds that the sieve lets through, as GeoJSON."""
    sieve = sieve_of_request()
    rows = [row for row in find_facts(stored(), *sieve.span()) if sieve.lets(row)]
    return jsonify(collection(find_features(rows, exact=access.may("coordinator"))))


@blueprint.get("/find/<code>.json")
def one(code: str) -> Response:
    """One find's places, as GeoJSON."""
    row = one_find(stored(), code)
    if row is None:
        raise NotFound
    return jsonify(collection(find_features([row], exact=access.may("coordinator"))))


@blueprint.get("/ground.json")
def ground() -> Response:
    """Zones, tracks, landmarks and bases, as GeoJSON."""
    return jsonify(collection(ground_features(wired().programme)))


@blueprint.get("/library/<name>")
def library(name: str) -> Response:
    """One file of the map library."""
    if name not in LIBRARY:
        raise NotFound
    answer = send_from_directory(leaflet.BASE_DIR, name, mimetype=LIBRARY[name])
    answer.headers["Cache-Control"] = "private, max-age=86400"
    return answer


def _where(row: FindFacts, *, exact: bool) -> tuple[float, float, float] | None:
    return shown_place(row.kill, exact=exact) if row.kill else None
