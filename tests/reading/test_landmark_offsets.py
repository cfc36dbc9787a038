"""What stands beside a landmark: so far and that way, between two, an end of a track, and lengths.

Geodesic check values: pyproj and geographiclib, which agree. The places that a
sentence means are worked out here with geographiclib, not with the reader's own code.
"""

from __future__ import annotations

import pytest
from landmark_frame import (
    BY_NAME,
    ORRIN,
    WGS84,
    frame,
    landmarks_of,
    metres,
    only,
    unclear,
)

from bot.reading.landmarks import read_landmarks
from bot.reading.page import Page
from bot.reading.values import Found


@pytest.mark.parametrize(
    ("text", "lat", "lon"),
    [
        # pyproj and geographiclib, from -41, 173.
        ("3 km NW of Orrin Hut", -40.9808955, 172.9747940),
        ("3 km N of Orrin Hut", -40.9729860, 173.0),
        ("3 km E of Orrin Hut", -40.9999945, 173.0356569),
        ("3kmnw of orrin hut", -40.9808955, 172.9747940),
        ("3-odd km NW of Orrin Hut", -40.9808955, 172.9747940),
        ("3 or so km NW of Orrin Hut", -40.9808955, 172.9747940),
        ("3ish km NW of Orrin Hut", -40.9808955, 172.9747940),
        ("3km nw orrin hut", -40.9808955, 172.9747940),
        ("about 3k's north-west of Orrin Hut", -40.9808955, 172.9747940),
        ("three kilometres north west of the Orrin Hut", -40.9808955, 172.9747940),
        ("3000 m nor'west from Orrin Hut", -40.9808955, 172.9747940),
        ("NW 3 km from Orrin Hut", -40.9808955, 172.9747940),
        ("Orrin Hut, 3 km NW", -40.9808955, 172.9747940),
        ("Orrin Hut 3 km to the north west", -40.9808955, 172.9747940),
        ("NW of Orrin Hut by 3 km", -40.9808955, 172.9747940),
        ("2-4 km NW of Orrin Hut", -40.9808955, 172.9747940),
        ("2 to 4 km NW of Orrin Hut", -40.9808955, 172.9747940),
        ("3,0 km al noroeste del refugio Orrin", -40.9808955, 172.9747940),
        ("como 3 km hacia el noroeste de Orrin Hut", -40.9808955, 172.9747940),
        ("Orrin Hut, a 3 km al noroeste", -40.9808955, 172.9747940),
        ("Orrin Hut, à 3 km au nord-ouest", -40.9808955, 172.9747940),
        ("a 3 km al NO de Orrin Hut", -40.9808955, 172.9747940),
        ("à 3 km au nord-ouest de la cabane Orrin", -40.9808955, 172.9747940),
        ("à 3 km au NO d'Orrin Hut", -40.9808955, 172.9747940),
        ("à 3 km à l'est de Orrin Hut", -40.9999945, 173.0356569),
        ("a 3 km al este de Orrin Hut", -40.9999945, 173.0356569),
        ("on Dalwick Track about 3 km N of Orrin Hut", -40.9729860, 173.0),
        ("3 km N of Orrin Hut on Dalwick Track", -40.9729860, 173.0),
    ],
)
def test_so_far_and_that_way(text: str, lat: float, lon: float):
    place = only(text)
    assert metres(place, lat, lon) < 0.1
    assert place.notation == "landmark_bearing"
    assert place.landmark == "Orrin Hut"


@pytest.mark.parametrize(
    ("text", "azimuth", "length"),
    [
        ("half a k S of Orrin Hut", 180, 500),
        ("1/2 km S of Orrin Hut", 180, 500),
        ("½ km S of Orrin Hut", 180, 500),
        ("1½ km S of Orrin Hut", 180, 1500),
        ("3 and a half k SSE of Orrin Hut", 157.5, 3500),
        ("a couple of k WNW of Orrin Hut", 292.5, 2000),
        ("couple hundred metres west of Orrin Hut", 270, 200),
        ("2 miles ENE of Orrin Hut", 67.5, 3218.688),
        ("2 mi N of Orrin Hut", 0, 3218.688),  # The mile and the foot: NIST SP 811, appendix B.8.
        ("2.5mi NE of Orrin Hut", 45, 4023.36),
        ("about 2 mi. NE of Orrin Hut", 45, 3218.688),
        ("2 km. E of Orrin Hut", 90, 2000),
        ("300ft N of Orrin Hut", 0, 91.44),
        ("10 chains W of Orrin Hut", 270, 201.168),
        ("500 yds sth of Orrin Hut", 180, 457.2),
        ("2,5 km al sur de Orrin Hut", 180, 2500),
        ("un kilomètre au sud de Orrin Hut", 180, 1000),
    ],
)
def test_lengths_in_any_words(text: str, azimuth: float, length: float):
    place = only(text)
    true = WGS84.Direct(ORRIN.lat, ORRIN.lon, azimuth, length)
    assert metres(place, true["lat2"], true["lon2"]) < 0.1


