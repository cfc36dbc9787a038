"""PURE. The day's round of one person: its stops in order, as a text, as GPX and as GeoJSON.

The text has two segments at most: the names of places go first, then the last stops. The files
hold every stop in full, WGS84 degrees, for whatever somebody navigates with.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Literal
from xml.etree import ElementTree

from msgspec import Struct

from bot.fieldwork.rounds import best_round
from bot.fieldwork.staff_dialog import StaffDialog
from bot.fieldwork.staff_texts import staff_text
from bot.fieldwork.travel import WGS84, Places, minutes_between, network_of
from bot.programme import Programme
from bot.talk.segments import MOST_SEGMENTS, clip, segments_of

GPX = "http://www.topografix.com/GPX/1/1"
LONGEST_NAMES = (40, 24, 16, 10, 0)
"""How long the names of places may be, tried one after the other till the text fits."""
MOST_CODES = 4
"""So many of the heads that are on board are named in the text; the others are counted."""


class Stop(Struct, frozen=True):
    """One place to go to, in WGS84 degrees, and what to do there in a few words."""

    code: str
    place: str
    lat: float
    lon: float
    what: str = ""
    contact: str = ""


class DayRound(Struct, frozen=True):
    """The stops in the order in which to drive. `legs` are the minutes to each and the way home
    at the end; `exact` says that no other order is shorter, `by` what the way was reckoned by."""

    base: tuple[float, float]
    stops: tuple[Stop, ...]
    legs: tuple[float, ...]
    exact: bool
    by: Literal["geodesic", "network"]

    @property
    def minutes(self) -> float:
        """The whole way, home again."""
        return sum(self.legs)


def day_round(base: tuple[float, float], stops: Sequence[Stop], programme: Programme) -> DayRound:
    """Put stops into a good order, from a base (lat, lon) and back to it."""
    places = (base, *((stop.lat, stop.lon) for stop in stops))
    by, table = _minutes(places, programme)
    found = best_round(table)
    way = (0, *found.order, 0) if stops else (0,)
    legs = tuple(table[a][b] for a, b in pairwise(way))
    return DayRound(base, tuple(stops[n - 1] for n in found.order), legs, found.exact, by)


def round_text(
    plan: DayRound,
    dialog: StaffDialog,
    programme: Programme,
    on_board: Sequence[str] = (),
    link: str = "",
) -> str:
    """The round as one text of two segments at most, with the codes of what is to be handed in
    and the address of its page at the end."""
    end = " ".join(filter(None, (_on_board(on_board, dialog, programme), link)))
    shorter = [(name, len(plan.stops)) for name in LONGEST_NAMES]
    shorter += [(0, count) for count in range(len(plan.stops) - 1, -1, -1)]
    texts = (
        f"{_worded(plan, name, count, dialog, programme, bool(link))} {end}".strip()
        for name, count in shorter
    )
    return next(text for text in texts if segments_of(text) <= MOST_SEGMENTS)


def as_gpx(plan: DayRound, name: str) -> str:
    """The round as a GPX 1.1 file: every stop as a waypoint, and all of them as a route."""
    root = ElementTree.Element("gpx", {"xmlns": GPX, "version": "1.1", "creator": "Bushpost"})
    for stop in plan.stops:
        _point(root, "wpt", stop)
    route = ElementTree.SubElement(root, "rte")
    ElementTree.SubElement(route, "name").text = _plain(name)
    for stop in plan.stops:
        _point(route, "rtept", stop)
    return ElementTree.tostring(root, encoding="unicode", xml_declaration=True)


def as_geojson(plan: DayRound, name: str) -> str:
    """The round as GeoJSON (RFC 7946): a point for every stop, and a line through them all."""
    home = [plan.base[1], plan.base[0]]
    points = [[stop.lon, stop.lat] for stop in plan.stops]
    features = [
        _feature(
            {"type": "Point", "coordinates": at},
            _told(stop) | {"number": n, "minutes": round(leg)},
        )
        for n, (at, stop, leg) in enumerate(zip(points, plan.stops, plan.legs, strict=False), 1)
    ]
    way = {"type": "LineString", "coordinates": [home, *points, home]}
    features.append(_feature(way, {"name": name, "minutes": round(plan.minutes), "by": plan.by}))
    return json.dumps({"type": "FeatureCollection", "features": features}, ensure_ascii=False)


def _minutes(
    places: Places, programme: Programme
) -> tuple[Literal["geodesic", "network"], list[list[float]]]:
    """The minutes between every two places: on the network where it leads to all of them."""
    network = network_of(programme.tracks) if programme.tracks else None
    table = minutes_between(network, places) if network else None
    if table is not None and float(table.max()) < float("inf"):
        return "network", table.tolist()
    speed = programme.head.pickup.speed_kmh
    straight = [
        [WGS84.inv(a[1], a[0], b[1], b[0])[2] / 1000.0 / speed * 60.0 for b in places]
        for a in places
    ]
    return "geodesic", straight


def _on_board(codes: Sequence[str], dialog: StaffDialog, programme: Programme) -> str:
    """What is with him already, to be handed in; "" of nothing."""
    if not codes:
        return ""
    more = len(codes) - MOST_CODES
    named = ", ".join(codes[:MOST_CODES]) + (f" +{more}" if more > 0 else "")
    return staff_text(dialog, programme, "round_on_board", {"codes": named})


def _worded(
    plan: DayRound, longest: int, count: int, dialog: StaffDialog, programme: Programme, page: bool
) -> str:
    """The text with names of so many characters at most, and only so many of the stops; `page`
    is whether the address of a page follows that has them all."""
    if not plan.stops:
        return staff_text(dialog, programme, "round_none", {})
    told = list(zip(plan.stops, plan.legs, strict=False))
    way = [
        _stop(n, stop, leg, longest, dialog, programme)
        for n, (stop, leg) in enumerate(told[:count], 1)
    ]
    if count < len(told):
        key = "round_more_page" if page else "round_more"
        way.append(staff_text(dialog, programme, key, {"number": str(len(told) - count)}))
    values = {"minutes": f"{plan.minutes:.0f}", "way": " ".join(way)}
    key = "round" if plan.by == "network" else "round_straight"
    return staff_text(dialog, programme, key, values)


def _stop(
    number: int, stop: Stop, leg: float, longest: int, dialog: StaffDialog, programme: Programme
) -> str:
    place = clip(stop.place, longest) if longest else ""
    values = {"number": str(number), "code": stop.code, "minutes": f"{leg:.0f}"}
    if place:
        return staff_text(dialog, programme, "round_stop", values | {"place": place})
    return staff_text(dialog, programme, "round_stop_short", values)


def _point(parent: ElementTree.Element, tag: str, stop: Stop) -> None:
    at = {"lat": f"{stop.lat:.6f}", "lon": f"{stop.lon:.6f}"}
    point = ElementTree.SubElement(parent, tag, at)
    ElementTree.SubElement(point, "name").text = _plain(stop.code)
    told = ", ".join(filter(None, (stop.place, stop.what, stop.contact)))
    ElementTree.SubElement(point, "desc").text = _plain(told)


_NOT_IN_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def _told(stop: Stop) -> dict[str, object]:
    return {"code": stop.code, "place": stop.place, "what": stop.what, "contact": stop.contact}


def _plain(words: str) -> str:
    """Words without the characters that XML 1.0 (section 2.2) has no way to write."""
    return _NOT_IN_XML.sub("", words)


def _feature(geometry: Mapping[str, object], properties: Mapping[str, object]) -> dict[str, object]:
    return {"type": "Feature", "geometry": geometry, "properties": properties}
