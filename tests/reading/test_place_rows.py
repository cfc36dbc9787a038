"""Places as the test cases of general-purpose libraries write them, bare and in sentences.

Texts and positions are facts from the repository named above each group; grids are checked
against PROJ, and squares against the mgrs library.
"""

from __future__ import annotations

import mgrs
import pytest
from place_frame import ANYWHERE, claims, frame, off, place, projected, why
from places_written import NUMBERED, PLAIN

from bot.reading.values import Found

READ = {
    # openstreetmap/openstreetmap-website, test/controllers/geocoder_controller_test.rb
    "openstreetmap-website": [
        ("50.06773N, 14.37742W", 50.06773, -14.37742),
        ("S50.06773 E14.37742", -50.06773, 14.37742),
        ("N 50° 04.064 W 014° 22.645", 50.06773, -14.37742),
        ("50° 04.064' S, 014° 22.645' W", -50.06773, -14.37742),
        ("S50 4 03.828, E14 22 38.712", -50.06773, 14.37742),
        ("+50.06773, +14.37742", 50.06773, 14.37742),
    ],
    # DataValues/Geo, tests/unit/Parsers/GlobeCoordinateParserTest.php
    "DataValues Geo": [
        ("55 S, 37.6176330 W", -55.0, -37.617633),
        ("-55, -37.6176330", -55.0, -37.617633),
        ("5.5S,37W ", -5.5, -37.0),
        ("5.5 S 37 W ", -5.5, -37.0),
        ("s5.5 w37 ", -5.5, -37.0),
        ("-5.5 -37 ", -5.5, -37.0),
        ("-5.5 ° -37 ° ", -5.5, -37.0),
        (" 0 ° 0 ' 18 \" S   0 °  0 ' 18 \"  W ", -0.005, -0.005),
        ("S0°0.3'W0°0.3'", -0.005, -0.005),
        ("10° 20°", 10.0, 20.0),
        ("1N 1E", 1.0, 1.0),
    ],
    # JOSM/josm, LatLonParserTest.java
    "JOSM": [
        ("W 49°29.918' S 19°24.788'", -19.41313, -49.49863),
        ("49 29 51, 19 24 18", 49.4975, 19.405),
        ("49° 29; 19° 24", 49.48333, 19.4),
        ("E 49 29, N 19 24", 19.4, 49.48333),
        ("49 29.4 19 24.5", 49.49, 19.40833),
    ],
    # cgeo/cgeo, GeoPointParserTest.java: a telephone's space after the decimal point
    "cgeo": [
        ("N 49° 56.031 | E 8° 38.564", 49.93385, 8.64273),
        ("N 49° 43' 57\" · E 2 12' 35", 49.7325, 2.20972),
        ("N 46° 27' 55,65''\nE 15° 53' 41,68''", 46.465458, 15.894911),
        ("47. 648883   122. 348067", 47.648883, 122.348067),
        ("N 47° 38. 933   E 122° 20. 884", 47.648883, 122.348067),
        ("N12 34.567\nW001 23. 456", 12.576117, -1.390933),
        ("@n1 (W) N48 01.194 E011 43.814", 48.0199, 11.730233),
        ("52,55123 10,56789", 52.55123, 10.56789),
    ],
    # ropensci/parzer, test-parse_llstr.R: the letter where the degree mark would be
    "parzer": [
        ("45N54.2356,    45W54.2356", 45.90393, -45.90393),
        ("40-25-6S 74-38-28E", -40.418333, 74.641111),
    ],
    # mjaschen/phpgeo, CoordinateFactoryTest.php: letters on both sides
    "phpgeo": [
        ("52 12.345 N, E13 34.567 E", 52.20575, 13.576117),
        ("52 12 20.7 N, E13 34 34.02 E", 52.20575, 13.576117),
        ("52° 12′ 20.7′′ N, E13° 34′ 34.02′′ E", 52.20575, 13.576117),
        ("-52 12.345, -13 34.567", -52.20575, -13.576117),
        ("52.5° 013.5°", 52.5, 13.5),
        ("N52 E013", 52.0, 13.0),
    ],
    # Tronald/CoordinateSharp, CoordinateData/*.txt
    "CoordinateSharp": [
        ("E74 52 19.2\" S37 53 27.6\"", -37.891, 74.872),
        ("37-53-27.6 N 74-52-19.2W", 37.891, -74.872),
        ("74 52.32W 37 53.46N", 37.891, -74.872),
        ("N37.891W 74.872º", 37.891, -74.872),
        ("-39 34' 36.48\" 72 29' 9.24\"", -39.5768, 72.4859),
    ],
    # openAIP/openaip-coordinate-parser, NMEA 0183 sentences, APRS
    "runs of figures": [
        ("4007.38  N 7407.38  W", 40.123, -74.123),
        ("N400723 W0740723", 40.123056, -74.123056),
        ("N401213.1W0750015.1", 40.203639, -75.004194),
        ("4220N/7110W", 42.333333, -71.166667),
        ("4810.0900,N,01134.9470,E", 48.168167, 11.58245),
    ],
    # DJTommek/better-location, WGS84DegreesServiceTest.php
    "better-location": [
        ("N ° 50.636144, E ° 14.337469", 50.636144, 14.337469),
        ("18.2222E 58.1111S", -58.1111, 18.2222),
        ("89.999999 180.0", 89.999999, 180.0),
    ],
    # ixnode/php-coordinate, CoordinateParserTest.php
    "php-coordinate": [
        ("51,0504,13,7373", 51.0504, 13.7373),
        ("51.0504:13.7373", 51.0504, 13.7373),
        ("51°3′1.44″N:13°44′14.28″E", 51.0504, 13.7373),
        ("-33,940525, 18,414006", -33.940525, 18.414006),
    ],
    # teamunicycle/latlon, src/tests.rs: whatever stands for a mark
    "latlon": [
        ("40° 26‘ 46“ N 79° 58‘ 56“ W", 40.446111, -79.982222),
        ("40° 26‛ 46″ 79° 58‛ 56″", 40.446111, 79.982222),
        ("N40 26.433W79 58.933", 40.44055, -79.982217),
        ("40° 26,433′, 79° 58,933′", 40.44055, 79.982217),
    ],
    # seanson/python-iso6709, sualeh/pointlocation6709 (its longitude lacks the leading zero)
    "ISO 6709": [
        ("+352139+1384339+3776/", 35.360833, 138.7275),
        ("+1234.7-09854.1/", 12.578333, -98.901667),
        ("-05.2169-080.6303", -5.2169, -80.6303),
        ("+40.20361-75.00417/", 40.20361, -75.00417),
    ],
    # Exif as exiftool prints it, GPX and other files pasted whole: our own writing
    "pasted": [
        ("36 deg 52' 24.24\" S, 147 deg 9' 8.28\" E", -36.8734, 147.1523),
        (
            "GPSLatitude: 36 deg 52' 24.24\" S, GPSLongitude: 147 deg 9' 8.28\" E",
            -36.8734,
            147.1523,
        ),
        ('<wpt lat="-36.8734" lon="147.1523">', -36.8734, 147.1523),
        ("36.52.404S 147.09.138E", -36.8734, 147.1523),
        ("{lat: -36.8734, lng: 147.1523}", -36.8734, 147.1523),
    ],
    # own writing of the same point: labels behind, marks and hemisphere in one, commas
    "own": [
        ("-36.8734 lat, 147.1523 lon", -36.8734, 147.1523),
        ("36d52m24.24sS 147d9m8.28sE", -36.8734, 147.1523),
        ("36d52.404mS 147d9.138mE", -36.8734, 147.1523),
        ("36*52'24.24\"S 147*9'8.28\"E", -36.8734, 147.1523),
        ("36 degrees, 52 minutes, 24.24 seconds south, 147 degrees, 9 minutes, 8.28 seconds east",
         -36.8734, 147.1523),
        ("https://map.example/?sll=-36.1,147.9&q=-36.8734,147.1523", -36.8734, 147.1523),
        ("https://map.example/?marker=-36.8734,147.1523&center=-36.5,147.5", -36.8734, 147.1523),
    ],
    # osmandapp/OsmAnd, GeoPointParserUtilTest.java; hosts are of no account and invented here
    "links": [
        ("https://maps.example/maps?q=N34.99393,W106.61568", 34.99393, -106.61568),
        ("https://map.example/lat=34.99393&lon=-106.61568&zoom=11", 34.99393, -106.61568),
        ("https://map.example/p?c=%7B%22lat%22%3A34.99393%2C%22lng%22%3A-106.61568%7D",
         34.99393, -106.61568),
        ("https://maps.example/maps/@34,-106,11z", 34.0, -106.0),
        ("https://maps.example/dir/Current+Location/34,-106", 34.0, -106.0),
        ("https://maps.example/place/34%C2%B059'38.1%22N+106%C2%B036'56.5%22W/",
         34.99393, -106.61568),
        ("https://maps.example/?q=loc:34.99393,-106.61568 (+55 99 99999-9999)",
         34.99393, -106.61568),
        ("geo:0,0?z=11&q=34.99393,-106.61568(Treasure Island)", 34.99393, -106.61568),
    ],
}  # fmt: skip