@pytest.mark.parametrize(
    ("text", "least"),
    [
        # By trigonometry: an eight-point word at 3 km is 1171 m sideways, a
        # sixteen-point word 588 m; 500 m for a whole kilometre, 100 m for a hut.
        ("3 km NW of Orrin Hut", 1171 + 500 + 100),
        ("3 km NNW of Orrin Hut", 588 + 500 + 100),
        # A creek reaches further from its one listed point.
        ("3 km NW of Orrin Creek", 1171 + 500 + 1500),
    ],
)
def test_accuracy_is_the_sum_of_what_is_loose(text: str, least: float):
    assert only(text).accuracy_m == pytest.approx(least, abs=1)


@pytest.mark.parametrize(
    ("text", "reach"),
    [
        ("500m past Orrin Hut", 500),
        ("2k up the creek from Orrin Hut", 2000),
        ("2 km up Stony Creek from Orrin Hut", 2000),
        ("400 m short of Orrin Hut", 400),
        ("1 km down the track from Orrin", 1000),
        ("800 m zigzagging uphill from Orrin Hut", 800),
        ("from Orrin Hut 2 km up the creek", 2000),
        ("20 min walk from Orrin Hut", 1400),
        ("a 500 m del refugio Orrin", 500),
        ("à 500 mètres de Orrin Hut", 500),
        ("a k and a half past Orrin Hut", 1500),
    ],
)
def test_a_distance_without_direction_may_be_anywhere_that_far(text: str, reach: float):
    place = only(text)
    assert (place.lat, place.lon) == (ORRIN.lat, ORRIN.lon)
    assert reach < place.accuracy_m < 2 * reach + 700
    assert place.assumed == ("which way from Orrin Hut was not said",)


@pytest.mark.parametrize(
    "text",
    [
        "half way between Orrin Hut and Dalwick Saddle",
        "halfway between Orrin and the saddle",
        "between Orrin Hut and Dalwick Saddle",
        "entre Orrin Hut y Dalwick Saddle",
        "a medio camino entre Orrin Hut y Dalwick Saddle",
        "à mi-chemin entre Orrin Hut et Dalwick Saddle",
    ],
)
def test_between_two_is_the_middle_of_the_line(text: str):
    place = only(text)
    saddle = BY_NAME["Dalwick Saddle"]
    one = metres(place, ORRIN.lat, ORRIN.lon)
    two = metres(place, saddle.lat, saddle.lon)
    assert one == pytest.approx(two, abs=0.1)
    assert one + two == pytest.approx(
        WGS84.Inverse(ORRIN.lat, ORRIN.lon, saddle.lat, saddle.lon)["s12"], abs=0.1
    )
    assert place.accuracy_m > (300 if "way" in text or "mi" in text else one)


def test_towards_a_second_landmark():
    saddle = BY_NAME["Dalwick Saddle"]
    line = WGS84.Inverse(ORRIN.lat, ORRIN.lon, saddle.lat, saddle.lon)
    true = WGS84.Direct(ORRIN.lat, ORRIN.lon, line["azi1"], 4000)
    for text in ("4 km from Orrin Hut towards Dalwick Saddle",
                 "4k past Orrin Hut on the way to Dalwick Saddle"):  # fmt: skip
        assert metres(only(text), true["lat2"], true["lon2"]) < 0.1


@pytest.mark.parametrize(
    "text",
    [
        "at the Orrin end of Dalwick Track",
        "the Orrin Hut end of Dalwick track",
        "Dalwick Trk, 300 m in from the Orrin Hut end",
    ],
)
def test_an_end_of_a_track_lies_towards_its_name(text: str):
    place = only(text)
    track = BY_NAME["Dalwick Track"]
    whole = WGS84.Inverse(track.lat, track.lon, ORRIN.lat, ORRIN.lon)["s12"]
    assert place.landmark == "Dalwick Track"
    assert metres(place, ORRIN.lat, ORRIN.lon) < whole
    # The edge of the track that is nearest to the hut lies within the accuracy.
    edge = WGS84.Direct(
        track.lat, track.lon,
        WGS84.Inverse(track.lat, track.lon, ORRIN.lat, ORRIN.lon)["azi1"], 1500,
    )  # fmt: skip
    assert metres(place, edge["lat2"], edge["lon2"]) < place.accuracy_m


