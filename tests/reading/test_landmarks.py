"""Landmarks however they are spelt, and what stands beside them.

Geodesic check values: pyproj and geographiclib, which agree. The places that a
sentence means are worked out here with geographiclib, not with the reader's own code.
"""

from __future__ import annotations

import time
from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from landmark_frame import (
    BY_NAME,
    LANDMARKS,
    MARKS,
    WGS84,
    frame,
    landmarks_of,
    metres,
    only,
    unclear,
)

from bot.programme import Programme
from bot.reading.describe import describe_place
from bot.reading.landmarks import Landmarks, read_landmarks
from bot.reading.page import LONGEST, Page
from bot.reading.values import Found, Place, Unclear

# ------------------------------------------------------------------------------------- names


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("Orrin Hut", "Orrin Hut"),
        ("shot at orrin hut sat arvo", "Orrin Hut"),
        ("orrin huts", "Orrin Hut"),
        ("the hutt orrin", "Orrin Hut"),
        ("Orrinhut", "Orrin Hut"),
        ("Orrin-Hut", "Orrin Hut"),
        ("refugio Orrin", "Orrin Hut"),
        ("el refugio de Orrin", "Orrin Hut"),
        ("la cabane d'Orrin", "Orrin Hut"),
        ("Orrin Ck", "Orrin Creek"),
        ("orrin crk, 2 pigs", "Orrin Creek"),
        ("Orrin Ck.", "Orrin Creek"),
        ("arroyo Orrin", "Orrin Creek"),
        ("Mt Teverin", "Mount Teverin"),
        ("Mt. Teverin", "Mount Teverin"),
        ("teverin mtn", "Mount Teverin"),
        ("dalwick trk", "Dalwick Track"),
        ("wimberley stn", "Wimberley Station"),
        ("Harlans hut", "Harlan's Hut"),
        ("harlan hut", "Harlan's Hut"),
        ("Harlan\u2019s Hut", "Harlan's Hut"),
        ("at the saddle", "Dalwick Saddle"),
        ("on the saddle", "Dalwick Saddle"),
        ("head's at Orrin", "Orrin Hut"),
        ("Orrin", "Orrin Hut"),
        ("Orrin, 2 boars", "Orrin Hut"),
        ("Quarrydale", "Quarrydale"),
        ("home in Quarrydale now", "Quarrydale"),
    ],
)
def test_a_landmark_is_found_however_it_is_written(text: str, name: str):
    place = only(text)
    mark = BY_NAME[name]
    assert (place.landmark, place.lat, place.lon) == (name, mark.lat, mark.lon)
    assert place.notation == "landmark"


@pytest.mark.parametrize(
    "text",
    [
        "",
        "a saddle of venison for tea",
        "took the saddle and both back legs",
        "my orrin pup got bitten",  # A short name where no place would stand.
        "back at the hut now",
        "the creek was up",
        "3 km NW of the hut",
        "shot a young boar last night, lumps in the throat, kept the head on ice for you",
        "found pus in the jaw glands when I was boiling it out, what should I do with the dogs",
        "big sow, about 80 kilos, dark, no tag, two dogs on her, nothing else to tell",
        "yes", "no", "stop", "sat arvo", "0491 570 006", "12/11/2026", "-41.2, 173.1",
        "hay harlan here",
    ],
)  # fmt: skip
def test_everyday_words_are_no_landmarks(text: str):
    assert landmarks_of(text) == ()


def test_when_a_place_was_asked_for_a_short_name_needs_no_other_word():
    assert landmarks_of("i was on my way orrin mate") == ()
    assert only("i was on my way orrin mate", "kill_place").landmark == "Orrin Hut"


@pytest.mark.parametrize(
    ("text", "why", "names"),
    [
        ("shot it on Stony Creek", "two_landmarks", ["Stony Creek", "Stony Creek"]),
        ("stony ck", "two_landmarks", ["Stony Creek", "Stony Creek"]),
        ("at Stony", "which_landmark", ["Stony Creek", "Stony Creek"]),
        ("at Dalwick", "which_landmark", ["Dalwick Saddle", "Dalwick Track"]),
        ("at Teverin", "which_landmark", ["Mount Teverin"]),
        ("Orrin Creek Road", "which_landmark", ["Orrin Creek"]),
        ("Orrin Track", "which_landmark", ["Orrin Hut"]),
        ("Little Orrin Creek", "which_landmark", ["Orrin Creek"]),
        ("Orrin Hut or Pell Hut", "two_landmarks", ["Orrin Hut", "Pell Hut"]),
        ("Wimbarlay Station", "which_landmark", ["Wimberley Station"]),
        ("near Wimberly", "which_landmark", ["Wimberley Station"]),
    ],
)
def test_what_may_be_another_place_is_asked_about(text: str, why: str, names: list[str]):
    question = unclear(text)
    assert (question.question, question.why) == ("place", why)
    values = [c.value for c in question.choices]
    assert [v.landmark for v in values if isinstance(v, Place)] == names


def test_choices_between_two_of_a_name_say_where_each_lies():
    words = [c.words for c in unclear("Stony Creek").choices]
    assert len(set(words)) == 2
    assert all(w.startswith("Stony Creek, ") and " of " in w for w in words)


def test_an_offset_from_a_name_that_stands_twice_is_offered_from_each():
    one, two = (c.value for c in unclear("2 km N of Stony Creek").choices)
    assert isinstance(one, Place)
    assert isinstance(two, Place)
    first, second = (m for m in MARKS if m.name == "Stony Creek")
    for place, mark in ((one, first), (two, second)):
        true = WGS84.Direct(mark.lat, mark.lon, 0, 2000)
        assert metres(place, true["lat2"], true["lon2"]) < 1


