"""Degrees in all their notations.

Rows marked with a library's name are facts from its own test cases: geo-coordinates-parser (MIT,
testFormats.json and failFormats.js), geodesy by C. Veness (MIT), geopy (MIT, test_point.py).
"""

from __future__ import annotations

import pytest
from place_frame import ANYWHERE, claims, frame, off, place, why

from bot.reading.values import Found, Unclear

VICTORIA = (144.0, -39.0, 149.0, -35.0)

READ = [
    # geo-coordinates-parser
    ("40.123, -74.123", 40.123, -74.123),
    ("40.123° N 74.123° W", 40.123, -74.123),
    ('40° 7´ 22.8" N 74° 7´ 22.8" W', 40.123, -74.123),
    ("40° 7.38’ , -74° 7.38’", 40.123, -74.123),
    ("N40°7’22.8’’, W74°7’22.8’’", 40.123, -74.123),
    ("40 7 22.8, -74 7 22.8", 40.123, -74.123),
    ("40.123N74.123W", 40.123, -74.123),
    ("4007.38N7407.38W", 40.123, -74.123),
    ("400722.8N740722.8W", 40.123, -74.123),
    ("N 40 7.38 W 74 7.38", 40.123, -74.123),
    ("40:7:22.8N 74:7:22.8W", 40.123, -74.123),
    ('40d 7’ 23" N 74d 7’ 23" W', 40.12305556, -74.12305556),
    ("50°4'17.698\"south, 14°24'2.826\"east", -50.07158278, 14.400785),
    ("50d4m17.698S 14d24m2.826E", -50.07158278, 14.400785),
    ("40,446195° 79,948862°", 40.446195, 79.948862),
    ("27deg 15min 45.2sec S 18deg 32min 53.7sec E", -27.26255556, 18.54825),
    ("-27.15.45 18.32.53", -27.2625, 18.548055),
    ("27.15.45,2S 18.32.53,4E", -27.262556, 18.548167),
    ("S23.43563 °  E22.45634 °", -23.43563, 22.45634),
    ("S 27.45.34 E 23.23.23", -27.759444, 23.38972222),
    ("53 16.3863,4 52.8171", 53.273105, 4.88029),
    ("50 8.2914,-5 2.4447", 50.13819, -5.040745),
    ("N 48° 30,6410', E 18° 57,4583'", 48.51068, 18.95764),
    # geopy
    ("UT: N 39°20' 0'' / W 74°35' 0''", 39.333333, -74.583333),
    ("51 19m 12.9s N, 0 1m 24.95s E", 51.32025, 0.0235972),
    ("23 26m 22s N 23 27m 30s E", 23.439444, 23.458333),
    ("aaa 41.5 -81.0", 41.5, -81.0),
    # geodesy
    ("45º 45' 45.36\" S 45º 45' 45.36\" W", -45.7626, -45.7626),
    ("45N, 45E", 45.0, 45.0),
    ("39 13 26.71220(N), 098 32 31.74540(W)", 39.224087, -98.542151),
    # ISO 6709:2008, annex D, display form
    ("50°40′46.461″N 95°48′26.533″W", 50.67957250, -95.80737028),
    # The order is the letters' or the labels', whatever comes first.
    ("147.1512E, 36.8712S", -36.8712, 147.1512),
    ("lon 147.1512 lat -36.8712", -36.8712, 147.1512),
    # Field traps: ASCII marks, lower case, decimal comma, a sign that no keyboard has.
    ("59,33 18,06", 59.33, 18.06),
    ("59.33n 18.06e", 59.33, 18.06),
    ("N59 19.8 E18 3.6", 59.33, 18.06),
    ("52,6576 1,7179", 52.6576, 1.7179),
    ("\u221236.8712, 147.1512", -36.8712, 147.1512),
    ("S36\u00a050.9 E174\u00a045.6", -36.848333, 174.76),
    ("36?52'12\"S 147?9'3\"E", -36.87, 147.150833),
    ("-0 7m 30s, 1 2m 3s", -0.125, 1.034167),
    ("36-52-12 S 147-09-03 E", -36.87, 147.150833),
    # Spanish and French
    ("latitud 40,4168 norte longitud 3,7038 oeste", 40.4168, -3.7038),
    ("36,8712 sud 147,1512 est", -36.8712, 147.1512),
    ("N 40° 7,38' O 74° 7,38'", 40.123, -74.123),
    # Machines write these.
    ('{"lat":-36.8712,"lng":147.1512}', -36.8712, 147.1512),
    ("lat=-36.8712&lon=147.1512", -36.8712, 147.1512),
]