ROWS = [
    pytest.param(*row, id=f"{source}: {row[0].strip()}")
    for source, rows in READ.items()
    for row in rows
]


@pytest.mark.parametrize(("text", "lat", "lon"), ROWS)
def test_a_row_is_read_bare(text: str, lat: float, lon: float) -> None:
    assert off(place(text), lat, lon) < 50


@pytest.mark.parametrize("carrier", PLAIN + NUMBERED)
def test_every_row_is_read_in_this_sentence(carrier: str) -> None:
    for rows in READ.values():
        for text, lat, lon in rows:
            said = carrier.format(text)
            got = [c for c in claims(said) if isinstance(c, Found)]
            assert len(got) == 1, said
            assert off(got[0].value, lat, lon) < 50, said


GRIDS = [
    # Flinders Peak (ICSM GDA2020 Technical Manual) in the notations of NationalSecurityAgency/
    # qgis-latlontools-plugin utm.py, of receivers, and of people who part the thousands
    ("273741,5796489,55S", 32755, 273741, 5796489, 1),
    ("273741mE,5796489mN,55,S", 32755, 273741, 5796489, 1),
    ("55S 273741m E 5796489m N", 32755, 273741, 5796489, 1),
    ("S55 273741E 5796489N", 32755, 273741, 5796489, 1),
    ("55H  0273741  UTM 5796489", 32755, 273741, 5796489, 1),
    ("55H 273 741 5 796 489", 32755, 273741, 5796489, 1),
    ("55H 273,741 5,796,489", 32755, 273741, 5796489, 1),
    ("UTM zone 55 southern hemisphere 273741 5796489", 32755, 273741, 5796489, 1),
    ("loc.55H 273741 5796489", 32755, 273741, 5796489, 1),
    # DJTommek/better-location, UTMServiceTest.php
    ("33N457111 5548111", 32633, 457111, 5548111, 1),
    ("33U5405345441305", 32633, 540534, 5441305, 1),
    # danielsiwiec/parse-coords
    ("31T 430959.5858286716 4583866.770942634", 32631, 430959.586, 4583866.771, 1),
    # LINZ nztm.c self-test, parted
    ("NZTM 1 576 542 5 515 331", 2193, 1576542, 5515331, 1),
    ("NZTM (1576542, 5515331)", 2193, 1576542, 5515331, 1),
    # LINZ argo-tasks: BX24 is Christchurch, E 1564000-1588000, N 5154000-5190000
    ("BX24-700600", 2193, 1570000, 5160000, 100),
    ("BX24 GR 700600", 2193, 1570000, 5160000, 100),
    # paulcager/osgridref, walkermatt/gridref, thruston/perl-geo-coordinates-osgb
    ("NN1665071250", 27700, 216650, 771250, 1),
    ("se0849025580", 27700, 408490, 425580, 1),
    ("se 60724 48627", 27700, 460724, 448627, 1),
    ("TA 123 567", 27700, 512300, 456700, 100),
    ("HP6322316714", 27700, 463223, 1216714, 1),
    # digitalnature-ie/igr
    ("S 12345 50000", 29903, 212345, 150000, 1),
    ("N 876 274", 29903, 287600, 227400, 100),
    # own: the square N, which is no northing
    ("N 87600 27400", 29903, 287600, 227400, 1),
    ("Irish grid N 87600 27400", 29903, 287600, 227400, 1),
    ("IG N 8760 2740", 29903, 287600, 227400, 10),
]


