"""All places of a text, settled: roles, short codes, twice said, and the area."""

from __future__ import annotations

import time
from dataclasses import replace

import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given
from hypothesis import strategies as st
from landmark_frame import AREA, frame
from openlocationcode import openlocationcode as olc

from bot.reading.landmarks import read_landmarks
from bot.reading.notations import find_notations
from bot.reading.page import LONGEST, Page
from bot.reading.places import settle_places
from bot.reading.values import Found, Place, Unclear

Settled = tuple[tuple[Found[Place], ...], tuple[Unclear, ...]]


def settle(text: str, asked: str = "", anywhere: bool = False) -> Settled:
    page = Page(text)
    scene = frame(asked, None if anywhere else AREA)
    claims = (*find_notations(page, scene), *read_landmarks(page, scene))
    return settle_places(page, scene, claims)


def roles(text: str, asked: str = "") -> list[tuple[str, str]]:
    places, unclear = settle(text, asked)
    assert unclear == ()
    return [(p.value.role, p.value.landmark) for p in places]


HUT, SADDLE, PELL = "Orrin Hut", "Dalwick Saddle", "Pell Hut"


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("shot at Pell Hut, head now at Orrin Hut", [("kill", PELL), ("pickup", HUT)]),
        ("Head in freezer Orrin hut. Shot Pell Hut", [("pickup", HUT), ("kill", PELL)]),
        ("Orrin Hut freezer, shot at Pell Hut", [("pickup", HUT), ("kill", PELL)]),
        ("Orrin hut freezer shot at Pell hut", [("pickup", HUT), ("kill", PELL)]),
        (
            "Shot it yesterday. Near Pell Hut. Head is at Orrin hut",
            [("kill", PELL), ("pickup", HUT)],
        ),
        ("boar shot Sat, Pell Hut, head in the ute", [("kill", PELL)]),
        ("killed up at Pell Hut, head's home at Wimberley Station",
         [("kill", PELL), ("pickup", "Wimberley Station")]),
        ("found dead at Pell Hut", [("kill", PELL)]),
        ("shot in the head at Pell Hut", [("kill", PELL)]),
        (
            "boar lump in jaw Pell Hut yest 6pm head in freezer at Orrin Hut",
            [("", PELL), ("pickup", HUT)],
        ),
        ("Orrin Hut boar, lumps in lungs, head in freezer", [("", HUT)]),
        ("Orrin Hut boar tb lumps in lungs head in freezer", [("", HUT)]),
        ("Orrin Hut is where you can pick up the head", [("pickup", HUT)]),
        ("can pick up from Orrin Hut", [("pickup", HUT)]),
        ("will drop it off at Orrin Hut tomorrow", [("pickup", HUT)]),
        ("it died at Pell Hut and I'm at Orrin Hut", [("kill", PELL), ("pickup", HUT)]),
        ("Pell Hut is where I shot it", [("kill", PELL)]),
        ("Pell Hut kill, Orrin Hut freezer", [("kill", PELL), ("pickup", HUT)]),
        # Several carcases: both are kill places.
        ("shot one at Pell Hut and another at Orrin Hut", [("kill", PELL), ("kill", HUT)]),
        # Nothing tells, or the word goes both ways.
        ("Pell Hut", [("", PELL)]),
        ("Pell Hut, 2 boars, lumps", [("", PELL)]),
        ("dropped him at Pell Hut", [("", PELL)]),
        ("found lumps while skinning, Pell Hut", [("", PELL)]),
        ("lo mate en Pell Hut, la cabeza esta en Orrin Hut", [("kill", PELL), ("pickup", HUT)]),
        ("cazado en Pell Hut. Ahora en el congelador de Orrin Hut",
         [("kill", PELL), ("pickup", HUT)]),
        ("abattu à Pell Hut, la tête est au congélateur à Orrin Hut",
         [("kill", PELL), ("pickup", HUT)]),
        ("trouvé mort près de Pell Hut", [("kill", PELL)]),
    ],
)  # fmt: skip
def test_a_role_comes_from_the_words_around(text: str, expected: list[tuple[str, str]]):
    assert roles(text) == expected


@pytest.mark.parametrize(
    ("asked", "role"),
    [("pickup_place", "pickup"), ("head_at", "pickup"), ("kill_place", "kill"), ("when", "")],
)
def test_a_bare_place_answers_the_open_question(asked: str, role: str):
    assert roles("Pell Hut", asked) == [(role, PELL)]


def test_words_win_over_the_open_question():
    assert roles("shot it at Pell Hut", "pickup_place") == [("kill", PELL)]


def test_the_choices_of_a_question_carry_the_role():
    places, (question,) = settle("shot on Stony Creek, head at Orrin Hut")
    assert [p.value.role for p in places] == ["pickup"]
    assert [c.value.role for c in question.choices if isinstance(c.value, Place)] == ["kill"] * 2


