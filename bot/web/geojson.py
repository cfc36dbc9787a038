"""Finds and the programme's ground as GeoJSON (RFC 7946): longitude first, WGS84.

Law: whoever may not know exact places gets the centre of a grid square, here and in every
download, and never the exact one in some other member of the same object.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from shapely.geometry import mapping

from bot.evidence.coarse import square_centre, square_reach_m
from bot.programme import Programme
from bot.reading.values import Place
from bot.service.atlas import FindFacts

Feature = dict[str, Any]


def collection(features: Iterable[Feature]) -> dict[str, Any]:
    """A FeatureCollection."""
    return {"type": "FeatureCollection", "features": list(features)}


def shown_place(place: Place, *, exact: bool) -> tuple[float, float, float]:
    """(lat, lon, accuracy in metres) as somebody may see it."""
    if exact:
        return round(place.lat, 6), round(place.lon, 6), place.accuracy_m
    return *square_centre(place.lat, place.lon), max(square_reach_m(), place.accuracy_m)


def find_features(rows: Iterable[FindFacts], *, exact: bool) -> Iterator[Feature]:
    """Each find's places: where it died, and where the head lies if that is elsewhere."""
    for row in rows:
        if row.kill:
            yield _point(row.kill, {"sort": "kill", **_about(row)}, exact=exact)
        if row.head and row.pickup not in ("", "handed_in", "called_off"):
            told = {"sort": "head", "pickup": row.pickup, **_about(row)}
            yield _point(row.head, told, exact=exact)


def ground_features(programme: Programme) -> Iterator[Feature]:
    """Zones, tracks, landmarks and bases, those that cover most first."""
    for zone in programme.zones:
        yield _feature(mapping(zone.shape), {"sort": "zone", "name": zone.name})
    for track in programme.tracks.lines if programme.tracks else ():
        line = {"type": "LineString", "coordinates": [list(point) for point in track.points]}
        yield _feature(line, {"sort": "track", "name": ""})
    for mark in programme.landmarks:
        yield _feature(_at(mark.lat, mark.lon), {"sort": "landmark", "name": mark.name})
    for member in programme.roster:
        if member.role == "field":
            told = {"sort": "base", "name": f"{member.name}’s base"}
            yield _feature(_at(member.lat, member.lon), told)


def _about(row: FindFacts) -> Feature:
    return {
        "code": row.code,
        "species": row.species,
        "kind": row.kind,
        "state": row.find_state,
        "opened_at": row.opened_at.isoformat(timespec="seconds"),
    }


def _point(place: Place, told: Feature, *, exact: bool) -> Feature:
    lat, lon, accuracy = shown_place(place, exact=exact)
    return _feature(_at(lat, lon), {**told, "accuracy_m": round(accuracy)})


def _at(lat: float, lon: float) -> Feature:
    return {"type": "Point", "coordinates": [lon, lat]}


def _feature(geometry: Mapping[str, Any], told: Feature) -> Feature:
    return {"type": "Feature", "geometry": dict(geometry), "properties": told}