@pytest.mark.parametrize(("text", "epsg", "east", "north", "size"), GRIDS)
@pytest.mark.parametrize("carrier", ["{}", "{}.", "boar at {}, 2 lumps", "{} 2 pigs 80kg"])
def test_a_grid_row_is_read(
    text: str, epsg: int, east: float, north: float, size: float, carrier: str
) -> None:
    got = projected(epsg, place(carrier.format(text)))
    half = size / 2 if size > 1 else 0
    assert got == pytest.approx((east + half, north + half), abs=max(size * 0.6, 2))


SQUARES = [
    # codice/usng.js, klassenjs/usng, mrJean1/PyGeodesy testMgrs.py, Tronald/CoordinateSharp
    "5Q KB 42785 31517", "12S VC 12900 43292", "15R YP 7962", "18S UJ 228 070",
    "31U DQ 48251, 11932", "18T-WL-85000-11000", "18S/UJ/23483/06479", "31V CG 88455 53097",
    "21T UL 69822.365 12394.126",
]  # fmt: skip


@pytest.mark.parametrize("text", SQUARES)
@pytest.mark.parametrize("carrier", ["{}", "head at {}.", "{} 2 pigs"])
def test_a_square_is_the_reference_librarys(text: str, carrier: str) -> None:
    code = "".join(c for c in text.replace(".365", "").replace(".126", "") if c.isalnum())
    lat, lon = mgrs.MGRS().toLatLon(code)
    got = place(carrier.format(text))
    assert off(got, lat, lon) < got.accuracy_m


