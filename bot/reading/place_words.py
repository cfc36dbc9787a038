"""The words that people put beside a landmark: dialogs/places.toml, compiled once.

A `PlaceWords` is frozen and serves every text, in all languages at once. A fault in the file is
a PlaceWordsError that names the key. Lengths are metres, directions degrees from north.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

import msgspec
from msgspec import Struct, field

from bot.reading.place_tokens import PhraseTable, keys_of
from bot.reading.scan import fold

Tags = Mapping[str, float]


class PlaceWordsError(ValueError):
    """dialogs/places.toml is at fault; the message names the key."""


class Kind(Struct, frozen=True, forbid_unknown_fields=True):
    """A kind of landmark: how far it reaches, how its word is written, and whether that word,
    after a full name, makes it another thing."""

    radius: float
    forms: tuple[str, ...] = ()
    differs: bool = False


class Never(Struct, frozen=True, forbid_unknown_fields=True):
    words: str = ""


class Names(Struct, frozen=True, forbid_unknown_fields=True):
    """How landmarks' names are written, short and wrong."""

    radius: float = 500.0
    fillers: tuple[str, ...] = ()
    other_thing: tuple[str, ...] = ()
    short: dict[str, str] = {}
    never: Never = Never()


class Open(Struct, frozen=True, forbid_unknown_fields=True):
    metres: float = 3000.0


class Position(Struct, frozen=True, forbid_unknown_fields=True):
    words: tuple[str, ...] = ()
    after: tuple[str, ...] = ()
    pair: tuple[str, ...] = ()


class Beside(Struct, frozen=True, forbid_unknown_fields=True):
    """The words around a name, by what they do."""

    article: tuple[str, ...] = ()
    link: tuple[str, ...] = ()
    before_of: tuple[str, ...] = ()
    either: tuple[str, ...] = ()
    or_: tuple[str, ...] = field(name="or", default=())
    not_: tuple[str, ...] = field(name="not", default=())
    meets: tuple[str, ...] = ()
    then: tuple[str, ...] = ()
    roughly: tuple[str, ...] = ()
    after_vague: tuple[str, ...] = ()
    half_more: tuple[str, ...] = ()
    conjunction: tuple[str, ...] = ()
    half: tuple[str, ...] = ()
    between: tuple[str, ...] = ()
    junction: tuple[str, ...] = ()
    toward: tuple[str, ...] = ()
    bound: tuple[str, ...] = ()
    end: tuple[str, ...] = ()
    along: tuple[str, ...] = ()
    gap: tuple[str, ...] = ()
    vague: dict[str, float] = {}
    part: dict[str, float] = {}
    units: dict[str, float] = {}
    minutes: dict[str, float] = {}
    pace: dict[str, float] = {}
    numbers: dict[str, float] = {}
    compass: dict[str, tuple[str, ...]] = {}
    compass_of: dict[str, tuple[str, ...]] = {}
    open: Open = Open()
    position: Position = Position()


class Frame(Struct, frozen=True, forbid_unknown_fields=True):
    """How a language says where a point lies from a landmark; `points` are N, NE ... NW."""

    at: str
    away: str
    within: str
    points: tuple[str, str, str, str, str, str, str, str]
    decimal: str = "."


class Assumed(Struct, frozen=True, forbid_unknown_fields=True):
    """What a language says of a thing that the hunter left open."""

    spelling: str
    direction: str
    distance: str
    part: str
    straight: str
    near_area: str


class PlacesFile(Struct, frozen=True, forbid_unknown_fields=True):
    """The shape of dialogs/places.toml."""

    kinds: dict[str, Kind]
    names: Names
    beside: Beside
    roles: dict[str, tuple[str, ...]]
    frames: dict[str, Frame]
    assumed: dict[str, Assumed]


