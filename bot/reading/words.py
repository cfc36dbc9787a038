"""The words to listen for: dialogs/species.toml, signs.toml and languages/*.toml, compiled once.

A `Words` is frozen and serves every text. A fault in a file is a WordsError that names the file
and the key. What the bot says stands in the same language files under [say]; nothing here reads it.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Literal, NamedTuple, TypeVar

import msgspec
from msgspec import Struct

from bot.reading.calendar_words import Calendar, CalendarError, load_calendar
from bot.reading.phrases import Book, Piece, Term, make_book, spread
from bot.reading.place_words import PlaceWords, PlaceWordsError, load_place_words
from bot.reading.scan import fold

T = TypeVar("T")

Region = Literal["head", "body", "mouth", "other", ""]


class WordsError(ValueError):
    """A file of words is at fault; the message names the file and the key."""


class Sort(Struct, frozen=True, forbid_unknown_fields=True):
    """One sort of a species (sow, stag ...): its words by language."""

    words: dict[str, list[str]] = {}


class Species(Struct, frozen=True, forbid_unknown_fields=True):
    """One kind of animal. Livestock goes to its owner's vet. `hints` are words that tell the
    species without naming it (antlers)."""

    livestock: bool = False
    words: dict[str, list[str]] = {}
    hints: dict[str, list[str]] = {}
    sorts: dict[str, Sort] = {}


class TwoSpecies(Struct, frozen=True, forbid_unknown_fields=True):
    """A word that names more than one kind of animal: "species/sort" choices, never picked from."""

    choices: list[str]
    words: dict[str, list[str]] = {}


class Site(Struct, frozen=True, forbid_unknown_fields=True):
    """A site in the body. `parts` are loose words (jaw, throat) that name it beside a sign."""

    region: Region
    words: dict[str, list[str]] = {}
    parts: dict[str, list[str]] = {}


class Look(Struct, frozen=True, forbid_unknown_fields=True):
    """How a sign looked. `beside` are words (big, hard) that count only right beside a site;
    `sites`, where given, are the only sites at which this look is a sign."""

    words: dict[str, list[str]] = {}
    beside: dict[str, list[str]] = {}
    sites: list[str] = []


class SpeciesFile(Struct, frozen=True, forbid_unknown_fields=True):
    species: dict[str, Species]
    two_species: dict[str, TwoSpecies] = {}


class SignsFile(Struct, frozen=True, forbid_unknown_fields=True):
    sites: dict[str, Site]
    looks: dict[str, Look]


class LanguageFile(Struct, frozen=True):
    """The part of a language file that readers use; [say] and [when] belong to others."""

    common: str = ""
    """Everyday words: they tell the language."""
    not_typos: str = ""
    """Everyday words that look like a slip of a word we listen for."""
    leads: str = ""
    """Words of assent that may open a longer text without a comma after them."""
    numbers: dict[str, int] = {}
    listen: dict[str, dict[str, list[str]]] = {}
    whole: dict[str, dict[str, list[str]]] = {}
    """Answers that count only when they are the whole text (a stop word)."""


class Known(NamedTuple):
    """What is known of one written word: its pieces in the book, and the languages in which it
    is an everyday word."""

    pieces: tuple[Piece, ...]
    everyday_in: tuple[str, ...]


_REMEMBERED = 8192
"""Words of texts of which what is known is kept: they repeat, and the store must not grow."""


@dataclass(frozen=True, slots=True)
class Words:
    """Everything to listen for, in every language that is there."""

    book: Book
    species: Mapping[str, Species]
    two_species: Mapping[str, TwoSpecies]
    sites: Mapping[str, Site]
    looks: Mapping[str, Look]
    numbers: Mapping[str, int]
    common: Mapping[str, frozenset[str]]
    """Everyday words by language."""
    everyday: frozenset[str]
    """Everyday words of any language."""
    leads: frozenset[str]
    whole: Mapping[str, Term]
    """Answers that are a whole text, by their folded words."""
    seen: Mapping[str, Term]
    """The same, for those that count only where the question of what was seen is open."""
    check: Mapping[str, Term]
    """The same, for the steps of a guided look at the glands."""
    languages: tuple[str, ...]
    calendar: Calendar
    places: PlaceWords
    known: Callable[[str], Known]
    """What is known of a word as a scan has it; remembered."""

    def region(self, site: str) -> Region:
        """Where in the body a site lies; "" where the site is not said or not known."""
        found = self.sites.get(site)
        return found.region if found else ""

    def livestock(self, species: str) -> bool:
        """Whether a species belongs to a farm."""
        found = self.species.get(species)
        return bool(found and found.livestock)


def load_words(files: Mapping[str, str]) -> Words:
    """Compile the words from the texts of the files in dialogs/ ("species.toml",
    "signs.toml", "languages/en.toml", "when/en.toml"); other files are left to others."""
    return _compiled(tuple(item for item in sorted(files.items()) if _is_ours(item[0])))


def _is_ours(name: str) -> bool:
    return name in ("species.toml", "signs.toml", "places.toml") or name.startswith(
        ("languages/", "when/")
    )


@lru_cache(maxsize=4)
def _compiled(items: tuple[tuple[str, str], ...]) -> Words:
    """The words of these files. A book takes most of a second, and the same files are asked for
    again by every programme, replay and trial of one process."""
    files = dict(items)
    animals = _decode(files, "species.toml", SpeciesFile)
    signs = _decode(files, "signs.toml", SignsFile)
    languages = {
        name.removeprefix("languages/").removesuffix(".toml"): _decode(files, name, LanguageFile)
        for name in sorted(files)
        if name.startswith("languages/") and name.endswith(".toml")
    }
    if not languages:
        raise WordsError("languages/: no language file")
    _check_choices(animals)
    _check_looks(signs)
    entries = [
        *_animal_terms(animals),
        *_sign_terms(signs),
        *_listen_terms(languages),
    ]
    common = {
        code: frozenset(fold(word) for word in row.common.split())
        for code, row in languages.items()
    }
    whole = list(_whole_terms(languages))
    never = {w for row in languages.values() for w in (row.not_typos + " " + row.common).split()}
    book = make_book(entries, never)
    return Words(
        book=book,
        species=animals.species,
        two_species=animals.two_species,
        sites=signs.sites,
        looks=signs.looks,
        leads=frozenset(w for row in languages.values() for w in row.leads.split()),
        numbers={fold(w): n for row in languages.values() for w, n in row.numbers.items()},
        common=common,
        everyday=frozenset().union(*common.values()),
        whole={key: term for key, term in whole if term.kind not in ("seen", "check")},
        seen={key: term for key, term in whole if term.kind == "seen"},
        check={key: term for key, term in whole if term.kind == "check"},
        languages=tuple(languages),
        calendar=_calendar(files),
        places=_places(files),
        known=_knowing(book, common),
    )


def _knowing(book: Book, common: Mapping[str, frozenset[str]]) -> Callable[[str], Known]:
    """Looks a word up once for all its readers."""

    @lru_cache(maxsize=_REMEMBERED)
    def known(raw: str) -> Known:
        key = fold(raw)
        return Known(
            book.pieces(raw), tuple(code for code, words in common.items() if key in words)
        )

    return known


def _calendar(files: Mapping[str, str]) -> Calendar:
    try:
        return load_calendar(
            {
                name.removeprefix("when/"): text
                for name, text in files.items()
                if name.startswith("when/")
            }
        )
    except CalendarError as fault:
        raise WordsError(str(fault)) from fault


def _places(files: Mapping[str, str]) -> PlaceWords:
    try:
        return load_place_words(files["places.toml"])
    except KeyError:
        raise WordsError("places.toml: no such file") from None
    except PlaceWordsError as fault:
        raise WordsError(str(fault)) from fault


def _decode(files: Mapping[str, str], name: str, shape: type[T]) -> T:
    try:
        tree: Any = tomllib.loads(files[name])
        return msgspec.convert(tree, shape)
    except KeyError:
        raise WordsError(f"{name}: no such file") from None
    except (tomllib.TOMLDecodeError, msgspec.ValidationError) as fault:
        raise WordsError(f"{name}: {fault}") from fault


def _check_choices(animals: SpeciesFile) -> None:
    for word, row in animals.two_species.items():
        if len(row.choices) < 2:
            raise WordsError(f"species.toml: two_species.{word}.choices: fewer than two")
        for choice in row.choices:
            species, _, sort = choice.partition("/")
            known = animals.species.get(species)
            if known is None or (sort and sort not in known.sorts):
                raise WordsError(f"species.toml: two_species.{word}.choices: no {choice!r}")


def _check_looks(signs: SignsFile) -> None:
    for key, look in signs.looks.items():
        for site in look.sites:
            if site not in signs.sites:
                raise WordsError(f"signs.toml: looks.{key}.sites: no site {site!r}")


_Entries = Iterator[tuple[str, Term]]


def _spread(where: str, pattern: str) -> Iterator[str]:
    try:
        yield from spread(pattern)
    except ValueError as fault:
        raise WordsError(f"{where}: {fault}") from None


def _terms(
    where: str, kind: str, key: str, words: Mapping[str, list[str]], shade: str = ""
) -> _Entries:
    """Every phrase of one key in every language, with what it means. `where` is for a fault."""
    for language, patterns in words.items():
        term = Term(kind, key, language, shade)
        for pattern in patterns:
            for phrase in _spread(f"{where}.{language}", pattern):
                yield phrase, term


def _animal_terms(animals: SpeciesFile) -> _Entries:
    for key, species in animals.species.items():
        where = f"species.toml: species.{key}"
        yield from _terms(f"{where}.words", "animal", key, species.words)
        yield from _terms(f"{where}.hints", "hint", key, species.hints)
        for sort, row in species.sorts.items():
            yield from _terms(f"{where}.sorts.{sort}.words", "animal", key, row.words, sort)
    for key, two in animals.two_species.items():
        yield from _terms(f"species.toml: two_species.{key}.words", "two_species", key, two.words)


def _sign_terms(signs: SignsFile) -> _Entries:
    for key, site in signs.sites.items():
        yield from _terms(f"signs.toml: sites.{key}.words", "site", key, site.words)
        yield from _terms(f"signs.toml: sites.{key}.parts", "site", key, site.parts, "part")
    for key, look in signs.looks.items():
        yield from _terms(f"signs.toml: looks.{key}.words", "look", key, look.words)
        yield from _terms(f"signs.toml: looks.{key}.beside", "look", key, look.beside, "beside")


def _listen_terms(languages: Mapping[str, LanguageFile]) -> _Entries:
    for code, row in languages.items():
        for kind, keys in row.listen.items():
            for key, patterns in keys.items():
                where = f"languages/{code}.toml: listen.{kind}.{key}"
                yield from _terms(where, kind, key, {code: patterns})


def _whole_terms(languages: Mapping[str, LanguageFile]) -> Iterator[tuple[str, Term]]:
    for code, row in languages.items():
        for kind, keys in row.whole.items():
            for key, patterns in keys.items():
                where = f"languages/{code}.toml: whole.{kind}.{key}"
                for phrase, term in _terms(where, kind, key, {code: patterns}):
                    yield whole_key(phrase), term


def whole_key(text: str) -> str:
    """A whole text as the table of whole answers keeps it: folded words, no marks."""
    return " ".join(fold(word) for word in text.replace("'", "").split()).strip(" .!?,;:")
