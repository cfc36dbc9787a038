"""Exif 2.3 (CIPA DC-008): positions as its GPS tags hold them, written with Pillow.

A photo's bytes come from a stranger: whatever they are, values or None come back.
"""

from __future__ import annotations

import io
from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from PIL.TiffImagePlugin import IFDRational

from bot.messages import Pin
from bot.reading.photos import read_exif

# Pillow warns of damaged blocks; damaged blocks are what is tested here.
pytestmark = pytest.mark.filterwarnings("ignore::UserWarning")

GPS, CAMERA = 0x8825, 0x8769


def rationals(*pairs: tuple[int, int]) -> tuple[IFDRational, ...]:
    return tuple(IFDRational(top, bottom) for top, bottom in pairs)


SOUTH = rationals((36, 1), (50, 1), (5434, 100))
EAST = rationals((174, 1), (45, 1), (3600, 100))
AUCKLAND: dict[int, Any] = {1: "S", 2: SOUTH, 3: "E", 4: EAST}


def photo(gps: dict[int, Any], camera: dict[int, Any] | None = None, kind: str = "JPEG") -> bytes:
    exif = Image.Exif()
    exif[GPS] = gps
    exif[CAMERA] = camera or {}
    out = io.BytesIO()
    Image.new("RGB", (4, 4)).save(out, kind, exif=exif)
    return out.getvalue()


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_position_in_degrees_minutes_seconds(kind: str):
    """Worked out by hand from degrees, minutes and seconds: -36.8484278, 174.76."""
    pin, taken_at = read_exif(photo(AUCKLAND, kind=kind))
    assert pin is not None
    assert (pin.lat, pin.lon) == pytest.approx((-36.8484278, 174.76), abs=1e-7)
    assert taken_at is None


def test_a_position_in_degrees_and_decimal_minutes():
    """Worked out by hand from degrees, minutes and seconds: 52.6575703 N."""
    lat = rationals((52, 1), (39454218, 1000000), (0, 1))
    pin, _ = read_exif(photo(AUCKLAND | {1: "N", 2: lat}))
    assert pin is not None
    assert pin.lat == pytest.approx(52.6575703, abs=1e-7)


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({2: rationals((0, 0), (0, 0), (0, 0))}, "noughts below the line"),
        ({4: rationals((174, 1), (45, 0), (0, 1))}, "one nought below the line"),
        ({1: ""}, "no letter for north or south"),
        ({3: ""}, "no letter for east or west"),
        ({1: "E"}, "the wrong letter"),
        ({1: "S\x00x", 2: rationals((91, 1), (0, 1), (0, 1))}, "beyond the pole"),
        ({2: rationals((36, 1), (60, 1), (0, 1))}, "sixty minutes"),
        ({2: rationals((36, 1), (50, 1), (60, 1))}, "sixty seconds"),
        ({2: rationals((0, 1), (0, 1), (0, 1)), 4: rationals((0, 1), (0, 1), (0, 1))}, "nowhere"),
        ({18: "TOKYO"}, "another datum, hundreds of metres off"),
    ],
)
def test_no_position_where_it_is_not_surely_said(change: dict[int, Any], why: str):
    assert read_exif(photo(AUCKLAND | change))[0] is None, why


@pytest.mark.parametrize("missing", [1, 2, 3, 4])
def test_a_missing_part_is_no_position(missing: int):
    left = {tag: value for tag, value in AUCKLAND.items() if tag != missing}
    assert read_exif(photo(left)) == (None, None)


@pytest.mark.parametrize(
    ("error", "accuracy"),
    [((8, 1), 8.0), ((0, 1), 50.0), ((0, 0), 50.0), ((1_000_000, 1), 50.0)],
)
def test_the_stated_error_is_the_accuracy(error: tuple[int, int], accuracy: float):
    pin, _ = read_exif(photo(AUCKLAND | {31: IFDRational(*error)}))
    assert pin is not None
    assert pin.accuracy_m == accuracy


STAMP = {29: "2026:11:24", 7: rationals((6, 1), (40, 1), (1250, 100))}