def test_a_place_that_is_denied_is_not_given():
    assert landmarks_of("not Pell Hut") == ()
    assert only("not Pell Hut, Orrin Hut").landmark == "Orrin Hut"
    assert only("not far from Orrin Hut").landmark == "Orrin Hut"


# -------------------------------------------------------------------------------- properties

STRONG = [m.name for m in MARKS if m.name not in {"Stony Creek", "Quarrydale", "Pell Hut"}]
CARRIERS = ("{}", "shot at {} yesterday", "sow. {}. head on ice", "2 boars, {}, sat arvo")


@given(st.sampled_from(STRONG), st.sampled_from(CARRIERS), st.data())
def test_one_slip_in_a_long_word_is_forgiven(name: str, carrier: str, data: st.DataObject):
    word = next(w for w in name.split() if (w.isalpha() and len(w) >= 5) or "'" in w)
    at = data.draw(st.integers(1, len(word) - 2))
    letter = data.draw(st.sampled_from("aeioulnrst"))
    slip = data.draw(st.sampled_from([
        word[:at] + word[at + 1 :],
        word[:at] + letter + word[at:],
        word[:at] + letter + word[at + 1 :],
        word[:at] + word[at + 1] + word[at] + word[at + 2 :],
    ]))  # fmt: skip
    found = landmarks_of(carrier.format(name.replace(word, slip)))
    assert len(found) == 1
    given_names = (
        [found[0].value.landmark] if isinstance(found[0], Found)
        else [c.value.landmark for c in found[0].choices if isinstance(c.value, Place)]
    )  # fmt: skip
    assert name in given_names


@given(
    st.floats(-41.45, -40.55),
    st.floats(172.55, 173.45),
    st.sampled_from(["en", "es", "fr"]),
    st.sampled_from(CARRIERS),
)
def test_what_we_say_of_a_point_leads_back_to_it(lat, lon, language, carrier):
    """Our own words for a point, read again, hold the point within their accuracy."""
    place = only(carrier.format(describe_place(lat, lon, LANDMARKS, language)))
    assert metres(place, lat, lon) <= place.accuracy_m


def gist(text: str) -> list[object]:
    return [f.value if isinstance(f, Found) else (f.why, f.choices) for f in landmarks_of(text)]


@given(
    st.sampled_from([
        "3 km NW of Orrin Hut", "near Dalwick Saddle", "Stony Creek", "at Teverin",
        "halfway between Orrin Hut and Pell Hut", "500 m past Harlan's Hut", "Orrin Creek Road",
    ]),
    st.sampled_from([str.upper, str.lower, str.title, str.swapcase]),
    st.sampled_from(["", ".", " .", "  ", "!"]),
    st.integers(1, 4),
)  # fmt: skip
def test_case_spaces_and_a_full_stop_change_nothing(text, case, end, spaces):
    changed = case(text).replace(" ", " " * spaces) + end
    assert gist(changed) == gist(text)


PIECES = (
    "orrin hut creek 3 km nw of between and the saddle stony pell near or not end to half a 1/2 ½ "
    "past towards , . - \x00 ' d' İ ß ﬁ no de al sur 2-3 m 20 min walk"
)
ALPHABET = st.one_of(
    st.text(max_size=200), st.lists(st.sampled_from(PIECES.split()), max_size=40).map(" ".join)
)


@given(ALPHABET, st.sampled_from(["", "kill_place", "pickup_place"]))
def test_any_text_gives_values(text: str, asked: str):
    for found in landmarks_of(text, asked):
        assert isinstance(found, (Found, Unclear))
        assert 0 <= found.start < found.end <= min(len(text), LONGEST)
        if isinstance(found, Found):
            assert -90 <= found.value.lat <= 90
            assert found.value.accuracy_m > 0


HOSTILE = (
    "orrin ", "orrin hut ", "stony creek or ", "3 km nw of ", "between orrin hut and ", "2 km up ",
    "a", "1/", "the ", "orrim ", "d'", "end of dalwick track ", "km ", "½",
)  # fmt: skip


@pytest.mark.parametrize("piece", HOSTILE)
def test_hostile_texts_take_linear_time(piece: str):
    """Eight times the text takes 8 times as long, with room for noise, and not 64 times."""

    def best(length: int) -> float:
        text = (piece * LONGEST)[:length]
        times = []
        for _ in range(3):
            start = time.thread_time()
            landmarks_of(text)
            times.append(time.thread_time() - start)
        return min(times)

    eighth, whole = best(LONGEST // 8), best(LONGEST)
    assert whole < max(24 * eighth, 0.002)
    assert whole < 0.25


def test_no_landmarks_at_all_find_nothing():
    bare = Landmarks.build((), LANDMARKS.words)
    assert bare.places == ()
    assert read_landmarks(Page("Orrin Hut"), replace(frame(), landmarks=bare)) == ()
    assert read_landmarks(Page("Orrin Hut"), replace(frame(), landmarks=None)) == ()


def test_the_programmes_own_rows_will_do(programme: Programme):
    """The demo's list: some forty names within its area, one of them standing twice."""
    landmarks = Landmarks.build(programme.landmarks, LANDMARKS.words)
    assert len(landmarks.places) >= 40
    assert all(programme.zone_of(p.lat, p.lon) for p in landmarks.places)
    scene = replace(frame(), landmarks=landmarks)
    twice = [n for n, said in Counter(p.name for p in programme.landmarks).items() if said > 1]
    assert twice == ["Sandy Creek"]
    for place in programme.landmarks:
        (found,) = read_landmarks(Page(f"shot at {place.name}"), scene)
        if isinstance(found, Found):
            assert (found.value.lat, found.value.lon) == (place.lat, place.lon)
        else:
            assert place.name in twice
