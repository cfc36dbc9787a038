"""The words of days and hours, one file a language, checked and made ready for look-up.

A word has one role or several ("second" is an ordinal and a unit); the letter of its roles is
what the grammar in days.py and clock.py is written in. Pure: given texts, gives a Calendar.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import NamedTuple

import msgspec
from msgspec import Struct

from bot.reading.date_scan import words_of
from bot.reading.feasts import rule_is_known


class CalendarError(ValueError):
    """A calendar file that cannot be used; names the file and the key."""


class NotADate(Struct, frozen=True, forbid_unknown_fields=True):
    """When a word is not meant as a day: after one of these words, or before one of those."""

    after: tuple[str, ...] = ()
    before: tuple[str, ...] = ()


class CalendarFile(Struct, frozen=True, forbid_unknown_fields=True):
    """The shape of one language's file. Every entry is a word or a phrase, in any case."""

    weekdays: tuple[tuple[str, ...], ...]
    months: tuple[tuple[str, ...], ...]
    numbers: dict[str, int]
    ordinals: dict[str, int]
    units: dict[str, tuple[str, ...]]
    days: dict[str, tuple[str, ...]]
    """Days from today ("-1"), with a part of the day where one is said ("-1 night"); "0 now" is
    said of much besides the death, "0 just" of what has happened."""
    parts: dict[str, tuple[str, ...]]
    marks: dict[str, tuple[str, ...]]
    verbs: dict[str, tuple[str, ...]]
    tells: tuple[str, ...]
    """Words that show the language and that no other of the languages has."""
    counted: tuple[str, ...]
    """What a number before it counts: so that "2/3 pigs" is not the second of March."""
    many: tuple[tuple[str, ...], ...] = ()
    places: tuple[str, ...] = ()
    """Words that make a name of the weekday before them: "Sunday Creek"."""
    feasts: dict[str, tuple[str, ...]] = {}
    """Names of days by their rule: "12-25", "easter -2", "12-25 from -1 to 1"."""
    not_a_date: dict[str, NotADate] = {}


UNITS = (
    "second",
    "minute",
    "hour",
    "day",
    "night",
    "week",
    "fortnight",
    "weekend",
    "month",
    "year",
)
PARTS = (
    "morning",
    "forenoon",
    "noon",
    "afternoon",
    "evening",
    "night",
    "midnight",
    "first_light",
    "sunrise",
    "sunset",
    "last_light",
)

MARKS: dict[str, str] = {
    "ago_after": "a",
    "ago_before": "h",
    "last": "l",
    "this": "t",
    "next": "x",
    "ahead": "i",
    "before": "b",
    "about": "~",
    "beyond": "V",
    "early": "e",
    "late": "e",
    "middle": "e",
    "at": "A",
    "of": "c",
    "the": "T",
    "the_day": "L",
    "oclock": "g",
    "and": "j",
    "or": "R",
    "to": "M",
    "quarter": "r",
    "half": "r",
    "few": "w",
    "not": "Z",
    "no": "q",
    "every": "P",
    "rest": "f",
    "after": "f",
    "until": "f",
    "from": "f",
    "number_of": "U",
}
"""Kinds of small words and their letter in the grammar."""

VERBS: dict[str, str] = {"kill": "K", "dressed": "B", "handled": "G", "later": "F", "kept": "%"}
"""What a day can belong to: the death, the field dressing (the same day as a rule), what was done
with the carcase after, what is to come; and how the head is kept, which can only have a day after
it ("in the freezer since Sunday")."""

_DUAL: dict[frozenset[str], str] = {
    frozenset("nm"): "z",
    frozenset("dm"): "y",
    frozenset("ou"): "v",
    frozenset("or"): "v",
}
"""A word of two roles has a letter of its own; any other pair is a fault of the file."""


@dataclass(frozen=True, slots=True)
class Entry:
    """What one phrase can mean: its letter in the grammar and a value for each role."""

    letter: str
    values: Mapping[str, int | str]


Phrase = tuple[list[str], int, Entry]
"""Its words, how many they are, and what they mean."""


class Opening(NamedTuple):
    """The phrases that begin with one word, longest first; the words that come second in them;
    and the phrase that is the word alone, if it is one."""

    phrases: tuple[Phrase, ...]
    second: frozenset[str]
    alone: Phrase | None