def test_the_satellite_time_is_utc_and_wins():
    camera = {0x9003: "2026:11:24 17:40:15", 0x9011: "+11:00"}
    _, taken_at = read_exif(photo(AUCKLAND | STAMP, camera))
    assert taken_at == datetime(2026, 11, 24, 6, 40, 12, tzinfo=UTC)


@pytest.mark.parametrize(
    ("camera", "expected"),
    [
        (
            {0x9003: "2026:11:24 17:40:15", 0x9011: "+11:00"},
            datetime(2026, 11, 24, 6, 40, 15, tzinfo=UTC),
        ),
        (
            {0x9003: "2026:11:24 17:40:15", 0x9011: "-03:30"},
            datetime(2026, 11, 24, 21, 10, 15, tzinfo=UTC),
        ),
        ({0x9003: "2026:11:24 17:40:15"}, None),
        ({0x9003: "2026:11:24 17:40:15", 0x9011: "   :  "}, None),
        ({0x9003: "2026:11:24 17:40:15", 0x9011: "+25:00"}, None),
        ({0x9003: "0000:00:00 00:00:00", 0x9011: "+11:00"}, None),
        ({0x9003: "2026:02:30 10:00:00", 0x9011: "+11:00"}, None),
        ({0x9003: "", 0x9011: "+11:00"}, None),
    ],
)
def test_the_cameras_time_needs_its_offset(camera: dict[int, Any], expected: datetime | None):
    assert read_exif(photo({}, camera)) == (None, expected)


@pytest.mark.parametrize(
    "stamp",
    [
        STAMP | {29: "1980:01:06"},  # What a receiver says before it knows the week.
        STAMP | {29: "2026-11-24"},
        STAMP | {7: rationals((24, 1), (0, 1), (0, 1))},
        STAMP | {7: rationals((6, 0), (0, 1), (0, 1))},
        {29: "2026:11:24"},
        {7: STAMP[7]},
    ],
)
def test_a_broken_satellite_time_is_no_time(stamp: dict[int, Any]):
    pin, taken_at = read_exif(photo(AUCKLAND | stamp))
    assert pin is not None
    assert taken_at is None


def test_a_block_in_the_middle_of_another_file_is_found():
    """HEIC keeps the same block as an item of its own; only its bytes matter here."""
    jpeg = photo(AUCKLAND)
    start = jpeg.index(b"Exif\x00\x00")
    assert read_exif(b"\x00\x00\x00\x18ftypheic" + b"\x07" * 500 + jpeg[start:])[0] == Pin(
        pytest.approx(-36.8484278, abs=1e-7), pytest.approx(174.76, abs=1e-7)
    )


def test_no_photo_at_all():
    assert read_exif(b"") == (None, None)
    assert read_exif(photo({})) == (None, None)
    plain = io.BytesIO()
    Image.new("RGB", (4, 4)).save(plain, "JPEG")
    assert read_exif(plain.getvalue()) == (None, None)


@given(st.binary(max_size=400))
def test_any_bytes_give_values(data: bytes):
    for before in (b"", b"Exif\x00\x00II*\x00", b"\xff\xd8Exif\x00\x00MM\x00*\x00\x00\x00\x08"):
        pin, taken_at = read_exif(before + data)
        assert pin is None or isinstance(pin, Pin)
        assert taken_at is None or taken_at.tzinfo is UTC


WHOLE = photo(AUCKLAND | STAMP, {0x9003: "2026:11:24 17:40:15", 0x9011: "+11:00"})


@given(st.data())
def test_a_damaged_photo_gives_values(data: st.DataObject):
    changed = bytearray(WHOLE)
    for _ in range(data.draw(st.integers(1, 6))):
        at = data.draw(st.integers(0, len(changed) - 1))
        changed[at] = data.draw(st.integers(0, 255))
    cut = bytes(changed[: data.draw(st.integers(0, len(changed)))])
    for photo_bytes in (bytes(changed), cut):
        pin, _ = read_exif(photo_bytes)
        assert pin is None or (-90 <= pin.lat <= 90 and -180 <= pin.lon <= 180)
