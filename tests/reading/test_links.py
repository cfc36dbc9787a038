"""Positions in pasted links and geo: URIs (RFC 5870), whoever's link it is."""

from __future__ import annotations

import pytest
from place_frame import claims, off, place, why

LINKS = [
    "https://maps.example/?q=-36.8712,147.1512",
    "https://maps.example/?ll=-36.8712%2C147.1512&z=12",
    "https://maps.example/maps?z=3&daddr=-36.8712,147.1512",
    "https://maps.example/?mlat=-36.8712&mlon=147.1512#map=15/-36.1/147.1",
    "https://maps.example/x?lat=-36.8712&zoom=9&lng=147.1512",
    "https://maps.example/#map=15/-36.8712/147.1512",
    "https://maps.example/?q=loc:-36.8712+147.1512",
    "https://maps.example/?query=-36.8712%20147.1512",
    "https://maps.example/@-36.8712,147.1512,17z",
    # the pin, not the middle of the view
    "https://maps.example/place/Hut/@-36.1,147.0,17z/data=!4m6!3d-36.8712!4d147.1512",
    "https://maps.example/place/-36.8712,147.1512",
    "http://www.maps.example/view/-36.8712/147.1512",
    "www.maps.example/?q=-36.8712,147.1512",
    "maps.example/?q=-36.8712,147.1512",
    "HTTPS://MAPS.EXAMPLE/?Q=-36.8712,147.1512",
]


@pytest.mark.parametrize("link", LINKS)
def test_a_position_in_any_link(link: str) -> None:
    for said in (
        link,
        f"{link}.",
        f"pig here {link} , 85kg",
        f"({link})",
        f"2 pigs\n{link}\ncall 0491 570 156",
    ):
        assert off(place(said), -36.8712, 147.1512) < 0.1


@pytest.mark.parametrize("link", ["https://maps.example/abcd1234", "https://geo.example/p/x"])
def test_a_short_map_link_holds_nothing_and_is_asked_about(link: str) -> None:
    assert why(link) == "link_without_place"


@pytest.mark.parametrize(
    "link",
    [
        "https://img.example/2026/11/25/123.jpg",
        "www.example.com/12/34",
        "https://example.org/t/45.5-67.25",
        "https://shop.example/?price=12.50&n=3",
    ],
)
def test_other_links_are_struck_and_say_nothing(link: str) -> None:
    assert claims(link) == ()


def test_a_route_has_two_positions_and_is_asked_about() -> None:
    assert why("https://maps.example/dir/-36.1,147.2/-36.87,147.15") == "two_readings"


def test_a_position_off_the_globe_is_asked_about() -> None:
    assert why("https://maps.example/?q=147.1512,-36.8712") == "lat_over_90"


GEO = [
    # RFC 5870 and the tests that quote it
    ("geo:13.4125,103.8667", 13.4125, 103.8667),
    ("geo:48.2010,16.3695,183", 48.2010, 16.3695),
    ("geo:48.198634,16.371648;crs=wgs84;u=40", 48.198634, 16.371648),
    ("geo:22.300,-118.44", 22.3, -118.44),
    ("geo:66,30;u=6.500;FOo=this%2dthat", 66.0, 30.0),
    ("geo:66.0,30;u=6.5;foo=this-that", 66.0, 30.0),
    # a telephone's extension, not in the RFC: the q point, not 0,0
    ("geo:0,0?q=34.99,-106.61(Treasure)", 34.99, -106.61),
]


@pytest.mark.parametrize(("uri", "lat", "lon"), GEO)
def test_geo_uris(uri: str, lat: float, lon: float) -> None:
    for said in (uri, uri.upper(), f"{uri}.", f"2 pigs at {uri} , 80kg"):
        got = place(said)
        assert (got.lat, got.lon) == (lat, lon)
        assert got.notation == "geo"


def test_u_is_the_radius() -> None:
    assert place("geo:48.198634,16.371648;crs=wgs84;u=40").accuracy_m == 40


def test_at_a_pole_every_longitude_is_one_place() -> None:
    """RFC 5870, section 3.4.4's example: geo:90,-22.43;crs=WGS84 equals geo:90,46."""
    one, two = place("geo:90,-22.43;crs=WGS84"), place("geo:90,46")
    assert (one.lat, one.lon) == (two.lat, two.lon) == (90, 0)


@pytest.mark.parametrize(
    ("uri", "reason"),
    [
        ("geo:13.4,103.8;crs=osgb36", "unknown_crs"),
        ("geo:93.4,103.8", "lat_over_90"),
        ("geo:somewhere", "bad_geo"),
        ("geo:0,0", "link_without_place"),
    ],
)
def test_a_geo_uri_that_is_no_wgs84_place(uri: str, reason: str) -> None:
    assert why(uri) == reason
