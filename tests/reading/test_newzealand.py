"""New Zealand: LINZ's own triples, sheet origins and worked references.

Sources: LINZ nztm.c self-test; Dept of Lands and Survey Technical Circular 1973/32 (NZMG, as quoted
in proj4js, nzmg.js); linz/snap concord test5; linz/argo-tasks mapsheet.data.ts (MIT, Crown
copyright); LINZ::Geodetic::NZMS260MapRef.
"""

from __future__ import annotations

import random

import pytest
from place_frame import claims, frame, off, place, projected, transformer, why

from bot.reading.newzealand import SHEETS, sheet_corner

NZ = frame(country="NZ")

NZTM = [
    (1576041.150, 6188574.240, -34.444065991, 172.739193967),
    (1576542.010, 5515331.050, -40.512408980, 172.723105968),
    (1307103.220, 4826464.860, -46.651295012, 169.172062008),
]
NZMG = [
    (2487100.638, 6751049.719, -34.444066, 172.739194),
    (2486533.395, 6077263.661, -40.512409, 172.723106),
    (2216746.425, 5388508.765, -46.651295, 169.172062),
]


@pytest.mark.parametrize(("east", "north", "lat", "lon"), NZTM)
def test_nztm(east: float, north: float, lat: float, lon: float) -> None:
    for text in (f"NZTM {east} {north}", f"{east}E {north}N", f"E{east:.0f} N{north:.0f}"):
        for said in (text, text.lower(), f"stag at {text}. 2 more, 85kg"):
            got = place(said, NZ)
            assert got.notation == "nztm"
            assert off(got, lat, lon) < 1
    bare = place(f"{east:.0f} {north:.0f}", frame(country="NZ", grids=("nztm",)))
    assert off(bare, lat, lon) < 1


@pytest.mark.parametrize(("east", "north", "lat", "lon"), NZMG)
def test_nzmg_with_its_old_datum(east: float, north: float, lat: float, lon: float) -> None:
    """The published degrees are NZGD49; read as WGS84 they are some 190 m off."""
    got = place(f"NZMG {east:.0f} {north:.0f}", NZ)
    to = transformer(4272, 4326)
    new_lon, new_lat = to.transform(lon, lat)
    assert off(got, new_lat, new_lon) < 5
    assert 150 < off(got, lat, lon) < 230


def test_nzmg_projection_to_half_a_millimetre() -> None:
    """linz/snap, concord test5: 41 16 40.896358 S 174 43 41.184258 E on NZGD49."""
    to = transformer(4272, 27200)
    lon, lat = 174 + 43 / 60 + 41.184258 / 3600, -(41 + 16 / 60 + 40.896358 / 3600)
    assert to.transform(lon, lat) == pytest.approx((2654767.932, 5990841.440), abs=6e-4)


ORIGINS = [
    ("AS21", 1492000, 6234000), ("BG33", 1780000, 5730000), ("BW14", 1324000, 5226000),
    ("BQ31", 1732000, 5442000), ("BX24", 1564000, 5190000), ("BA32", 1756000, 5946000),
    ("CB11", 1252000, 5046000), ("CK08", 1180000, 4758000), ("BE45", 2068000, 5802000),
    ("CD04", 1084000, 4974000),
]  # fmt: skip


@pytest.mark.parametrize(("sheet", "west", "top"), ORIGINS)
def test_sheet_origins(sheet: str, west: int, top: int) -> None:
    """The published origins are the top left corners; a sheet is 36 km high."""
    assert sheet_corner(sheet[:2], int(sheet[2:])) == (west, top - 36_000)


@pytest.mark.parametrize(("sheet", "west", "top"), ORIGINS)
@pytest.mark.parametrize("figures", [3, 4, 5])
def test_any_point_of_a_sheet_is_read_back(sheet: str, west: int, top: int, figures: int) -> None:
    """Several of these sheets run over a 100 km line, where the figures begin again."""
    chance = random.Random(f"{sheet}{figures}")
    for _ in range(12):
        east, north = chance.uniform(west, west + 24_000), chance.uniform(top - 36_000, top)
        parts = [f"{int(v) % 100_000:05d}"[:figures] for v in (east, north)]
        for text in (f"{sheet} {parts[0]} {parts[1]}", f"{sheet.lower()} {parts[0]}{parts[1]}"):
            got = place(text, NZ)
            away = projected(2193, got)
            half = 10.0 ** (5 - figures) / 2
            assert max(abs(away[0] - east), abs(away[1] - north)) <= half + 1


def test_a_worked_six_figure_reference() -> None:
    """jcsmaps.co.nz, map romers: 1824628E 5654815N is 246548; it lies on sheet BJ34."""
    got = place("BJ34 246 548", NZ)
    assert projected(2193, got) == pytest.approx((1824650, 5654850), abs=0.5)
    assert got.accuracy_m == pytest.approx(70.7, abs=0.1)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("BI31 123 456", "no_such_sheet"), ("BO31 123 456", "no_such_sheet"),
        ("CI31 123 456", "no_such_sheet"), ("BC39 123 456", "no_such_sheet"),
        ("BQ20 400 200", "no_such_sheet"), ("BQ31 999 999", "outside_sheet"),
        ("BQ31 400 2000", "odd_digits"),
    ],
)  # fmt: skip
def test_sheets_and_figures_that_do_not_exist(text: str, reason: str) -> None:
    assert why(text, NZ) == reason


def test_rows_are_in_order_without_the_three_that_are_left_out() -> None:
    assert list(SHEETS) == sorted(SHEETS)
    assert len(SHEETS) == 42
    assert not {"BI", "BO", "CI"} & set(SHEETS)


def test_the_chathams_have_their_own_sheets() -> None:
    """LINZ's NZTopo50MapRef: CI01 is 3458000-3482000 E, 5140000-5176000 N of EPSG:3793."""
    got = place("CI01 600 500", NZ)
    assert projected(3793, got) == pytest.approx((3_460_050, 5_150_050), abs=1)


@pytest.mark.parametrize(
    ("text", "east", "north"),
    [
        # Worked out from LINZ's module: 2654767.932, 5990841.440 lies on R27
        ("R27 547 908", 2654700, 5990800),
        # A slide deck's example, "Rangitoto 762 887", full easting 26 76 250
        ("R11 762 887", 2676200, 6488700),
    ],
)
def test_the_older_sheets_hold_both_cut_and_rounded_figures(
    text: str, east: float, north: float
) -> None:
    for said in (text, text.lower(), f"{text}. 2 pigs 80kg"):
        got = place(said, NZ)
        assert got.notation == "nzms260"
        assert 100 <= got.accuracy_m <= 111
        for ends in ((-50, -50), (-50, 100), (100, -50), (100, 100)):
            to = transformer(27200, 4326)
            lon, lat = to.transform(east + ends[0], north + ends[1])
            assert off(got, lat, lon) <= got.accuracy_m + 1


def test_the_older_sheets_are_not_read_in_other_countries() -> None:
    assert claims("R27 589 902", frame(country="AU")) == ()


def test_a_pair_that_both_grids_hold_is_asked_about() -> None:
    assert why("2050000E 5700000N", NZ) == "two_readings"
