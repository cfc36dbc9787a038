"""What events and effects are made of: positions, pictures, addresses, a text as heard."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from msgspec import Struct


class Pin(Struct, frozen=True):
    """A position that a telephone or a gateway gave: WGS84 degrees, accuracy in metres."""

    lat: float
    lon: float
    accuracy_m: float = 50.0


class Photo(Struct, frozen=True):
    """A picture that came with a text: where the shell keeps it, and what its EXIF said."""

    key: str
    pin: Pin | None = None
    taken_at: datetime | None = None


class Picture(Struct, frozen=True):
    """A picture as it arrived: its media type and its bytes, before the shell has kept it."""

    type: str
    data: bytes


class Address(Struct, frozen=True):
    """Where texts to one person go: a gateway's name, and a number (E.164) or chat session."""

    gateway: str
    number: str


class Part(Struct, frozen=True):
    """Which part of a long text this is: `number` from 1 to `of`, under the `ref` of its sender,
    sent to the number `to` ("" if unknown). 3GPP TS 23.040, 9.2.3.24.1 and 9.2.3.24.8."""

    ref: int
    of: int
    number: int
    to: str = ""


class Heard(Struct, frozen=True):
    """One text as a gateway delivered it, before anybody knows whose conversation it is in.

    `id` is the gateway's own id, the key by which a repeat is known. `sender` is as the
    gateway wrote it; the shell turns it into E.164.
    """

    id: str
    gateway: str
    sender: str
    body: str
    sent_at: datetime
    pin: Pin | None = None
    photos: tuple[Photo, ...] = ()
    pictures: tuple[Picture, ...] = ()
    """Raw pictures from a gateway; the shell keeps them and puts `photos` in their place."""
    part: Part | None = None
    """None is a whole text. The body of a part may end within a pair of surrogates or after an
    escape (U+001B); the shell joins them."""


class Stage(Struct, frozen=True):
    """How a head was kept from some time on; `air_c` is the air's temperature where it is known."""

    kept: Literal["warm", "chilled", "frozen"]
    since: datetime
    air_c: float | None = None
