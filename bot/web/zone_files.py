"""What a zone's page gives to take away: months as CSV, places and windows as GeoJSON.

Law: a probability that is not given is an empty field or null, never 0; and whoever may not know
exact places gets the centres of grid squares.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from typing import Any

from shapely.geometry import mapping

from bot.evidence.columns import Find
from bot.evidence.programme_account import Survey, ZoneAccount, looks_in
from bot.folder.cells import safe_cell
from bot.programme import Programme
from bot.reading.values import Place
from bot.web.geojson import collection, shown_place
from bot.web.zone_drawing import months_of
from bot.web.zone_map import Point

COLUMNS = ("zone", "month", "design_prevalence", "sensitivity", "prior", "p_below", "low", "high")


def months_csv(account: ZoneAccount) -> str:
    """A line a month. `p_below`: the probability that less than the design prevalence is there."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    result = account.result
    band = result.band or ((None, None),) * len(result.months)
    for name, month, (low, high) in zip(months_of(account), result.months, band, strict=True):
        figures = (month.sse, month.prior, month.pfree, low, high)
        written = ["" if f is None else f"{f:.6g}" for f in figures]
        writer.writerow([safe_cell(result.zone), name, f"{result.assumptions.pstar:g}", *written])
    return out.getvalue()


def zone_geojson(
    survey: Survey, account: ZoneAccount, programme: Programme, *, exact: bool
) -> dict[str, Any]:
    """The zone with its figures, its clean animals, its positives with their windows."""
    return collection(_features(survey, account, programme, exact=exact))


def _features(
    survey: Survey, account: ZoneAccount, programme: Programme, *, exact: bool
) -> Iterator[dict[str, Any]]:
    result = account.result
    shape = next(z.shape for z in programme.zones if z.name == result.zone)
    told = {
        "sort": "zone",
        "name": result.zone,
        "until": account.until.isoformat(),
        "animals": result.animals,
        "confirmed": result.confirmed,
        "waiting": result.pending,
        "design_prevalence": result.assumptions.pstar,
        "sensitivity": result.sse,
        "p_below": result.pfree,
        "sentences": list(account.sentences),
    }
    yield {"type": "Feature", "geometry": dict(mapping(shape)), "properties": told}
    known = survey.known
    for n in looks_in(programme, known, result.zone):
        find = known.finds.find(known.looks[n])
        looked: dict[str, Any] = {
            "animals": find.animal.count,
            "sensitivity": float(known.se[n]),
            "radius_km": float(known.radius_km[n]),
        }
        yield _point(find, {"sort": "clean", "code": find.code, **looked}, exact=exact)
    windows = {p.code: p for p in account.positives}
    for find in known.positives:
        if one := windows.get(find.code):
            start = one.window.start
            dated: dict[str, Any] = {
                "infected_from": start.isoformat() if start else None,
                "infected_to": one.window.end.isoformat(),
                "within_km": one.band.near,
                "sentences": list(one.sentences),
            }
            yield _point(find, {"sort": "positive", "code": find.code, **dated}, exact=exact)


def _point(find: Find, told: dict[str, Any], *, exact: bool) -> dict[str, Any]:
    lat, lon = seen_at(find.lat, find.lon, exact=exact)
    geometry = {"type": "Point", "coordinates": [lon, lat]}
    return {"type": "Feature", "geometry": geometry, "properties": told}


def seen_at(lat: float, lon: float, *, exact: bool) -> Point:
    """Where a find lies, as somebody may see it."""
    lat, lon, _ = shown_place(Place(lat, lon, 0.0, ""), exact=exact)
    return lat, lon
