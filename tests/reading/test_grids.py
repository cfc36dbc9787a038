"""The grids: PROJ against published values, and the pairs that are read only where switched on.

Sources beside each table. PROJ is used without grid files; its own statement of accuracy is folded
into the radius.
"""

from __future__ import annotations

import pytest
from place_frame import claims, frame, off, place, transformer, why

from bot.reading.grids import GRIDS, position


def test_caister_on_its_own_datum() -> None:
    """Ordnance Survey, A guide to coordinate systems in Great Britain, annexe C: no datum shift."""
    to = transformer(4277, 27700)
    assert to.transform(1.71792158, 52.65757031) == pytest.approx(
        (651409.903, 313177.270), abs=2e-3
    )


def test_iogp_transverse_mercator_example() -> None:
    """IOGP Geomatics Guidance Note 7-2, Transverse Mercator: 50 30 N 0 30 E."""
    to = transformer(4277, 27700)
    assert to.transform(0.5, 50.5) == pytest.approx((577274.99, 69740.50), abs=0.02)


def test_irish_origin_is_exact() -> None:
    """53 30 N 8 W is the true origin of both Irish grids."""
    at = position("EPSG:2157", 600_000, 750_000)
    assert at == pytest.approx((53.5, -8.0), abs=1e-8)
    on_tm75 = transformer(4300, 29903)
    assert on_tm75.transform(-8.0, 53.5) == pytest.approx((200_000, 250_000), abs=1e-3)


def test_out_of_range_is_no_place_and_no_infinity() -> None:
    """PROJ answers (inf, inf) without an exception."""
    assert position("EPSG:27200", 1e9, 1e9) is None


def test_a_bare_pair_is_read_only_where_it_is_switched_on() -> None:
    assert claims("438700, 114800") == ()
    got = place("pig at 438700, 114800.", frame(grids=("osgb",)))
    # geodesy, os-gridref-tests: SU 387 148 is 438700,114800; lat and lon from OSTN15 (osgb)
    assert off(got, 50.93135806, -1.45067739) < got.accuracy_m


def test_a_grid_by_name_is_read_anywhere() -> None:
    assert off(place("ITM 715830 734697"), 53.349794, -6.260248) < 5
    assert place("NZTM 1749150 5428100").notation == "nztm"


def test_a_named_grid_that_cannot_hold_the_pair_is_asked_about() -> None:
    assert why("NZTM 123456 5428100") == "outside_grid"


def test_any_epsg_grid_by_one_line_of_settings() -> None:
    """swisstopo's approximate formulas: 46 02 38.87 N 8 43 49.79 E is 2700000, 1100000 (memory;
    PROJ agrees to 0.04 m)."""
    swiss = frame(lv95="EPSG:2056")
    got = place("2700000 1100000", swiss)
    assert off(got, 46 + 2 / 60 + 38.87 / 3600, 8 + 43 / 60 + 49.79 / 3600) < 5
    assert got.notation == "lv95"


@pytest.mark.parametrize("line", ["EPSG:4326", "EPSG:999999", "nonsense"])
def test_a_line_that_names_no_grid_reads_nothing(line: str) -> None:
    assert claims("2700000 1100000", frame(odd=line)) == ()


def test_a_pair_that_fits_two_grids_is_asked_about() -> None:
    """Eastings of 1.97 to 2.09 million are in both of New Zealand's grids."""
    assert why("2050000 5700000", frame(grids=("nztm", "nzmg"))) == "two_readings"


def test_a_pair_the_wrong_way_round_is_offered_not_turned() -> None:
    assert why("5428100 1749150", frame(grids=("nztm",))) == "swapped"


def test_letters_say_which_is_which() -> None:
    nz = frame(grids=("nztm",))
    for text in (
        "N5428100 E1749150",
        "5428100N 1749150E",
        "E1749150 N5428100",
        "1749150mE 5428100mN",
    ):
        assert off(place(text, nz), -41.284770, 174.781096) < 6


@pytest.mark.parametrize(
    "text",
    ["call 0491570 156006", "07700 900123", "01632 960123", "1800 160401", "7700900123 7700900124"],
)
def test_a_telephone_is_no_pair(text: str) -> None:
    assert claims(text, frame(grids=tuple(GRIDS))) == ()