@pytest.mark.parametrize(
    ("text", "notation", "least"),
    [
        ("near Orrin Hut", "landmark_near", 1000),
        ("just off Orrin Hut", "landmark_near", 500),
        ("Orrin Hut area", "landmark_near", 1000),
        ("cerca de Orrin Hut", "landmark_near", 1000),
        ("près de Orrin Hut", "landmark_near", 1000),
        ("just north of Orrin Hut", "landmark_open", 2000),
        ("past Orrin Hut", "landmark_open", 2000),
        ("top of Orrin Ck", "landmark_part", 3000),
        ("upper Orrin Creek", "landmark_part", 3000),
        ("north end of Dalwick Track", "landmark_part", 3000),
        ("halfway up Dalwick Track", "landmark_open", 3000),
    ],
)
def test_loose_words_open_the_accuracy(text: str, notation: str, least: float):
    place = only(text)
    assert place.notation == notation
    assert place.accuracy_m >= least


@pytest.mark.parametrize(
    "text",
    [
        "umpteen km north of Orrin Hut",
        "half an hour from Orrin Hut",
        "from Orrin Hut 2 km N then 1 km E",
        "1 km E then 2 km N of Orrin Hut",
    ],
)
def test_a_distance_that_cannot_be_placed_is_asked_about(text: str):
    assert unclear(text).why == "how_far"


@pytest.mark.parametrize(
    "text",
    [
        "boar, 80 kg, near Orrin Hut",
        "3 pigs at Orrin Hut",
        "2 m boars, Orrin Hut",
        "drove 30 km. Orrin Hut",
        "est Orrin Hut",
        "la tete est a Orrin Hut",
        "2 boars sur Orrin Hut",
        "head no de Orrin Hut? no it's at Orrin Hut",
    ],
)
def test_a_number_or_a_small_word_that_is_no_offset_moves_nothing(text: str):
    for found in landmarks_of(text):
        assert isinstance(found, Found)
        assert (found.value.lat, found.value.lon) == (ORRIN.lat, ORRIN.lon)


@pytest.mark.parametrize(
    ("text", "notation"),
    [
        ("3 km N of Orrin Hut towards Dalwick Saddle", "landmark_bearing"),
        ("walking towards Orrin Hut", "landmark_open"),
        ("heading to Orrin Hut", "landmark"),
    ],
)
def test_what_lies_ahead_is_not_where_it_is(text: str, notation: str):
    place = only(text)
    assert (place.landmark, place.notation) == ("Orrin Hut", notation)


@pytest.mark.parametrize("text", ["Orrin Hut, 2 km walk in", "Orrin Hut 2k", "Orrin Hut 2 km"])
def test_a_bare_distance_after_a_name_opens_the_accuracy(text: str):
    assert only(text).accuracy_m > 2000


def test_a_person_may_be_called_like_a_place():
    assert landmarks_of("Orrin", "name") == ()
    assert only("Orrin. Head's at Pell Hut", "name").landmark == "Pell Hut"


@pytest.mark.parametrize(
    ("text", "metres_off"),
    [
        ("Orrin Hut, had to climb uphill for maybe 2 km", 2000),
        ("walked 4 km past some gate, Orrin Hut", 4000),
    ],
)
def test_a_stray_distance_opens_the_accuracy(text: str, metres_off: float):
    assert only(text).accuracy_m > metres_off


@pytest.mark.parametrize("unit", ["3 km", "3km", "3ks", "3kms", "3 k's", "3000m", "3.0 klicks"])
@pytest.mark.parametrize("direction", ["NW", "nw", "(NW)", "due NW", "out NW"])
@pytest.mark.parametrize(
    "frame_of",
    [
        "{u} {d} of {l}", "{l} {u} {d}", "{l}: {u} {d}",
        "{l} + {u} {d}", "from {l} go {u} {d}", "from {l} head {d} {u}",
        "{l} then {u} {d}",  
        "{u} or so {d} from {l}", "{d} of {l} by {u}", "{u} on the {d} side of {l}",
        "go {u} {d} past {l}", "{l} - {u} {d}",
    ],
)  # fmt: skip
def test_an_offset_is_never_lost_in_loose_wording(frame_of: str, direction: str, unit: str):
    """Wherever the words put the distance, the true point lies within the accuracy, or is asked."""
    text = frame_of.format(u=unit, d=direction, l="Pell Hut")
    pell = BY_NAME["Pell Hut"]
    true = WGS84.Direct(pell.lat, pell.lon, 315, 3000)
    for found in landmarks_of(text):
        if isinstance(found, Found):
            assert metres(found.value, true["lat2"], true["lon2"]) <= found.value.accuracy_m
    assert landmarks_of(text)


def test_two_offsets_are_two_places():
    found = landmarks_of("1 km N of Orrin Hut and 2 km S of Dalwick Saddle")
    assert [f.value.landmark for f in found if isinstance(f, Found)] == [
        "Orrin Hut", "Dalwick Saddle",
    ]  # fmt: skip


def test_the_stretch_is_struck_and_heard():
    page = Page("Big boar. 3 km NW of Orrin Hut on Sat")
    (found,) = read_landmarks(page, frame())
    assert found.heard == "3 km NW of Orrin Hut"
    assert page.text[found.start : found.end] == found.heard
    assert page.left == "Big boar. " + "\x00" * len(found.heard) + " on Sat"
