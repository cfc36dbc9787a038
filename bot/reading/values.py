"""What a reading gives: Found with the words it was read from, or Unclear with a reason.

Times are aware; a When's `latest` is exclusive. Degrees are WGS84, lengths are metres. Stored
with conversations, so these shapes only grow.
"""

from __future__ import annotations

from datetime import datetime
from typing import Generic, Literal, TypeVar

from msgspec import Struct

V = TypeVar("V")

Role = Literal["kill", "pickup", ""]
Side = Literal["left", "right", "both", ""]


class Place(Struct, frozen=True, tag="place"):
    """A point with what its notation really fixes: the radius in which the place lies.

    `assumed` says in words what was completed ("south, from the programme's area").
    """

    lat: float
    lon: float
    accuracy_m: float
    notation: str
    assumed: tuple[str, ...] = ()
    role: Role = ""
    landmark: str = ""
    reach_m: float = 0.0
    """How far from the landmark, as it was said, where the way from there was left open."""


class When(Struct, frozen=True, tag="when"):
    """A span, earliest to latest (exclusive), aware in the programme's zone."""

    earliest: datetime
    latest: datetime
    assumed: tuple[str, ...] = ()


class Animal(Struct, frozen=True, tag="animal"):
    """Species and sort are keys of dialogs/species.toml ("pig", "sow"); "" is not said."""

    species: str = ""
    sort: str = ""
    count: int = 1
    weight_kg: float | None = None
    tag_number: str = ""
    found_dead: bool = False
    sorts: tuple[tuple[str, int], ...] = ()
    """How many of each sort, where a text tells of several: (("sow", 2), ("boar", 1))."""


class Sign(Struct, frozen=True, tag="sign"):
    """What was seen: site and look are keys of dialogs/signs.toml ("jaw_node", "pus")."""

    site: str
    side: Side = ""
    look: str = ""


class Checked(Struct, frozen=True, tag="checked"):
    """What was looked at and how it was: clear, not found, or not looked at."""

    site: str
    side: Side = ""
    state: Literal["clear", "not_found", "not_looked"] = "clear"


class Choice(Struct, frozen=True):
    """One reading on offer. `words` is what a person is shown, `value` what it would mean."""

    words: str
    value: Place | When | Animal | None = None


class Found(Struct, Generic[V], frozen=True):
    """An exact value, the words it was read from, and where they stand in the text."""

    value: V
    heard: str
    start: int = 0
    end: int = 0


class Unclear(Struct, frozen=True):
    """Words that were meant as an answer and cannot be read one way only.

    `why` is a reason code with a sentence in every language ("two_readings",
    "outside_area", "in_the_future", "no_such_date", ...).
    """

    question: Literal["place", "when", "species", "signs"]
    why: str
    heard: str
    choices: tuple[Choice, ...] = ()
    start: int = 0
    end: int = 0


class Word(Struct, frozen=True):
    """A small answer: its kind and its key, with the words and where they stand.

    Kinds: yes_no, storage, land, exposure, trouble, wish, jaw, name, phone, texter, where_now,
    another, rough_area, choice. Each file that reads them lists its keys.
    """

    kind: str
    key: str
    heard: str
    start: int = 0
    end: int = 0


class Reading(Struct, frozen=True):
    """Everything that one text says, by every reader."""

    text: str
    language: str = "en"
    places: tuple[Found[Place], ...] = ()
    when: Found[When] | None = None
    animal: Found[Animal] | None = None
    signs: tuple[Found[Sign], ...] = ()
    checked: tuple[Found[Checked], ...] = ()
    unclear: tuple[Unclear, ...] = ()
    words: tuple[Word, ...] = ()
    unread: tuple[str, ...] = ()
