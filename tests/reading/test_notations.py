"""The table of notations as a whole: round trips, sentences, hostile texts, and time.

The places are written by PROJ and by reference libraries (places_written.py), never by the
readers' own code.
"""

from __future__ import annotations

import re
import time

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from place_frame import ANYWHERE, claims, frame, off, place, projected_to
from places_written import DEGREES, NUMBERED, PLAIN, UTM, cut, pair

from bot.reading.notations import NOTATIONS, find_notations
from bot.reading.page import LONGEST, STRUCK, Page
from bot.reading.values import Found, Unclear

LATS = st.floats(-79, 83).map(lambda v: round(v, 6))
LONS = st.floats(-179, 179).map(lambda v: round(v, 6))
CARRIERS = st.sampled_from(PLAIN + NUMBERED)

# Whole digits may be rounded at the edge of a cell, and distances here are spherical.
SLACK = 1.02


@pytest.mark.parametrize("name", DEGREES)
@settings(max_examples=12)
@given(lat=LATS, lon=LONS, carrier=CARRIERS)
def test_degrees_links_and_codes_are_read_back(
    name: str, lat: float, lon: float, carrier: str
) -> None:
    text = carrier.format(DEGREES[name](lat, lon))
    for said in (text, text.lower(), f"{text}.", text.replace(" ", "  ")):
        if name.startswith(("link", "geo")) and said != text:
            continue
        if abs(lat) < 1e-4 and abs(lon) < 1e-4:
            continue  # 0, 0 is what an empty field sends.
        got = place(said)
        assert off(got, lat, lon) <= got.accuracy_m * SLACK + 0.2, said


@pytest.mark.parametrize("name", UTM)
@settings(max_examples=15)
@given(lat=st.floats(-55.9, -0.2) | st.floats(0.2, 31), lon=LONS, carrier=CARRIERS)
def test_utm_and_squares_are_read_back(name: str, lat: float, lon: float, carrier: str) -> None:
    """Band S (32 to 40 N) is left out, where the letter is asked about, and E (Antarctica)."""
    text = carrier.format(UTM[name](lat, lon))
    for said in (text, text.lower(), f"{text}."):
        got = place(said)
        assert off(got, lat, lon) <= got.accuracy_m * SLACK + 0.2, said


GRIDS = {
    "osgb": (27700, "GB", (-5.0, 50.5, 1.0, 58.0)),
    "itm": (2157, "IE", (-10.0, 51.6, -6.0, 55.2)),
    "irish": (29903, "IE", (-10.0, 51.6, -6.0, 55.2)),
    "nztm": (2193, "NZ", (167.0, -46.0, 178.0, -35.0)),
    "nzmg": (27200, "NZ", (168.5, -46.0, 178.0, -35.0)),
    "mga": (7855, "AU", (144.1, -39.0, 149.9, -34.0)),
}


@pytest.mark.parametrize("name", GRIDS)
@settings(max_examples=15)
@given(data=st.data(), carrier=CARRIERS)
def test_bare_pairs_are_read_back_in_their_grid(
    name: str, data: st.DataObject, carrier: str
) -> None:
    epsg, country, (west, south, east, north) = GRIDS[name]
    lat, lon = data.draw(st.floats(south, north)), data.draw(st.floats(west, east))
    scene = frame((west - 0.05, south - 0.05, east + 0.05, north + 0.05), (name,), country)
    for pattern in ("{E} {N}", "{E}, {N}", "E{E} N{N}", "{E}E {N}N"):
        written = pair(epsg, pattern)(lat, lon)
        if name == "irish" and min(map(len, re.findall(r"\d+", written))) < 6:
            continue  # A short easting or northing has the shape of half a telephone number.
        got = place(carrier.format(written), scene)
        assert off(got, lat, lon) <= got.accuracy_m * SLACK + 1, written


@given(lat=st.floats(-46, -35), lon=st.floats(167, 178), carrier=CARRIERS)
def test_figures_cut_within_a_british_square(lat: float, lon: float, carrier: str) -> None:
    """TQ stands at 500000, 100000; any point of it by six, eight and ten figures."""
    east, north = 500_000 + (lon - 167) * 9_000, 100_000 + (lat + 46) * 9_000
    for figures in (3, 4, 5):
        text = f"TQ {cut(east, figures)} {cut(north, figures)}"
        got = place(carrier.format(text))
        at = projected_to(27700, got.lat, got.lon)
        assert max(abs(at[0] - east), abs(at[1] - north)) <= 10.0 ** (5 - figures) / 2 + 0.5


