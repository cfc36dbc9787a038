"""Every way in which one landmark's name is written: short words, possessives, kind word first.

"Sandy Creek" is also "Sandy Ck", "Sandycreek", "arroyo Sandy"; "Sandy" is only a part of it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

from bot.reading.place_tokens import keys_of
from bot.reading.place_words import PlaceWords


class NamedPlace(Protocol):
    """What a landmark has: the programme's own rows fit."""

    @property
    def name(self) -> str: ...
    @property
    def lat(self) -> float: ...
    @property
    def lon(self) -> float: ...
    @property
    def also(self) -> tuple[str, ...]: ...
    @property
    def kind(self) -> str: ...


@dataclass(frozen=True, slots=True)
class Spelt:
    """One spelling of one landmark. A part is a name without its kind's word: never enough."""

    words: tuple[str, ...]
    landmark: int
    weak: bool
    part: bool = False


def kept_name(name: str, words: PlaceWords) -> tuple[str, ...]:
    """A name as it is kept: folded, short forms written out, fillers dropped."""
    keys = [words.short.get(k, k) for k in keys_of(name)]
    return tuple(k for k in keys if k not in words.fillers) or tuple(keys)


def spellings(number: int, place: NamedPlace, words: PlaceWords) -> Iterator[Spelt]:
    """Every way in which one landmark is written, its own name first."""
    seen: set[tuple[str, ...]] = set()
    for form in (place.name, *place.also):
        kept = kept_name(form, words)
        for spelt in _variants(kept, form, words):
            if spelt and spelt not in seen:
                seen.add(spelt)
                yield Spelt(spelt, number, _is_weak(kept, words))
    kept = kept_name(place.name, words)
    stem = tuple(k for k in kept if k not in words.generic)
    if stem != kept and len("".join(stem)) >= 4 and stem not in seen:
        yield Spelt(stem, number, weak=True, part=True)


def _variants(kept: tuple[str, ...], form: str, words: PlaceWords) -> Iterator[tuple[str, ...]]:
    yield kept
    if "'s" in form.lower().replace("\u2019", "'"):
        plain = form.replace("\u2019", "'").replace("'s", "").replace("'S", "")
        yield kept_name(plain, words)
    if len(kept) > 1 and sum(k in words.generic for k in kept) == 1:
        if kept[-1] in words.generic:
            yield (kept[-1], *kept[:-1])
        elif kept[0] in words.generic:
            yield (*kept[1:], kept[0])
    if len(kept) > 1:
        yield ("".join(kept),)


def _is_weak(kept: tuple[str, ...], words: PlaceWords) -> bool:
    """One word, or nothing but words for kinds of places, is too little to stand by itself."""
    return len(kept) < 2 or all(k in words.generic for k in kept)


def drop_shadowed_parts(spelt: list[Spelt]) -> tuple[Spelt, ...]:
    """A short form that the programme lists wins over the parts of other names."""
    listed = {s.words for s in spelt if not s.part}
    return tuple(s for s in spelt if not (s.part and s.words in listed))