@dataclass(frozen=True, slots=True)
class PlaceWords:
    """Everything in places.toml, ready to be looked up."""

    kinds: Mapping[str, Kind]
    names: Names
    short: Mapping[str, str]
    """Written form of a word in a name -> the form it is kept under ("ck" -> "creek")."""
    generic: frozenset[str]
    """The kept forms of the kinds' own words: no name by themselves."""
    differs: frozenset[str]
    fillers: frozenset[str]
    other_thing: frozenset[str]
    never: frozenset[str]
    beside: PhraseTable[Tags]
    before_of: frozenset[str]
    position: frozenset[str]
    after: frozenset[str]
    conjunction: frozenset[str]
    pair: frozenset[str]
    open_m: float
    roles: PhraseTable[str]
    frames: Mapping[str, Frame]
    assumed: Mapping[str, Assumed]

    def radius(self, kind: str) -> float:
        """How far a landmark of this kind reaches from its point, in metres."""
        row = self.kinds.get(self.short.get(fold(kind), fold(kind))) or self.kinds.get(fold(kind))
        return row.radius if row else self.names.radius

    def frame(self, language: str) -> Frame:
        """A language's way to say where a point lies; the file's first where it has none."""
        return self.frames.get(language) or next(iter(self.frames.values()))

    def assume(self, language: str, key: str, **values: str) -> str:
        """One sentence part on what was completed or left open."""
        row = self.assumed.get(language) or next(iter(self.assumed.values()))
        text: str = getattr(row, key)
        return text.format(**values)


def load_place_words(text: str) -> PlaceWords:
    """Compile the text of dialogs/places.toml."""
    try:
        file = msgspec.toml.decode(text, type=PlacesFile)
        return _compile(file)
    except (msgspec.DecodeError, ValueError) as fault:
        raise PlaceWordsError(f"places.toml: {fault}") from fault


def _compile(file: PlacesFile) -> PlaceWords:
    if not file.frames or not file.assumed:
        raise PlaceWordsError("frames and assumed need one language at least")
    short = {fold(a): fold(b) for a, b in file.names.short.items()}
    for kind in file.kinds.values():
        short |= {fold(form): fold(kind.forms[0]) for form in kind.forms}
    return PlaceWords(
        kinds=file.kinds | {fold(k.forms[0]): k for k in file.kinds.values() if k.forms},
        names=file.names,
        short=short,
        generic=frozenset(fold(k.forms[0]) for k in file.kinds.values() if k.forms),
        differs=frozenset(fold(k.forms[0]) for k in file.kinds.values() if k.differs),
        fillers=frozenset(map(fold, file.names.fillers)),
        other_thing=frozenset(map(fold, file.names.other_thing)),
        never=frozenset(map(fold, file.names.never.words.split())),
        beside=PhraseTable(_merged(_tagged(file.beside))),
        before_of=frozenset(map(fold, file.beside.before_of)),
        position=frozenset(map(fold, file.beside.position.words)),
        after=frozenset(map(fold, file.beside.position.after)),
        conjunction=frozenset(map(fold, file.beside.conjunction)),
        pair=frozenset(map(fold, file.beside.position.pair)),
        open_m=file.beside.open.metres,
        roles=PhraseTable((phrase, role) for role, row in file.roles.items() for phrase in row),
        frames=file.frames,
        assumed=file.assumed,
    )


_FLAGS = (
    "article", "link", "either", "or", "not", "meets", "then", "roughly", "after_vague",
    "half_more", "conjunction", "half", "between", "junction", "toward", "bound", "end", "along",
    "gap",
)  # fmt: skip
_FIELDS = {"or": "or_", "not": "not_"}
_VALUES = {"vague": "vague", "part": "part", "units": "unit", "minutes": "minute",
           "pace": "pace", "numbers": "number"}  # fmt: skip


def _tagged(beside: Beside) -> Iterator[tuple[str, str, float]]:
    """Each phrase with one thing it may do: (phrase, tag, value)."""
    for name in _FLAGS:
        for phrase in getattr(beside, _FIELDS.get(name, name)):
            yield phrase, name, 1.0
    for name, tag in _VALUES.items():
        for phrase, value in getattr(beside, name).items():
            yield phrase, tag, value
    for tag, points in (("compass", beside.compass), ("compass_of", beside.compass_of)):
        for degrees, phrases in points.items():
            for phrase in phrases:
                yield phrase, tag, float(degrees)


def _merged(rows: Iterable[tuple[str, str, float]]) -> Iterator[tuple[str, Tags]]:
    """All that a phrase may do, together: "a" is a number, and nothing else knows it yet."""
    merged: dict[tuple[str, ...], tuple[str, dict[str, float]]] = {}
    for phrase, tag, value in rows:
        merged.setdefault(keys_of(phrase), (phrase, {}))[1].setdefault(tag, value)
    yield from merged.values()