@given(st.text(max_size=300))
@example("\x00" * 30)
@example("İ 36 52 12 S 147 9 3 E İİ")
@example("36 52 12 S 147 9 3 E" * 90)
@example("+" * 2_000)
def test_any_text_gives_claims_and_never_an_exception(text: str) -> None:
    _whole(text)


@given(
    st.text(
        alphabet="0123456789 .,-+°'\"/:;nsewoNSEWO()dmhtqbr?&=#@!\x00 ",
        max_size=200,
    )
)
def test_any_text_of_coordinate_characters(text: str) -> None:
    _whole(text)


def _whole(text: str) -> None:
    """Each claim's words stand where it says, are struck, and overlap no other's."""
    page = Page(text)
    taken = 0
    for claim in find_notations(page, ANYWHERE):
        assert isinstance(claim, Found | Unclear)
        assert taken <= claim.start < claim.end <= len(text)
        assert claim.heard == text[claim.start : claim.end].strip()
        assert set(page.left[claim.start : claim.end]) == {STRUCK}
        taken = claim.end
        if isinstance(claim, Found):
            assert abs(claim.value.lat) <= 90
            assert abs(claim.value.lon) <= 180.001
            assert claim.value.accuracy_m >= 5


def test_a_claimed_stretch_is_not_read_again() -> None:
    page = Page("head at TQ 30624 78388 and BQ31 486 283")
    assert [c.value.notation for c in find_notations(page, ANYWHERE) if isinstance(c, Found)] == [
        "osgb",
        "topo50",
    ]
    assert find_notations(page, ANYWHERE) == ()


def test_names_in_the_table_are_one_each() -> None:
    names = [n.name for n in NOTATIONS]
    assert len(names) == len(set(names))


@pytest.mark.parametrize(
    "text",
    ["gibberish", "Cambridge", "London,UK", "New York", "", "no", "boar, head is in the chiller"],
)
def test_plain_words_are_no_place(text: str) -> None:
    assert claims(text) == ()


HOSTILE = [
    "1 ", "1.1 ", "12 34 56 ", "1,1,", "-1", "36.8712, ", "S ", "36 52 s ", "N1 ", "55s 123456 ",
    "e123456 ", "1234567 ", "tq", "tq 12 ", "a12 345 ", "bq31 ", "2+", "c2", "geo:1,", "/@1.1,",
    "https://x/?q=1", "www.x.y/1,", "°", "'", '"', "1°", "mga ", "nztm 1", "+1-1", "1/", "1:", "1.",
    "point(1 ", "&lat=1", "!3d1", "#1/", "lat ", "and 1 ", "18suj", "0", "\x00", "1 o ", "12-",
    "1. 234 ", "1 234 ", "55h 1 234 567 ", "n1e1 ", 'lat="1', "45n1.1 ", "1234.5,s,", "1.1, ",
    "1:1 ", "55s273741", "bq31 gr ", "-1.5,-21 ", "36.52.404s ", "http://m.map/", "x.y/1,2 ",
]  # fmt: skip


def _seconds(text: str, scene: object = ANYWHERE) -> float:
    best = 9.0
    for _ in range(4):
        page = Page(text)
        start = time.process_time()
        find_notations(page, ANYWHERE)
        best = min(best, time.process_time() - start)
    return best


@pytest.mark.parametrize("piece", HOSTILE)
def test_hostile_texts_take_linear_time(piece: str) -> None:
    whole = (piece * LONGEST)[:LONGEST]
    quarter, full = _seconds(whole[: LONGEST // 4]), _seconds(whole)
    # Four times the text: square growth would be sixteen times the time. Timers are coarse.
    assert full < 10 * max(quarter, 0.0005), (quarter, full)


@pytest.mark.parametrize("piece", HOSTILE)
def test_a_hostile_piece_before_a_place_raises_nothing(piece: str) -> None:
    _whole((piece * 40)[:400] + " 36 52 12 S 147 9 3 E " + (piece * 40)[:400])
