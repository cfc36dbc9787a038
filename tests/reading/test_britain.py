"""Great Britain's and Ireland's letters: OSTN15's forty points, OS leaflets, pygeodesy.

The forty points are the Ordnance Survey's own test file (OSTN15_OSGM15_TestInput_ETRStoOSGB.txt,
BSD-style licence, Crown copyright, Ordnance Survey and the MOD 2016). PROJ without grid files is
within 5 m of them, which the radius holds.
"""

from __future__ import annotations

import random

import pytest
from place_frame import claims, frame, off, place, projected, why

from bot.reading.britain import IRISH, SQUARES

OSTN15 = """
49.92226394 -6.29977752 91492.146 11318.804
49.96006138 -5.20304610 170370.718 11572.405
50.43885826 -4.10864564 250359.811 62016.569
50.57563665 -1.29782277 449816.371 75335.861
50.93127938 -1.45051434 438710.920 114792.250
51.40078220 -3.55128349 292184.870 168003.465
51.37447026 1.44454730 639821.835 169565.858
51.42754743 -2.54407618 362269.991 169978.690
51.48936565 -0.11992557 530624.974 178388.464
51.85890896 -4.30852477 241124.584 220332.641
51.89436637 0.89724327 599445.590 225722.826
52.25529382 -2.15458614 389544.190 261912.153
52.25160951 -0.91248957 474335.969 262047.755
52.75136687 0.40153547 562180.547 319784.995
52.96219109 -1.19747656 454002.834 340834.943
53.34480280 -2.64049321 357455.843 383290.436
53.41628516 -4.28918070 247958.971 393492.909
53.41630925 -4.28917793 247959.241 393495.583
53.77911026 -3.04045491 331534.564 431920.794
53.80021520 -1.66379168 422242.186 433818.701
54.08666318 -4.63452168 227778.330 468847.388
54.11685144 -0.07773133 525745.670 470703.214
54.32919541 -4.38849118 244780.636 495254.887
54.89542340 -2.93827741 339921.145 556034.761
54.97912274 -1.61657685 424639.355 565012.703
55.85399953 -4.29649016 256340.925 664697.269
55.92478266 -3.29479219 319188.434 670947.534
57.00606696 -5.82836692 167634.202 797067.144
57.13902519 -2.04856031 397160.491 805349.736
57.48625001 -4.21926399 267056.768 846176.972
57.81351838 -8.57854456 9587.909 899448.996
58.21262247 -7.59255561 71713.132 938516.404
58.51560361 -6.26091456 151968.652 966483.780
58.58120461 -3.72631022 299721.891 967202.992
59.03743871 -3.21454001 330398.323 1017347.016
59.09335035 -4.41757675 261596.778 1025447.602
59.09671617 -5.82799340 180862.461 1029604.114
59.53470794 -1.62516966 421300.525 1072147.239
59.85409914 -1.27486910 440725.073 1107878.448
60.13308092 -2.07382823 395999.668 1138728.951
"""
POINTS = [tuple(map(float, line.split())) for line in OSTN15.split("\n") if line]

GB = frame(country="GB")


def lettered(table: dict[str, tuple[int, int]], east: float, north: float, figures: int) -> str:
    """A reference by the plain rule: the square's letters, then figures cut off."""
    (letters,) = (k for k, (e, n) in table.items() if e <= east < e + 1e5 and n <= north < n + 1e5)
    return (
        f"{letters} {int(east) % 100_000:05d}"[: 1 + len(letters) + figures]
        + (f" {int(north) % 100_000:05d}"[: 1 + figures])
    )


@pytest.mark.parametrize(("lat", "lon", "east", "north"), POINTS)
@pytest.mark.parametrize("figures", [3, 4, 5])
def test_the_forty_points(lat: float, lon: float, east: float, north: float, figures: int) -> None:
    got = place(lettered(SQUARES, east, north, figures), GB)
    assert got.notation == "osgb"
    assert off(got, lat, lon) <= got.accuracy_m
    assert got.accuracy_m == pytest.approx({3: 75.7, 4: 12.1, 5: 5.7}[figures], abs=0.1)


def test_the_forty_points_in_figures() -> None:
    scene = frame(country="GB", grids=("osgb",))
    for lat, lon, east, north in POINTS:
        if east >= 100_000:
            assert off(place(f"{east:.3f} {north:.3f}", scene), lat, lon) < 5.0


