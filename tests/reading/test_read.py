"""Whole texts: everything in one text, each stretch read once, in three languages.

The texts are our own and stand in whole_texts.toml with what they must give. The moment is
Wednesday the 25th of November 2026, 14:00 in Melbourne; the landmarks are the demo's.
"""

from __future__ import annotations

import itertools
import time
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.reading.page import LONGEST
from bot.reading.read import read
from bot.reading.scene import Scene
from bot.reading.shape import shape
from bot.reading.values import Reading
from bot.reading.words import Words

ROWS: list[dict[str, Any]] = tomllib.loads(
    (Path(__file__).parent / "whole_texts.toml").read_text("utf-8")
)["text"]
TEXTS = [(row["said"], {k: v for k, v in row.items() if k != "said"}) for row in ROWS]


def told(reading: Reading) -> dict[str, Any]:
    """A reading in few words; what it does not say is left out."""
    animal = reading.animal.value if reading.animal else None
    place = reading.places[0].value if reading.places else None
    all_of = {
        "language": reading.language,
        "place": place and (place.landmark or f"{place.lat:.4f} {place.lon:.4f}"),
        "day": reading.when and reading.when.value.earliest.strftime("%d %H:%M"),
        "animal": animal and _joined(str(animal.count), animal.species, animal.sort),
        "signs": [_joined(f.value.side, f.value.site, f.value.look) for f in reading.signs],
        "checked": [_joined(f.value.side, f.value.site, f.value.state) for f in reading.checked],
        "unclear": [u.why for u in reading.unclear],
        "words": [_joined(w.kind, w.key) for w in reading.words],
    }
    return {key: value for key, value in all_of.items() if value or key == "language"}


def _joined(*words: str) -> str:
    return " ".join(word for word in words if word)


@pytest.mark.parametrize(("text", "expected"), TEXTS)
def test_a_whole_text(text: str, expected: dict[str, Any], scene: Scene) -> None:
    assert told(read(text, scene)) == expected


@pytest.mark.parametrize(
    ("text", "corrects"),
    [
        ("perdón, ayer no, el martes por la tarde", True),
        ("pas samedi, dimanche", True),
        ("it was sunday not saturday", True),
        ("sunday, no lumps", False),
        ("ayer no, gracias", False),
    ],
)
def test_one_day_in_the_place_of_another_corrects(text: str, corrects: bool, scene: Scene) -> None:
    words = {(w.kind, w.key) for w in read(text, scene).words}
    assert (("correction", "when") in words) == corrects


@pytest.mark.parametrize(("text", "expected"), TEXTS)
def test_every_stretch_is_read_once(text: str, expected: dict[str, Any], scene: Scene) -> None:
    reading = read(text, scene)
    spans = sorted(
        {(p.start, p.end) for p in reading.places}
        | {_span(w) for w in reading.words if w.kind not in ("correction", "name")}
    )
    assert all(before[1] <= after[0] for before, after in itertools.pairwise(spans))
    for found in (*reading.places, *reading.signs, *reading.checked):
        assert found.heard == text[found.start : found.end].strip()


def _span(word: Any) -> tuple[int, int]:
    return word.start, word.end


def test_the_shape_of_the_json(scene: Scene, words: Words) -> None:
    text = "Boar, pus in left jaw gland, lungs fine, Sat arvo at Brindle Hut. Stag? no"
    made = shape(read(text, scene), words)
    assert list(made)[:8] == [
        "place", "when", "species", "signs", "unclear", "places", "animals", "checked"
    ]  # fmt: skip
    place = made["place"]
    assert {"lat", "lon", "accuracy_m", "notation", "heard", "role"} <= place.keys()
    assert made["places"] == [place]
    assert made["when"]["earliest"] == "2026-11-21T12:00:00+11:00"
    assert made["when"]["latest"] == "2026-11-21T18:00:00+11:00"
    assert made["signs"] == [
        {"site": "jaw_node", "side": "left", "look": "pus", "heard": "pus in left jaw gland"}
    ]
    assert made["checked"] == [
        {"site": "lung", "side": "", "state": "clear", "heard": "lungs fine"}
    ]


def test_the_shape_of_a_text_that_says_nothing(scene: Scene, words: Words) -> None:
    made = shape(read("hello there", scene), words)
    assert (made["place"], made["when"], made["species"], made["animals"]) == (None, None, None, 0)
    assert (made["signs"], made["unclear"], made["places"], made["checked"]) == ([], [], [], [])


def test_a_choice_of_species_is_spelt_out(scene: Scene, words: Words) -> None:
    (asked,) = shape(read("shot a stag", scene), words)["unclear"]
    assert (asked["question"], asked["why"], asked["heard"]) == ("species", "two_species", "stag")
    assert [(c["name"], c["sort"]) for c in asked["choices"]] == [("deer", "stag"), ("pig", "stag")]


HOSTILE = [
    "9" * LONGEST,
    "lump " * 400,
    "no " * 660,
    "a" * LONGEST,
    "(" * LONGEST,
    "1 " * 1000,
    "'" * LONGEST,
    "-36.8," * 330,
    "call me on " * 180,
    "+61 491 " * 250,
    "pus in left jaw gland, " * 86,
    "é" * LONGEST,
    "0491 570 006 " * 150,
    "my name is " * 180,
    "no lumps or " * 160,
    "\x00\n\t" * 600,
    "😀" * LONGEST,
]


@pytest.mark.parametrize("text", HOSTILE, ids=[repr(t[:12]) for t in HOSTILE])
def test_a_hostile_text_is_read_in_linear_time(text: str, scene: Scene) -> None:
    quarter, whole = (_best_seconds(part, scene) for part in (text[: len(text) // 4], text))
    # Four times the text: square growth would be sixteen times the time. Timers are coarse.
    assert whole < 10 * max(quarter, 0.0005)


def _best_seconds(text: str, scene: Scene) -> float:
    best = 9.0
    for _ in range(4):
        start = time.process_time()
        read(text, scene)
        best = min(best, time.process_time() - start)
    return best


BITS = st.sampled_from(
    ["no", "lumps", "pus", "jaw gland", "left", "both sides", "but", "except", "and", "or", ",",
     ".", "boar", "stag", "six", "dead", "found", "lungs", "fine", "ear tag", "12", "kg",
     "call me on", "0491 570 006", "-36.87 147.15", "Sat arvo", "3 km N of", "Brindle Hut",
     "my name is", "here", "stop", "yes", "l'oreille", "qu'", "sin", "bultos", "pas de",
     "bosses", "n'ai", "\n", "\x00"]
)  # fmt: skip


@given(st.one_of(st.text(max_size=300), st.lists(BITS, max_size=40).map(" ".join)))
def test_any_text_gives_a_reading(text: str) -> None:
    reading = read(text, SCENE[0])
    for found in (*reading.places, *reading.signs, *reading.checked):
        assert 0 <= found.start <= found.end <= len(text)
    for word in reading.words:
        assert word.heard == text[word.start : word.end].strip()


SCENE: list[Scene] = []


@pytest.fixture(autouse=True)
def _scene_for_properties(scene: Scene) -> None:
    SCENE[:] = [scene]
