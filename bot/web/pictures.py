"""A picture from outside -> a small clean one, with what its EXIF said read first.

Nobody but the shelf's `pin` and `taken_at` sees the metadata: it is gone from what is kept. A
picture is bounded in bytes and, before it is unpacked, in pixels.
"""

from __future__ import annotations

import io
import warnings
from datetime import datetime, timedelta

from PIL import Image, ImageOps

from bot.messages import Heard, Photo
from bot.reading.photos import read_exif
from bot.web.wiring import Wiring

MOST_BYTES = 2_000_000
MOST_PIXELS = 40_000_000
"""Above any telephone's usual setting; unpacked it is 120 MB, which a small machine bears."""
LONGEST_SIDE = 1600
MOST_EXIF = 64 * 1024
"""An Exif block is one segment of a JPEG, which holds no more (Exif 2.3, 4.5.4)."""
LONGEST_AGO = timedelta(days=365)
CLOCKS_DIFFER = timedelta(hours=1)
FORMATS = ("JPEG", "PNG", "WEBP")


class BadPicture(ValueError):
    """No picture that can be kept: another format, broken, or too large."""


def clean(data: bytes) -> bytes:
    """The picture as a JPEG, upright, at most LONGEST_SIDE a side, without any metadata."""
    if len(data) > MOST_BYTES:
        raise BadPicture("too many bytes")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            picture = Image.open(io.BytesIO(data), formats=FORMATS)
        if picture.width * picture.height > MOST_PIXELS:
            raise BadPicture("too many pixels")
        picture.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
        upright = ImageOps.exif_transpose(picture).convert("RGB")
    except BadPicture:
        raise
    except Exception as fault:  # Pillow's readers raise many kinds for broken files.
        raise BadPicture("cannot be opened") from fault
    upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    # A fresh canvas carries none of the file's info: no EXIF, no comment, no thumbnail.
    bare = Image.new("RGB", upright.size)
    bare.paste(upright)
    kept = io.BytesIO()
    bare.save(kept, "JPEG", quality=82)
    return kept.getvalue()


def keep_picture(wiring: Wiring, data: bytes, exif: bytes = b"") -> Photo:
    """Read a picture's EXIF, keep its clean copy, and say what an event needs of it. A browser
    that has made the picture smaller sends the `exif` of the one that it was."""
    pin, taken_at = read_exif(exif[:MOST_EXIF] or data)
    taken_at = _possible(taken_at, wiring.now())
    kept = clean(data)
    key = wiring.shelf.keep(kept, "image/jpeg", pin, taken_at, wiring.now())
    return Photo(key, pin, taken_at)


def _possible(taken_at: datetime | None, now: datetime) -> datetime | None:
    """A camera's time, unless it has not come yet or is longer ago than any find that is told."""
    if taken_at is None or not now - LONGEST_AGO <= taken_at <= now + CLOCKS_DIFFER:
        return None
    return min(taken_at, now)


def hear_with_pictures(wiring: Wiring, heard: Heard, now: datetime) -> None:
    """Take a text whose pictures are kept already. Those of a repeat belong to no text, so that
    no erasure would ever find them: they go at once."""
    repeat = wiring.intake.hear(heard, now).repeat
    if repeat and heard.photos:
        wiring.shelf.drop([photo.key for photo in heard.photos])