@pytest.mark.parametrize(("text", "lat", "lon"), READ)
def test_a_notation_gives_its_place(text: str, lat: float, lon: float) -> None:
    assert off(place(text), lat, lon) < 2.5


@pytest.mark.parametrize(("text", "lat", "lon"), READ)
def test_it_gives_the_same_in_a_sentence(text: str, lat: float, lon: float) -> None:
    said = f"shot 2 pigs 80kg at {text} about 6.30pm, call 0491 570 156"
    assert off(place(said), lat, lon) < 2.5


ASKED = [
    ("-41 S 173 E", "contradiction"),
    ("-41.5 S, 81.0 E", "contradiction"),
    ("41.5 N -81.0 W", "contradiction"),
    ("-23.3245° S / 28.2344° E", "contradiction"),
    # geo-coordinates-parser, failFormats.js
    ("S 27.45.34 S 23.23.23", "same_axis"),
    ("27.45.34 S S 23.23.23", "same_axis"),
    ("8°83S 35°67E", "minutes_over_59"),
    ("90°4'17.698\"south, 23°4'17.698\"east", "lat_over_90"),
    ("89°4'17.698\"south, 183°4'17.698\"east", "lat_over_90"),
    # linz/snap, concord check: the input rows that must fail
    ("40 80 00 S 175 10 00 E", "minutes_over_59"),
    ("45 17 15.937966 S 181 15 34.999025 W", "lat_over_90"),
    ("36 60 12 S 147 9 3 E", "minutes_over_59"),
    ("36 52 60 S 147 9 3 E", "minutes_over_59"),
    ("147.1512, -36.8712", "lat_over_90"),
    # The number before may be degrees, or a count: two readings.
    ("36 52.2 S, 147.15 E", "two_readings"),
    ("2 N 40 W 74", "two_readings"),
    ("S 36 E 147 30", "two_readings"),
]


@pytest.mark.parametrize(("text", "reason"), ASKED)
def test_contradictions_are_asked_about(text: str, reason: str) -> None:
    assert why(text) == reason
    assert why(text.lower() + ".") == reason
    assert why(f"boar at {text}, big one") == reason


def test_a_contradiction_offers_both_readings() -> None:
    (asked,) = claims("-41.5 S, 81.0 E")
    assert isinstance(asked, Unclear)
    assert [c.words for c in asked.choices] == [
        "41.50000 S 81.00000 E",
        "41.50000 N 81.00000 E",
    ]


def test_a_latitude_over_90_offers_the_numbers_swapped() -> None:
    (asked,) = claims("147.1512, -36.8712")
    assert isinstance(asked, Unclear)
    assert [c.words for c in asked.choices] == ["36.87120 S 147.15120 E"]


NOT_PLACES = """
call 0491 570 156
+61 491 570 156
07700 900123 or 020 7946 0123
06 39 98 01 23, 06 39 98 01 24
01 99 00 12 34 / 01 99 00 12 35
+1 212 555 0123
12/11/2026 18:45
on 3.11.26 and 4.11.26
2026-11-03 2026-11-04
between 6.30 and 7.15
6.30 7.15
06:30 S 07:15
80.5kg 92.5kg
2 pigs 80.5 kg and 92.25 kg
.308 .223
0.308 0.223
7.62x39
308 win, 243 win
12, 5
2 5
1, 2, 3, 4, 5, 6
$12.505, $7.201
2.5 - 3.5 km
2.5-3.5
weighs 36.5 52.5
temp -2.5 3.5
shot 2 S of the hut and 3 E of the creek
2 n 1 e
2 o 3 jabalies
est 45 kg sur 12 mois
tag 123 456
S 36
lat 36
75 5th Avenue, NYC, USA
score 3:2 4:1
5'10" 6'2"
36 52 12
1234.524234234, 1241.1541241234
""".strip().splitlines()


