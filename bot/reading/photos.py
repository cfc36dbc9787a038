"""The position and the time that a photo carries: Exif 2.3 (CIPA DC-008), read without decoding it.

Only the Exif block is looked for, so that no picture decoder ever sees what a stranger sent; the
block itself is read with Pillow. Any bytes whatever give values or None, never an exception.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from typing import Any

from PIL import ExifTags, Image

from bot.messages import Pin

LONGEST = 32 * 1024 * 1024
"""Bytes of a photo that are searched."""

_BLOCK = 128 * 1024
_MOST_BLOCKS = 8

# The block stands after these marks: in JPEG and HEIC, in WebP, in PNG.
_START = re.compile(rb"(?:Exif\x00\x00|EXIF....|eXIf)(?=II\*\x00|MM\x00\*)", re.DOTALL)

_UNKNOWN_ACCURACY_M = 50.0
_WORST_ACCURACY_M = 20_000.0
_WGS84 = ("", "wgs84", "wgs1984", "gda2020", "gda94", "nzgd2000", "etrs89")
_OFFSET = re.compile(r"([+-])(\d\d):(\d\d)")


def read_exif(data: bytes) -> tuple[Pin | None, datetime | None]:
    """Where and when a photo was taken, each None where it is not surely said.

    The time is UTC: the satellite time where it is there, else the camera's with its offset; a
    camera's time without an offset is no time. Several blocks: the first that says something.
    """
    for number, match in enumerate(_START.finditer(data[:LONGEST])):
        if number == _MOST_BLOCKS:
            break
        pin, taken_at = _read_block(data[match.end() : match.end() + _BLOCK])
        if pin or taken_at:
            return pin, taken_at
    return None, None


def _read_block(block: bytes) -> tuple[Pin | None, datetime | None]:
    try:
        exif = Image.Exif()
        exif.load(b"Exif\x00\x00" + block)
        gps: Mapping[int, Any] = exif.get_ifd(ExifTags.IFD.GPSInfo)
        camera: Mapping[int, Any] = exif.get_ifd(ExifTags.IFD.Exif)
        return _pin(gps), _satellite_time(gps) or _camera_time(camera)
    except Exception:
        # Whatever a stranger's bytes make of the reader, they make no photo with a position.
        return None, None


# --------------------------------------------------------------------------------- position


def _pin(gps: Mapping[int, Any]) -> Pin | None:
    lat = _degrees(gps.get(ExifTags.GPS.GPSLatitude), gps.get(ExifTags.GPS.GPSLatitudeRef), "NS")
    lon = _degrees(gps.get(ExifTags.GPS.GPSLongitude), gps.get(ExifTags.GPS.GPSLongitudeRef), "EW")
    if lat is None or lon is None or abs(lat) > 90 or abs(lon) > 180:
        return None
    if lat == 0 and lon == 0:
        return None  # What a camera writes that has no position.
    datum = re.sub(r"[^a-z0-9]", "", _text(gps.get(ExifTags.GPS.GPSMapDatum)).lower())
    return Pin(lat, lon, _accuracy(gps)) if datum in _WGS84 else None


def _degrees(parts: Any, ref: Any, letters: str) -> float | None:
    """Degrees from up to three rationals; the sign lives in the letter alone."""
    letter = _text(ref).upper()
    if letter not in letters or len(letter) != 1 or not isinstance(parts, tuple):
        return None
    values = [_rational(part) for part in parts]
    if not 1 <= len(values) <= 3 or any(v is None or v < 0 for v in values):
        return None
    whole, minutes, seconds = ([v or 0.0 for v in values] + [0.0, 0.0])[:3]
    if minutes >= 60 or seconds >= 60:
        return None
    degrees = whole + minutes / 60 + seconds / 3600
    return -degrees if letter in "SW" else degrees


def _accuracy(gps: Mapping[int, Any]) -> float:
    """The horizontal error that the camera states (tag 31), else what a telephone has."""
    stated = _rational(gps.get(ExifTags.GPS.GPSHPositioningError))
    if stated is None or not 0 < stated <= _WORST_ACCURACY_M:
        return _UNKNOWN_ACCURACY_M
    return stated


def _rational(value: Any) -> float | None:
    """A finite number, or None: a nought below the line says nothing."""
    try:
        if getattr(value, "denominator", 1) == 0:
            return None
        number = float(value)
    except (TypeError, ValueError, ZeroDivisionError, OverflowError):
        return None
    return number if math.isfinite(number) else None


def _text(value: Any) -> str:
    if isinstance(value, bytes):
        value = value.decode("ascii", "ignore")
    return value.split("\x00")[0].strip() if isinstance(value, str) else ""


# ------------------------------------------------------------------------------------- time


def _satellite_time(gps: Mapping[int, Any]) -> datetime | None:
    """Tags 29 and 7, both UTC."""
    day = _stamp(_text(gps.get(ExifTags.GPS.GPSDateStamp)) + " 00:00:00")
    parts = gps.get(ExifTags.GPS.GPSTimeStamp)
    if day is None or not isinstance(parts, tuple) or len(parts) != 3:
        return None
    hours, minutes, seconds = (_rational(p) for p in parts)
    if hours is None or minutes is None or seconds is None:
        return None
    if not (0 <= hours < 24 and 0 <= minutes < 60 and 0 <= seconds < 60):
        return None
    return day + timedelta(hours=hours, minutes=minutes, seconds=int(seconds))


def _camera_time(camera: Mapping[int, Any]) -> datetime | None:
    """DateTimeOriginal with OffsetTimeOriginal; without an offset nobody knows which zone."""
    local = _stamp(_text(camera.get(ExifTags.Base.DateTimeOriginal)))
    offset = _OFFSET.fullmatch(_text(camera.get(ExifTags.Base.OffsetTimeOriginal)))
    if local is None or offset is None:
        return None
    ahead = timedelta(hours=int(offset[2]), minutes=int(offset[3]))
    if ahead > timedelta(hours=14):
        return None
    return local - ahead if offset[1] == "+" else local + ahead


def _stamp(text: str) -> datetime | None:
    """ "2026:11:24 18:05:30" as if it were UTC; None for what is no date, or no camera's date."""
    try:
        stamp = datetime.strptime(text, "%Y:%m:%d %H:%M:%S").replace(tzinfo=UTC)
    except ValueError:
        return None
    return stamp if stamp.year >= 1990 else None
