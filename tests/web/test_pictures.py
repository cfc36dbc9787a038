"""Pictures from outside: cleaned of metadata, bounded, upright, or refused."""

from __future__ import annotations

import io
import struct
import zlib
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from bot.reading.photos import read_exif
from bot.service.photos import Shelf
from bot.service.sealing import Sealer
from bot.web.pictures import LONGEST_SIDE, BadPicture, clean, keep_picture
from tests.web.office import open_office
from tests.web.wires import NOW, make_wiring


def drawn(size=(60, 40), form="JPEG", **options) -> bytes:
    kept = io.BytesIO()
    Image.new("RGB", size, "brown").save(kept, form, **options)
    return kept.getvalue()


def with_exif() -> bytes:
    exif = Image.Exif()
    exif[0x010F] = "a maker"
    exif[0x0112] = 6  # Exif 2.3: orientation 6, to be turned by 90 degrees clockwise.
    exif.get_ifd(0x8825).update({1: "S", 2: (36.0, 50.0, 54.34), 3: "E", 4: (147.0, 9.0, 36.0)})
    return drawn(exif=exif, comment=b"my own hut")


def bomb(width: int, height: int) -> bytes:
    """A PNG that says it is huge, in 60 bytes."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        check = struct.pack(">I", zlib.crc32(kind + data))
        return struct.pack(">I", len(data)) + kind + data + check

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    chunks = ((b"IHDR", head), (b"IDAT", zlib.compress(b"")), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunk(*each) for each in chunks)


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_each_format_becomes_a_jpeg(form):
    assert Image.open(io.BytesIO(clean(drawn(form=form)))).format == "JPEG"


def test_nothing_of_the_metadata_is_kept():
    kept = clean(with_exif())
    assert b"a maker" not in kept
    assert b"my own hut" not in kept
    assert b"Exif" not in kept
    assert not Image.open(io.BytesIO(kept)).getexif()


def test_a_turned_picture_is_set_upright():
    assert Image.open(io.BytesIO(clean(with_exif()))).size == (40, 60)


def test_a_large_picture_is_made_smaller():
    kept = Image.open(io.BytesIO(clean(drawn((4000, 1000)))))
    assert kept.size == (LONGEST_SIDE, LONGEST_SIDE // 4)


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"not a picture",
        b"\x89PNG\r\n\x1a\n",
        drawn()[:200],
        drawn(form="GIF"),
        drawn(form="BMP"),
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        bomb(30_000, 30_000),
        bomb(8_000, 8_000),
        drawn() + b"x" * 2_000_000,
    ],
    ids=["empty", "words", "cut", "half", "gif", "bmp", "svg", "bomb", "large bomb", "bytes"],
)
def test_what_cannot_be_kept_is_refused(data):
    with pytest.raises(BadPicture):
        clean(data)


def test_a_palette_with_transparency_is_kept():
    kept = io.BytesIO()
    Image.new("P", (9, 9)).save(kept, "PNG", transparency=0)
    assert clean(kept.getvalue())


def test_position_and_time_are_read_before_they_are_taken_out():
    wiring = make_wiring()
    photo = keep_picture(wiring, with_exif())
    # Exif 2.3 (CIPA DC-008): three rationals, degrees, minutes, seconds; the sign is in the letter.
    assert photo.pin.lat == pytest.approx(-(36 + 50 / 60 + 54.34 / 3600))
    assert photo.pin.lon == pytest.approx(147.16)
    assert wiring.shelf.pins == [photo.pin]
    assert b"Exif" not in wiring.shelf.kept[photo.key]


@pytest.mark.parametrize(
    ("taken", "believed"),
    [
        ("2026:11:24 18:05:30", datetime(2026, 11, 24, 7, 5, 30, tzinfo=UTC)),
        ("2026:11:25 18:30:00", NOW),  # Half an hour ahead: a clock that goes wrong.
        ("2026:11:27 18:00:00", None),
        ("2020:11:24 18:05:30", None),
    ],
)
def test_a_camera_that_cannot_be_right_is_not_believed(taken, believed):
    exif = Image.Exif()
    # Exif 2.3: DateTimeOriginal with its offset, 9011.
    exif.get_ifd(0x8769).update({0x9003: taken, 0x9011: "+11:00"})
    assert keep_picture(make_wiring(), drawn(exif=exif)).taken_at == believed


SOUND = {form: drawn(form=form) for form in ("JPEG", "PNG", "WEBP")} | {"EXIF": with_exif()}


@given(
    st.sampled_from(sorted(SOUND)),
    st.lists(st.tuples(st.integers(0, 120), st.integers(0, 255)), min_size=1, max_size=6),
    st.integers(0, 40),
)
def test_a_broken_head_gives_a_small_picture_or_is_refused(form, changes, cut):
    data = bytearray(SOUND[form])
    for at, byte in changes:
        data[at % len(data)] = byte
    broken = bytes(data[: len(data) - cut])
    read_exif(broken)  # Whatever it holds, reading it never raises.
    try:
        kept = clean(broken)
    except BadPicture:
        return
    picture = Image.open(io.BytesIO(kept))
    assert picture.format == "JPEG"
    assert max(picture.size) <= LONGEST_SIDE


@given(st.binary(max_size=300))
def test_bytes_that_are_no_picture_are_refused(data):
    assert read_exif(data) == (None, None)
    with pytest.raises(BadPicture):
        clean(data)


def test_a_picture_under_a_key_that_is_gone_says_so_and_breaks_nothing(tmp_path):
    with open_office(tmp_path) as place:
        kept = Shelf(place.database, Sealer((bytes(32),)))
        key = kept.keep(drawn(), "image/jpeg", None, None, NOW)
        ines = place.client("ines")
        shut = ines.get(f"/desk/photo/{key}")
        assert shut.status_code == 503
        assert "it is encrypted, and no key is set" in shut.get_data(as_text=True)
        object.__setattr__(place.app.extensions["bushpost"], "shelf", kept)
        assert ines.get(f"/desk/photo/{key}").data == drawn()