def test_one_decimal_place_is_believed_where_the_text_points_at_it() -> None:
    """ "52.5, 13.5" (phpgeo) may be two weights; alone, or behind "at", it is no such thing."""
    for text in ("52.5, 13.5", "pig at 52.5, 13.5 today", "gps 52.5, 13.5"):
        assert off(place(text), 52.5, 13.5) < 1, text
    for text in ("52.5, 13.5 2 pigs", "sow 52.5, 43.5", "weighed 52.5, 43.5", "at 6.5, 7.5"):
        assert claims(text) == (), text


ASKED = [
    ("48°45'S 23°30'S", "same_axis"),  # JOSM
    ("S 90° 00′ 00.01″ W 180° 00′ 00.00″", "lat_over_90"),  # cgeo
    ("S 89° 59′ 60.00″ W 179° 59′ 59.99″", "minutes_over_59"),  # cgeo
    ("N 12° 23′ E 123° 3A′", "two_readings"),  # cgeo: a number cut off by a letter
    ("29deg 30min 0sec 95deg 30min 2 pigs", "two_readings"),  # geocoord-parser, and a count
    ("38 t ng 12345 67890", "band_mismatch"),
    ("55 S 37 W 45", "two_readings"),
    ("3 S 5.5° W 37°", "two_readings"),
    ("35 11.1683 , 136 49.8966 80.5", "two_readings"),
    ("NO 123456", "square_or_word"),
    ("no 12345 67890", "square_or_word"),
    ("55 273741 5796489 utm", "no_hemisphere"),
    ("SJ95255", "odd_digits"),  # osgridref
]


