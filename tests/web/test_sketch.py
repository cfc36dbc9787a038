"""The sketch: everything in the frame, at its place and scale."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.reading.values import Place
from bot.web.sketch import HEIGHT, WIDTH, Frame, sketch_of
from tests.web.wires import PROGRAMME


def place(lat, lon, accuracy=100.0):
    return Place(lat, lon, accuracy, "degrees")


def test_without_a_place_there_is_no_sketch():
    assert sketch_of([], PROGRAMME) is None


def test_north_is_up_and_east_is_right():
    frame = Frame(-36.87, 147.15, 10.0)
    x, y = frame.xy(-36.87, 147.15)
    assert (x, y) == (WIDTH / 2, HEIGHT / 2)
    assert frame.xy(-36.86, 147.15)[1] < y
    assert frame.xy(-36.87, 147.16)[0] > x


def test_distances_are_true_to_scale():
    # GDA2020 Technical Manual: Flinders Peak to Buninyong is 54,972.271 m on the ellipsoid.
    frame = Frame(-37.8, 144.175, 1.0)
    one, other = frame.xy(-37.95103342, 144.42486789), frame.xy(-37.65282114, 143.92649594)
    assert math.dist(one, other) == pytest.approx(54.972, rel=0.003)


@given(
    st.floats(-38.0, -36.0),
    st.floats(146.0, 148.0),
    st.floats(1, 20_000),
    st.floats(-0.3, 0.3),
    st.floats(-0.3, 0.3),
)
def test_every_place_and_its_circle_lie_in_the_frame(lat, lon, accuracy, north, east):
    places = [
        ("kill", "died here", place(lat, lon, accuracy)),
        ("head", "head here", place(lat + north, lon + east)),
    ]
    sketch = sketch_of(places, PROGRAMME)
    assert sketch is not None
    for dot in sketch.dots:
        assert dot.x - dot.radius >= 0
        assert dot.x + dot.radius <= WIDTH
        assert dot.y - dot.radius >= 0
        assert dot.y + dot.radius <= HEIGHT
    assert 5 <= sketch.bar <= WIDTH / 4 or sketch.bar_words == "200 km"
    assert "died here" in sketch.words