@pytest.mark.parametrize(
    ("index", "text"),
    [(0, "SV 91492 11318"), (2, "SX 50359 62016"), (8, "TQ 30624 78388"),
     (13, "TF 62180 19784"), (26, "NT 19188 70947"), (29, "NH 67056 46176"),
     (30, "NF 09587 99448"), (39, "HT 95999 38728")],
)  # fmt: skip
def test_letters_of_eight_points(index: int, text: str) -> None:
    """The letters agree with osgb 1.2.0; a leading zero, and a northing over a million."""
    assert lettered(SQUARES, *POINTS[index][2:], 5) == text
    assert off(place(text), *POINTS[index][:2]) < 6


def test_all_91_squares_against_pygeodesy() -> None:
    osgr = pytest.importorskip("pygeodesy.osgr", reason="an independent table of the letters")
    for letters, (east, north) in SQUARES.items():
        ref = osgr.parseOSGR(f"{letters} 00000 00000")
        assert (round(ref.easting), round(ref.northing)) == (east, north)
    assert len(SQUARES) == 91


@pytest.mark.parametrize(
    ("text", "east", "north", "size"),
    [
        # Ordnance Survey leaflet, Using the National Grid: square TL63, church, windmill, farm
        ("TL63", 560_000, 230_000, 10_000),
        ("TL683365", 568_300, 236_500, 100),
        ("TL726350", 572_600, 235_000, 100),
        ("TL701352", 570_100, 235_200, 100),
        ("SU 387 148", 438_700, 114_800, 100),
        ("TQ4480", 544_000, 180_000, 1_000),
        # quarter sheets, a real form; osgb 1.2.0 drops the quarter without a word
        ("SK07SW", 400_000, 370_000, 5_000),
        ("SK0472SE", 404_500, 372_000, 500),
    ],
)
def test_a_square_is_read_as_its_centre_and_half_its_diagonal(
    text: str, east: float, north: float, size: float
) -> None:
    for said in (text, text.lower(), f"{text}.", f"2 hinds at {text}, 85kg"):
        got = place(said, GB)
        assert projected(27700, got) == pytest.approx((east + size / 2, north + size / 2), abs=0.1)
        assert got.accuracy_m == pytest.approx(size / 2**0.5 + 5)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("TQ 4435 806", "odd_digits"),
        ("TQ 44359 8065", "odd_digits"),
        ("TQ44359", "odd_digits"),
        ("TI 123 456", "no_such_square"),  # there is no letter I
        ("no 123456", "square_or_word"),
        ("or 5550 0140", "square_or_word"),
    ],
)
def test_impossible_or_doubtful_references_are_asked_about(text: str, reason: str) -> None:
    assert why(text) == reason


@pytest.mark.parametrize(
    "text", ["AA 1 2", "SV 1 20", "ZZ 12345 67890", "London,UK", "so 12 34", "ear tag NZ 123456",
             "tag no 1234", "st 12 or 15", "NW 12", "of 36 52",
             "ring on 07700 900123 or 020 7946 0123"],
)  # fmt: skip
def test_what_is_no_reference_is_left_alone(text: str) -> None:
    assert claims(text, GB) == ()


# ------------------------------------------------------------------------------------ Ireland

SPIRE = (53.349794, -6.260248)
"""The Spire of Dublin: Irish Grid 315904, 234671, from an encyclopaedia's article."""


@pytest.mark.parametrize("text", ["O 15904 34671", "O1590434671", "o 15904 34671"])
def test_the_spire_of_dublin(text: str) -> None:
    got = place(text, frame(country="IE"))
    assert got.notation == "irish"
    assert off(got, *SPIRE) < 6


def test_the_irish_origin() -> None:
    """53 30 N 8 W is 200000, 250000 on TM75: the corner of N 00000 50000, as WGS84 within 70 m."""
    got = place("N 00000 50000", frame(country="IE"))
    assert projected(29903, got) == pytest.approx((200_000.5, 250_000.5), abs=0.1)


def test_random_irish_squares() -> None:
    chance, ireland = random.Random(2), frame(country="IE")
    for _ in range(200):
        east, north = chance.uniform(20_000, 360_000), chance.uniform(20_000, 460_000)
        figures = chance.choice((3, 4, 5))
        got = place(lettered(IRISH, east, north, figures), ireland)
        away = projected(29903, got)
        assert max(abs(away[0] - east), abs(away[1] - north)) <= 10.0 ** (5 - figures) / 2 + 0.5


def test_one_letter_is_no_square_in_another_country() -> None:
    for text in ("S 361 471", "A 123 456", "tag B 123456"):
        assert claims(text, frame(country="AU")) == ()


def test_one_letter_and_six_figures_are_doubtful_where_no_country_is_known() -> None:
    assert why("g159346") == "square_or_number"
    assert claims("o 159 346") == ()
    assert place("O 159 346").notation == "irish"
