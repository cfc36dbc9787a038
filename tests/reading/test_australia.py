"""Australia's map grid: the GDA2020 Technical Manual (ICSM, CC-BY 4.0) and Landgate's mark."""

from __future__ import annotations

import pytest
from place_frame import claims, frame, off, place, transformer, why

FLINDERS = (-37.95103342, 144.42486789)
"""37 57 03.72030 S 144 25 29.52440 E; MGA zone 55, 273741.297 5796489.777."""
BUNINYONG = (-(37 + 39 / 60 + 10.1561 / 3600), 143 + 55 / 60 + 35.3839 / 3600)
"""MGA zone 54, 758173.797 5828674.340."""
FREMANTLE = (-(32 + 2 / 60 + 7.16398 / 3600), 115 + 45 / 60 + 12.74082 / 3600)
"""Landgate's standard survey mark Fremantle 64: zone 50, 382306.176 6454969.831."""

VICTORIA = (143.0, -39.0, 149.0, -35.0)


def test_proj_agrees_with_the_manual() -> None:
    to = transformer(7844, 7855)
    at = to.transform(FLINDERS[1], FLINDERS[0])
    assert at == pytest.approx((273741.297, 5796489.777), abs=2e-3)


@pytest.mark.parametrize(
    ("text", "at"),
    [
        ("MGA zone 55 273741 5796489", FLINDERS),
        ("MGA2020 zone 55 E273741 N5796489", FLINDERS),
        ("MGA55 273741 5796489", FLINDERS),
        ("MGA94 Z55 273741E 5796489N", FLINDERS),
        ("GDA2020 MGA zone 55: 273741.297 5796489.777", FLINDERS),
        ("GDA94/MGA zone 55, 273741, 5796489", FLINDERS),
        ("MGA 55H 273741 5796489", FLINDERS),
        ("273741mE 5796489mN MGA zone 55", FLINDERS),
        ("MGA zone 54 758173.797 5828674.340", BUNINYONG),
        ("MGA94 zone 50 382306 6454969", FREMANTLE),
    ],
)
def test_the_grid_by_name(text: str, at: tuple[float, float]) -> None:
    for said in (text, text.lower(), text + ".", f"2 pigs at {text}, 80kg, call 0491 570 156"):
        got = place(said)
        assert got.notation in ("mga2020", "mga94")
        assert off(got, *at) <= got.accuracy_m


def test_both_zones_give_one_point() -> None:
    """The manual gives Buninyong in zone 55 too: 228854.052 5828259.038 (from memory; PROJ agrees
    to a millimetre)."""
    one = place("MGA zone 54 758173.797 5828674.340")
    two = place("MGA zone 55 228854.052 5828259.038")
    assert off(two, one.lat, one.lon) < 0.1


def test_the_zone_comes_from_the_area_and_is_said() -> None:
    got = place("MGA 273741 5796489", frame((144.0, -39.0, 147.0, -36.0)))
    assert off(got, *FLINDERS) < 5
    assert got.assumed == ("zone 55, from the programme's area",)


def test_a_bare_pair_where_the_programme_switches_the_grid_on() -> None:
    area = (144.0, -39.0, 147.0, -36.0)
    for text in ("273741 5796489", "E273741 N5796489", "0273741 5796489", "273741, 5796489."):
        assert off(place(f"pig at {text} today", frame(area, ("mga",))), *FLINDERS) < 5
    assert claims("273741 5796489", frame(area)) == ()


def test_without_area_or_zone_it_is_asked_about() -> None:
    assert why("MGA 273741 5796489") == "no_zone"


def test_two_zones_in_the_area_are_asked_about() -> None:
    assert why("MGA 273741 5796489", frame((130.0, -39.0, 149.0, -35.0))) == "two_readings"


def test_a_zone_that_does_not_exist() -> None:
    assert why("MGA zone 33 273741 5796489") == "no_such_zone"


def test_the_old_and_the_new_grid_differ_by_less_than_the_radius() -> None:
    """OSGeo/PROJ, GDA.gie: GDA94 to GDA2020 at Alice Springs is 1.74 m."""
    assert off(place("MGA94 zone 53 386352 7381850"), *at("MGA zone 53 386352 7381850")) < 5


def at(text: str) -> tuple[float, float]:
    got = place(text)
    return got.lat, got.lon