@pytest.mark.parametrize(("text", "reason"), ASKED)
def test_a_row_is_asked_about(text: str, reason: str) -> None:
    assert why(text) == reason


NOTHING = [
    # Other libraries' own rejects: DataValues Geo, parzer, sexagesimal, cgeo
    "1NN, 1EE", "1X, 1Y", "N1N, E1E", "N, 1E", "-40.1X, 74", "500 johnson st 11310",
    "500 5th st nw",
    "1 2 3 4 5 6 7 8", "2.2.3.8", "6, 12, 16, 29", "L 12\n M 13\n N 14\n O 15", "N 49° 56.031",
    "N51 21.523 and some words in between, so there is no relation E07 02.680",
    # What else hunters write in figures
    "0491 570 156", "+61 491 570 156", "07700 900123", "12.11.2026", "2026-11-25", "25 MAR 2003",
    "between 6.30 and 7.15", "80.5 75.2", "weights 45.25, 52.75", "cost 12.50, 14.75",
    ".308 at 200m",
    "7.62x39 and 7.62x51", "30-06 at 150 yards", "6.5x55 swede 140 gr", "ear tag 123456",
    "tag O 12345 67890", "12 pigs, 3 sows, 9 piglets", "2 n 1 of them",
    "$1,576,542 and $5,515,331",
    "75 5th Avenue, NYC, USA", "rego ABC123", "permit NT 123456", "lumps 2x3 cm",
    "no 1 dog, no 2 dog",
    "20m ne 1200", "3 ewe 12345", "got 3 EWE 45 KG", "so 5550 1234 is my number", "at 18.5, 19.5",
    "A=6 B=0 C=5 D=4 E=13", "500mnortheast of the hut",
]  # fmt: skip


@pytest.mark.parametrize("text", NOTHING)
@pytest.mark.parametrize("carrier", ["{}", "shot a boar {} yesterday", "Boar, {}."])
def test_what_is_no_place_gives_none(text: str, carrier: str) -> None:
    assert not [c for c in claims(carrier.format(text)) if isinstance(c, Found)]


SILENT = [
    # Each of these gave another place without a question once.
    ("5.5S 37W 2 pigs", -5.5, -37.0),
    ("5.5°S,37°W , 3 hinds", -5.5, -37.0),
    ("N12 34.567 W001 23. 456 this morning", 12.576117, -1.390933),
    ("N36 52 E147 09. 125 kg boar", 36.866667, 147.15),
    ("5.5 S 37 W 45", -5.5, -37.0),
    ("N37.891W 74.872º n of the hut", 37.891, -74.872),
    ("00° 00.000 E 036° 00.000 n of the hut", 0.0, 36.0),
    ("n 32W 66N e", 66.0, -32.0),
    ("12° N 5° E 45", 12.0, 5.0),
]


@pytest.mark.parametrize(("text", "lat", "lon"), SILENT)
def test_a_number_beside_a_pair_is_no_part_of_it(text: str, lat: float, lon: float) -> None:
    assert off(place(text), lat, lon) < 50


# Own: no area says which side of the equator, and the dash parts nothing from anything.
@pytest.mark.parametrize("text", ["- 36.8734, 147.1523", "head at: - 36.8734, 147.1523"])
def test_a_dash_that_may_be_a_minus_is_asked_about(text: str) -> None:
    assert why(text) == "two_readings"
    victoria = frame((140.9, -39.2, 150.1, -33.9))
    assert off(place(text, victoria), -36.8734, 147.1523) < 50


def test_small_words_are_squares_where_squares_are_at_home() -> None:
    """Scotland's NO 30 30 is Dundee; a programme there reads it, any other asks."""
    britain = frame(None, ("osgb",), "GB")
    assert projected(27700, place("NO 40500 30500", britain)) == pytest.approx(
        (340500.5, 730500.5), abs=1
    )
    assert why("so 123456", ANYWHERE) == "square_or_word"