@dataclass(frozen=True, slots=True)
class Lexicon:
    """One language. `phrases` is keyed by first word."""

    phrases: Mapping[str, Opening]
    anchors: frozenset[str]
    """Words without which, and without figures, a text holds no day and no time."""
    tells: frozenset[str]
    places: frozenset[str]
    not_after: Mapping[str, frozenset[str]]
    not_before: Mapping[str, frozenset[str]]


@dataclass(frozen=True, slots=True)
class Calendar:
    """The lexicons by language code."""

    languages: Mapping[str, Lexicon]


_COUNTED = Entry("C", {"counted": 0})
_NUMBERED = Entry("U", {"mark": "number_of"})


def load_calendar(files: Mapping[str, str]) -> Calendar:
    """Calendar from the texts of the files, keyed by language code or by file name ("en.toml").

    A fault is a CalendarError that names the file and the key.
    """
    read = {name: _file(name, text) for name, text in files.items()}
    shared = {w: _COUNTED for file in read.values() for p in file.counted for w in words_of(p)}
    numbered = (n for file in read.values() for n in file.marks.get("number_of", ()))
    shared |= {words[0]: _NUMBERED for n in numbered if len(words := words_of(n)) == 1}
    return Calendar({n.removesuffix(".toml"): _lexicon(n, f, shared) for n, f in read.items()})


def _file(name: str, text: str) -> CalendarFile:
    try:
        file = msgspec.toml.decode(text, type=CalendarFile)
    except (msgspec.DecodeError, ValueError) as fault:
        raise CalendarError(f"{name}: {fault}") from fault
    _check(name, file)
    return file


def _lexicon(name: str, file: CalendarFile, shared: Mapping[str, Entry]) -> Lexicon:
    meanings: dict[tuple[str, ...], dict[str, tuple[str, int | str]]] = {}
    for key, phrase, letter, role, value in _rows(file):
        words = words_of(phrase)
        if not words:
            raise CalendarError(f"{name}: {key}: an empty word")
        meanings.setdefault(words, {}).setdefault(role, (letter, value))
    for words, roles in list(meanings.items()):
        if len(words) == 1 and not roles.keys().isdisjoint(("weekday", "month", "day")):
            for typed in mistyped(words[0]):
                meanings.setdefault((typed,), roles)
    phrases: dict[str, list[Phrase]] = {}
    for words, roles in meanings.items():
        entry = _entry(name, words, roles)
        phrases.setdefault(words[0], []).append((list(words), len(words), entry))
    # "2 lumps" is no date in Spanish either: what one language counts, all of them do; and "tag
    # 12/11" is nobody's 12th of November.
    for word, entry in shared.items():
        phrases.setdefault(word, [([word], 1, entry)])
    risky = file.not_a_date.items()
    return Lexicon(
        {word: _opening(known) for word, known in phrases.items()},
        frozenset(_anchors(phrases.values())),
        frozenset(w for phrase in _shows(file) for w in words_of(phrase) if len(w) > 1),
        frozenset(w for place in file.places for w in words_of(place)),
        {w: frozenset(x for p in r.after for x in words_of(p)) for w, r in risky},
        {w: frozenset(x for p in r.before for x in words_of(p)) for w, r in risky},
    )


_LONG = 8
"""Letters of a name from which on a slip of the thumb gives no other word ("vienes", "javier")."""


def mistyped(name: str) -> Iterator[str]:
    """A long name with one letter left out, two changed about or one struck twice; its first
    letter stands."""
    if len(name) < _LONG:
        return
    for i in range(1, len(name)):
        yield name[:i] + name[i + 1 :]
        yield name[:i] + name[i] + name[i:]
        if i > 1:
            yield name[: i - 1] + name[i] + name[i - 1] + name[i + 1 :]


def _opening(known: list[Phrase]) -> Opening:
    ordered = tuple(sorted(known, key=lambda p: -p[1]))
    second = frozenset(words[1] for words, length, _ in ordered if length > 1)
    return Opening(ordered, second, ordered[-1] if ordered[-1][1] == 1 else None)


_ANCHOR = frozenset("dmyzvDSsuW")


