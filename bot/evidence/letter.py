"""What hunters are told of a season, and the words that stand round the figures of a zone's page.

Law as for the sentences: nothing here names whose land it was, judges an animal as food, or says
that a disease is absent; and hunters are never told where more animals are wanted, since asking
the public for them invites people to release some.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from msgspec import Struct

LETTER: dict[str, frozenset[str]] = {
    "title": frozenset({"programme"}),
    "opening": frozenset({"first", "last", "animals"}),
    "counts": frozenset({"clean", "suspect", "dead"}),
    "results": frozenset({"positive", "negative", "waiting"}),
    "zone_positive": frozenset({"zone"}),
    "zone_pending": frozenset({"zone"}),
    "zone_clean": frozenset({"zone", "animals"}),
    "zone_nothing": frozenset({"zone"}),
    "meaning": frozenset(),
    "care": frozenset(),
    "thanks": frozenset({"keeper"}),
    "text": frozenset({"programme", "animals", "clean", "positive"}),
}
"""Every sentence of a letter, and the only placeholders that it may hold."""

PAGE: dict[str, frozenset[str]] = {
    "intro": frozenset(),
    "rests": frozenset({"pstar", "catch", "prior", "p_intro"}),
    "map": frozenset(),
    "map_words": frozenset({"zone", "looks", "cases"}),
    "windows": frozenset({"lag"}),
    "windows_words": frozenset({"cases"}),
    "freedom": frozenset({"pstar"}),
    "freedom_words": frozenset({"zone", "last"}),
    "withheld": frozenset(),
    "unseen": frozenset(),
    "unseen_none": frozenset(),
    "unseen_place": frozenset({"place"}),
    "left_out": frozenset({"count"}),
}
"""The same for the words of a zone's page."""

Standing = Literal["positive", "pending", "clean", "nothing"]


class Letter(Struct, frozen=True, forbid_unknown_fields=True):
    """The season letter in one language: a sentence for each key of LETTER."""

    title: str
    opening: str
    counts: str
    results: str
    zone_positive: str
    zone_pending: str
    zone_clean: str
    zone_nothing: str
    meaning: str
    care: str
    thanks: str
    text: str


class Page(Struct, frozen=True, forbid_unknown_fields=True):
    """The words of a zone's page: one for each key of PAGE."""

    intro: str
    rests: str
    map: str
    map_words: str
    windows: str
    windows_words: str
    freedom: str
    freedom_words: str
    withheld: str
    unseen: str
    unseen_none: str
    unseen_place: str
    left_out: str


class Season(Struct, frozen=True):
    """What a season came to. `first` and `last` are days in words; `zones` are each zone's name,
    how it stands, and the clean animals that were looked at in it."""

    programme: str
    keeper: str
    first: str
    last: str
    clean: int
    suspect: int
    dead: int
    positive: int
    negative: int
    waiting: int
    zones: tuple[tuple[str, Standing, int], ...]

    @property
    def animals(self) -> int:
        """All animals that were told of."""
        return self.clean + self.suspect + self.dead


class Written(Struct, frozen=True):
    """A letter filled in: its title, its paragraphs, a line for each zone, and one text."""

    title: str
    paragraphs: tuple[str, ...]
    zones: tuple[str, ...]
    ending: tuple[str, ...]
    text: str


def write_letter(letter: Letter, season: Season) -> Written:
    """The season's letter to hunters, and the same in one text."""
    values = {name: getattr(season, name) for name in Season.__struct_fields__}
    values["animals"] = season.animals

    def say(key: str, **more: object) -> str:
        return str(getattr(letter, key)).format_map({**values, **more})

    return Written(
        title=say("title"),
        paragraphs=tuple(say(key) for key in ("opening", "counts", "results")),
        zones=_zones(letter, season.zones),
        ending=tuple(say(key) for key in ("meaning", "care", "thanks")),
        text=say("text"),
    )


def _zones(letter: Letter, zones: Sequence[tuple[str, Standing, int]]) -> tuple[str, ...]:
    lines = {
        "positive": letter.zone_positive,
        "pending": letter.zone_pending,
        "clean": letter.zone_clean,
        "nothing": letter.zone_nothing,
    }
    return tuple(lines[how].format(zone=name, animals=animals) for name, how, animals in zones)
