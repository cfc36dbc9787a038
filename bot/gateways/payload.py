"""Taming what a carrier sends: a value out of an untrusted payload, or BadBody with its path.

Nothing is used before its type and range are known. Characters that a database or a wire would
choke on (NUL, halves of surrogate pairs) are taken out here, at the edge.
"""

from __future__ import annotations

import base64
import binascii
import json
import math
from collections.abc import Mapping
from datetime import UTC, datetime, tzinfo

from bot.gateways.protocol import BadBody
from bot.messages import Picture, Pin

LONGEST_KEY = 200
"""Characters of an id or a sender. Carriers' ids are far shorter; the column is this wide."""
MOST_PICTURES = 4
PICTURE_BYTES = 1_500_000
PICTURE_TYPES = ("image/jpeg", "image/png", "image/webp")
WORST_ACCURACY_M = 1_000_000.0

_ABSENT = object()


def json_value(body: bytes) -> object:
    """What a body of JSON holds; anything else is BadBody at "body"."""
    try:
        return json.loads(body.decode("utf-8"))
    except UnicodeDecodeError:
        raise BadBody("body", "not UTF-8") from None
    except (ValueError, RecursionError):
        raise BadBody("body", "not JSON") from None


def json_object(body: bytes) -> dict[str, object]:
    """The JSON object that a body holds; anything else is BadBody at "body"."""
    value = json_value(body)
    if not isinstance(value, dict):
        raise BadBody("body", "not a JSON object")
    return value


def dig(value: object, path: str) -> object:
    """What stands at a dotted path ("messages.0.from"), or BadBody("messages.0.from: missing")."""
    for step in path.split("."):
        if isinstance(value, Mapping):
            value = value.get(step, _ABSENT)
        elif isinstance(value, list) and step.isdecimal():
            value = value[int(step)] if len(step) < 6 and int(step) < len(value) else _ABSENT
        else:
            value = _ABSENT
        if value is _ABSENT:
            raise BadBody(path, "missing")
    return value


def as_text(value: object, path: str) -> str:
    """A string fit for storing: a wrong type is refused, odd characters are taken out."""
    if not isinstance(value, str):
        raise BadBody(path, "not a string")
    whole = value.replace("\x00", "")
    return whole.encode("utf-16", "surrogatepass").decode("utf-16", "replace")


def as_key(value: object, path: str) -> str:
    """An id or a sender: a string or a whole number, not empty, within LONGEST_KEY."""
    if isinstance(value, int) and not isinstance(value, bool):
        value = f"{value}" if abs(value) < 10**20 else "9" * (LONGEST_KEY + 1)
    text = as_text(value, path).strip()
    if not text:
        raise BadBody(path, "empty")
    if len(text) > LONGEST_KEY:
        raise BadBody(path, f"longer than {LONGEST_KEY} characters")
    return text


def as_number(value: object, path: str, low: float, high: float) -> float:
    """A finite number within bounds. Text is read as a number; true and false are not."""
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise BadBody(path, "not a number")
    try:
        number = float(value)
    except (ValueError, OverflowError):
        raise BadBody(path, "not a number") from None
    if not math.isfinite(number) or not low <= number <= high:
        raise BadBody(path, f"not between {low:g} and {high:g}")
    return number


def as_whole(value: object, path: str, low: int, high: int) -> int:
    """A whole number within bounds, written as a number or as text."""
    number = as_number(value, path, low, high)
    if number != int(number):
        raise BadBody(path, "not a whole number")
    return int(number)


def as_moment(value: object, path: str, form: str = "iso", zone: tzinfo | None = None) -> datetime:
    """A moment in UTC. `form` is iso, unix, unix_ms or a strptime pattern; a time without an
    offset is read in `zone`, and refused where there is none."""
    try:
        moment = _moment(value, path, form)
        if moment.tzinfo is None:
            if zone is None:
                raise BadBody(path, "no offset from UTC")
            moment = moment.replace(tzinfo=zone)
        return moment.astimezone(UTC)
    except (ValueError, OverflowError, OSError):
        raise BadBody(path, f"not a time ({form})") from None


def _moment(value: object, path: str, form: str) -> datetime:
    if form in ("unix", "unix_ms"):
        seconds = as_number(value, path, 0, 1e15) / (1000 if form == "unix_ms" else 1)
        return datetime.fromtimestamp(seconds, UTC)
    text = as_text(value, path).strip()
    return datetime.fromisoformat(text) if form == "iso" else datetime.strptime(text, form)


def as_pin(lat: object, lon: object, accuracy: object, path: str) -> Pin:
    """A position in WGS84 degrees; `accuracy` None leaves the usual accuracy of a telephone."""
    found_lat = as_number(lat, f"{path}lat", -90, 90)
    found_lon = as_number(lon, f"{path}lon", -180, 180)
    if accuracy is None:
        return Pin(found_lat, found_lon)
    return Pin(found_lat, found_lon, as_number(accuracy, f"{path}accuracy", 0, WORST_ACCURACY_M))


def as_pictures(value: object, path: str) -> tuple[Picture, ...]:
    """The pictures of a `media` list: [{"type": "image/jpeg", "data": base64}, ...]."""
    if not isinstance(value, list):
        raise BadBody(path, "not a list")
    if len(value) > MOST_PICTURES:
        raise BadBody(path, f"more than {MOST_PICTURES}")
    return tuple(_picture(item, f"{path}.{number}") for number, item in enumerate(value))


def _picture(item: object, path: str) -> Picture:
    if isinstance(item, Mapping) and "url" in item:
        # Fetching an address that a stranger names would let him reach our own network.
        raise BadBody(f"{path}.url", "pictures are taken as data, not fetched")
    kind = as_text(_member(item, "type", path), f"{path}.type")
    if kind not in PICTURE_TYPES:
        raise BadBody(f"{path}.type", f"not one of {', '.join(PICTURE_TYPES)}")
    try:
        written = as_text(_member(item, "data", path), f"{path}.data")
        data = base64.b64decode(written, validate=True)
    except (binascii.Error, ValueError):
        raise BadBody(f"{path}.data", "not base64") from None
    if not data:
        raise BadBody(f"{path}.data", "empty")
    if len(data) > PICTURE_BYTES:
        raise BadBody(f"{path}.data", f"more than {PICTURE_BYTES} bytes")
    return Picture(type=kind, data=data)


def _member(item: object, name: str, path: str) -> object:
    if not isinstance(item, Mapping) or name not in item:
        raise BadBody(f"{path}.{name}", "missing")
    return item[name]