def _anchors(phrases: Iterable[list[Phrase]]) -> Iterator[str]:
    """The longest word of every phrase of days and times: "dark" of "on dark", never "on"."""
    for known in phrases:
        for words, _, entry in known:
            if entry.letter in _ANCHOR:
                yield max(words, key=len)


def _shows(file: CalendarFile) -> Iterator[str]:
    """The words of a file by which its language is told from the others."""
    yield from file.tells
    yield from file.counted
    for verbs in file.verbs.values():
        yield from verbs


def _check(name: str, file: CalendarFile) -> None:
    for key, rows, count in (("weekdays", file.weekdays, 7), ("months", file.months, 12)):
        if len(rows) != count or not all(rows):
            raise CalendarError(f"{name}: {key}: needs {count} lists of words, none empty")
    if file.many and len(file.many) != 7:
        raise CalendarError(f"{name}: many: needs 7 lists of words")
    known: tuple[tuple[str, Mapping[str, object], tuple[str, ...]], ...] = (
        ("units", file.units, UNITS),
        ("parts", file.parts, PARTS),
        ("marks", file.marks, tuple(MARKS)),
        ("verbs", file.verbs, tuple(VERBS)),
    )
    for table, rows_of, keys in known:
        for key in rows_of:
            if key not in keys:
                raise CalendarError(f"{name}: {table}.{key}: not one of {', '.join(keys)}")
    for key in file.feasts:
        if not rule_is_known(key):
            raise CalendarError(f'{name}: feasts."{key}": not like "12-25" or "easter -2"')
    for key in file.days:
        offset, _, part = key.partition(" ")
        if not offset.lstrip("-").isdigit() or (part and part not in (*PARTS, "now", "just")):
            raise CalendarError(f'{name}: days."{key}": not like "-1" or "-1 night"')


_Row = tuple[str, str, str, str, int | str]


def _rows(file: CalendarFile) -> Iterator[_Row]:
    """(key, phrase, letter, role, value) of every word; of equal roles the first one counts."""
    for number, names in enumerate(file.weekdays):
        yield from (("weekdays", n, "d", "weekday", number) for n in names)
    for number, names in enumerate(file.months, 1):
        yield from (("months", n, "m", "month", number) for n in names)
    for number, names in enumerate(file.many):
        yield from (("many", n, "S", "weekday", number) for n in names)
    for n, v in file.numbers.items():
        tens = v >= 20 and v % 10 == 0  # "twenty" goes before another number word, "two" does not
        yield "numbers", n, "N" if tens else "n", "number", v
    yield from (("ordinals", n, "o", "ordinal", v) for n, v in file.ordinals.items())
    yield from _table("units", file.units, "u", "unit")
    yield from _table("days", file.days, "D", "day")
    yield from _table("parts", file.parts, "s", "part")
    yield from _table("feasts", file.feasts, "W", "feast")
    for key, names in file.marks.items():
        yield from ((f"marks.{key}", n, MARKS[key], "mark", key) for n in names)
    for key, names in file.verbs.items():
        yield from ((f"verbs.{key}", n, VERBS[key], "verb", key) for n in names)
    yield from (("counted", n, "C", "counted", 0) for n in file.counted)
    yield from (("tells", n, "f", "tell", 0) for n in file.tells)


def _table(key: str, rows: Mapping[str, tuple[str, ...]], letter: str, role: str) -> Iterator[_Row]:
    for value, names in rows.items():
        yield from ((f"{key}.{value}", n, letter, role, value) for n in names)


def _entry(name: str, words: tuple[str, ...], roles: Mapping[str, tuple[str, int | str]]) -> Entry:
    meant = dict(roles)
    for weak in ("tell", "counted"):  # these two are no meaning beside another
        if len(meant) > 1:
            meant.pop(weak, None)
    letters = {letter for letter, _ in meant.values()}
    values = {role: value for role, (_, value) in meant.items()}
    if len(letters) == 1:
        return Entry(letters.pop(), values)
    dual = _DUAL.get(frozenset(letters))
    if dual is None:
        raise CalendarError(f"{name}: {' '.join(words)!r} stands under {' and '.join(roles)}")
    return Entry(dual, values)