@pytest.mark.parametrize(
    ("text", "landmark", "finest"),
    [
        ("shot near Orrin Hut, -41.00300, 173.00300", HUT, 20),
        ("-41.00300, 173.00300 near Orrin Hut", HUT, 20),
        ("Orrin Hut. At Orrin Hut", HUT, 100),
    ],
)
def test_the_same_place_twice_is_one(text: str, landmark: str, finest: float):
    (place,), unclear = settle(text)
    assert unclear == ()
    assert place.value.landmark == landmark
    assert place.value.accuracy_m <= finest


def test_the_same_spot_for_both_roles_stays_two():
    assert roles("shot at Orrin Hut, head in freezer at Orrin Hut") == [
        ("kill", HUT), ("pickup", HUT),
    ]  # fmt: skip


def test_places_too_far_apart_stay_two():
    places, _ = settle("-41.00000, 173.00000 and -41.00100, 173.00100")
    assert len(places) == 2


def test_places_stand_in_the_order_of_the_text():
    places, _ = settle("shot at Pell Hut, head at -41.20000, 173.30000")
    assert [p.value.landmark for p in places] == [PELL, ""]


# -------------------------------------------------------------------------------- short codes


def test_a_short_code_is_completed_from_the_landmark_beside_it():
    """The reference library shortens the code of a point 800 m from the hut; its own code area
    is what must come back."""
    code = olc.encode(-41.0070, 173.0020)
    short = olc.shorten(code, -41.0, 173.0)
    assert len(short) < len(code)
    cell = olc.decode(code)
    for text in (f"{short} Orrin Hut", f"{short}, near Orrin Hut", f"Orrin Hut {short}"):
        (place,), unclear = settle(text)
        assert unclear == ()
        off = Geodesic.WGS84.Inverse(
            place.value.lat, place.value.lon, cell.latitudeCenter, cell.longitudeCenter
        )
        assert off["s12"] < 0.01
        assert place.value.accuracy_m < 15


def test_a_short_code_without_a_place_is_asked_about():
    places, (question,) = settle("X2VV+6Q")
    assert places == ()
    assert question.why == "short_code"


# --------------------------------------------------------------------------------------- area


def test_far_outside_is_asked_about_with_what_falls_inside():
    places, (question,) = settle("shot at -41.00000, 137.00000")
    assert (places, question.why) == ((), "outside_area")
    (choice,) = question.choices
    assert isinstance(choice.value, Place)
    assert (choice.value.lat, choice.value.lon, choice.value.role) == (-41.0, 173.0, "kill")
    assert choice.words == "-41.00000, 173.00000 (at Orrin Hut)"


def test_exchanged_figures_of_degrees_and_minutes_are_read_again():
    _, (question,) = settle("S41 06.000 E137 12.000")
    assert question.why == "outside_area"
    assert any(
        isinstance(c.value, Place) and c.value.lon == pytest.approx(173.2) for c in question.choices
    )


def test_anywhere_has_no_outside():
    (place,), unclear = settle("12.34567, 34.56789", anywhere=True)
    assert unclear == ()
    assert (place.value.lat, place.value.lon) == (12.34567, 34.56789)


def test_without_landmarks_the_area_still_holds():
    page = Page("-41.00000, 137.00000")
    scene = replace(frame(area=AREA), landmarks=None)
    places, (question,) = settle_places(page, scene, find_notations(page, scene))
    assert places == ()
    assert [c.words for c in question.choices] == ["-41.00000, 173.00000"]


# --------------------------------------------------------------------------------- properties

PIECES = (
    "shot head at in freezer Orrin Hut Pell Hut Stony Creek -41.1 173.2 3 km NW of , . and now "
    "found dead the X2VV+6Q near 99 -99.5 0 E S home drop"
)
TEXTS = st.one_of(
    st.text(max_size=120), st.lists(st.sampled_from(PIECES.split()), max_size=30).map(" ".join)
)


@given(TEXTS)
def test_any_text_gives_values(text: str):
    places, unclear = settle(text)
    for place in places:
        assert place.value.role in {"kill", "pickup", ""}
        assert -90 <= place.value.lat <= 90
    assert all(question.question == "place" and question.why for question in unclear)


@pytest.mark.parametrize(
    "piece", ["-41.1 137.2 ", "shot orrin hut ", "head at ", "stony creek, ", "X2VV+6Q orrin hut "]
)
def test_hostile_texts_take_linear_time(piece: str):
    """Eight times the text takes 8 times as long, with room for noise, and not 64 times."""

    def best(length: int) -> float:
        text = (piece * LONGEST)[:length]
        times = []
        for _ in range(3):
            start = time.thread_time()
            settle(text)
            times.append(time.thread_time() - start)
        return min(times)

    eighth, whole = best(LONGEST // 8), best(LONGEST)
    assert whole < max(24 * eighth, 0.01)