@pytest.mark.parametrize("text", NOT_PLACES)
def test_what_is_no_place_is_left_alone(text: str) -> None:
    for said in (text, text.upper(), f"one boar, {text} and more"):
        assert claims(said) == ()


BESIDE = [
    "2 {}", "{} 2", "85, {}", "{}, 85", "6.30 {}", "{} 18:45", "0491 570 156 {}", "{} 0491570156",
    "1. {}", "{} 80.5kg", "{} N of the hut", "S of {}", "{} s side", "{} e of 2 huts",
    "w/ 2 dogs {}",
    "{} w/ 2 dogs", "{} 350 m", "{} +/- 10m", "-2 {}", "on 3.11.26 {}", "1 o 2 {}", "{} o 2",
    "{} and 2 more", "coords={}", '"{}"', "'{}'", "({})", "{}...", "{}?", "55 {}", "{} 55",
]  # fmt: skip


@pytest.mark.parametrize("carrier", BESIDE)
@pytest.mark.parametrize(
    "text",
    ["-36.8712, 147.1512", "36 52 16 S 147 9 4 E", "S 36 52.272 E 147 9.072", "36.8712S 147.1512E"],
)
def test_numbers_and_letters_beside_a_place_never_change_it(carrier: str, text: str) -> None:
    """Read right, or asked about; never another place."""
    got = claims(carrier.format(text))
    assert got
    for claim in got:
        if isinstance(claim, Found):
            assert off(claim.value, -36.8712, 147.1512) < 20


def test_a_missing_hemisphere_is_completed_from_the_area_and_said() -> None:
    got = place("36.8712 147.1512", frame(VICTORIA))
    assert (got.lat, got.lon) == (-36.8712, 147.1512)
    assert got.assumed == ("south, from the programme's area", "east, from the programme's area")


def test_without_an_area_a_missing_hemisphere_stays_as_written_and_is_said() -> None:
    got = place("36.8712 147.1512")
    assert (got.lat, got.lon) == (36.8712, 147.1512)
    assert len(got.assumed) == 2


def test_one_letter_leaves_the_other_to_the_area() -> None:
    got = place("36 52.272 S, 147 9.072", frame((-149.0, -39.0, -144.0, -35.0)))
    assert off(got, -36.8712, -147.1512) < 2
    assert got.assumed == ("west, from the programme's area",)


def test_a_written_sign_is_never_overruled_by_the_area() -> None:
    assert place("36.8712, -147.1512", frame(VICTORIA)).lat == 36.8712


def test_o_is_west_only_where_spanish_or_french_is_spoken() -> None:
    english = frame(languages=("en",))
    assert why("N 40.1234 O 7.1234", english) == "two_readings"
    assert place("N 40.1234 O 7.1234").lon == -7.1234


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("-36.87, 147.15", 600, 800),  # 0.01 degree: 1.1 km by 0.9 km, half diagonal
        ("-36.87120, 147.15120", 5, 5),  # finer than a receiver
        ("36 52 S 147 9 E", 1_000, 1_250),  # whole minutes
        ("36 52 12 S 147 9 3 E", 15, 25),  # whole seconds
        ("36 52.2 S 147 9.1 E", 100, 125),  # tenths of a minute
    ],
)
def test_the_radius_is_what_the_digits_fix(text: str, low: float, high: float) -> None:
    assert low <= place(text).accuracy_m <= high


def test_two_places_in_one_text() -> None:
    got = claims("shot -36.8712,147.1512 head at S36 52.2 E147 9.05")
    assert [c.start for c in got] == [5, 31]
    assert all(isinstance(c, Found) for c in got)


def test_what_was_heard_is_the_hunters_own_writing() -> None:
    (got,) = claims("boar S36° 52.272’ E147° 9.072’ ok", ANYWHERE)
    assert got.heard == "S36° 52.272’ E147° 9.072’"


@pytest.mark.parametrize("before", ["jaw ", "pus in jaw. ", "tusk, ", "boar. pus. jaws "])
def test_a_sign_before_a_position_does_not_hide_it(before: str) -> None:
    """A jaw is measured too ("tusks 12.50, 14.75"), but no measure has a minus."""
    got = place(f"{before}-36.87,147.15")
    assert (got.lat, got.lon) == (-36.87, 147.15)
