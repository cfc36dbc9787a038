"""Small answers: storage, land, exposure, trouble, wishes, the jaw, who texts, and bare replies.

Keys by kind, each a table of phrases in dialogs/languages:
    yes_no       yes, no
    storage      bagged_twice, bagged, not_bagged, no_bags, frozen, chilled, warm, no_freezer,
                 binned, boiled, dog_took, found_again, left_there
    where_now    with_carcase, home, vehicle
    land         public, private, own, owner_told, owner_not_told
    exposure     cut, splash, touched, eaten, shared, dogs_fed, bitten
    trouble      lost, hurt, sick, stuck (a person, never the animal)
    wish         stop, start, help, restart, person, status, not_say, call_off, dont_know,
                 owner_private, owner_may_know, what_is_it, can_eat, who, check, nobody_came,
                 angry, wrong_number, joke
    access       gate, key, dogs: of the place to which staff come
    hand_in      will, did (bring it in himself), place, myself, fetch
    carcase      take: the whole carcase is to be removed
    air          how warm the air is, in degrees Celsius (see air.py)
    check        clear, lumps, odd, unsure, not_found, not_looked, go, leave: of the guided look
    jaw          want, no
    texter       butcher, mate, landowner, hunter
    another, rough_area, candidates, thanks, done, mark, language: see the files
    choice       the number or letter of a choice ("2"), none, pickup, find
    died         that a time in the text is that of the death
    correction   the question that is corrected, or "" where the words do not say
    name, phone  the name; the number as it was written (see people.py)
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from bot.reading.listening import Listening
from bot.reading.page import Page
from bot.reading.values import Word
from bot.reading.words import Words, whole_key

KINDS = frozenset(
    {"storage", "where_now", "land", "exposure", "trouble", "wish", "jaw", "texter", "another"}
    | {"access", "hand_in", "carcase"}
    | {"rough_area", "candidates", "thanks", "mark", "language", "correction", "died"}
)
"""The kinds whose phrases count wherever they stand in a text."""

WHEN_ASKED = {
    "storage_asked": ("storage", "storage"),
    "where_now_asked": ("where_now", "head_at"),
    "land_asked": ("land", "land"),
    "hand_in_asked": ("hand_in", "hand_in"),
}
"""Looser phrases: the kind they give, and the question that must be open for them to count."""

_ANSWERING = {kind: (kind, "") for kind in KINDS} | WHEN_ASKED

_CHOICE = re.compile(
    r"\s*(?:(?:option|number|no\.?|n[o\u00b0]|opcion|numero)\s*)?([1-9]|[a-hA-H])\s*[.)!]?\s*",
    re.IGNORECASE,
)
_LEADING = re.compile(r"\s*([^\W\d_]+)\b\s*([,.!;:]|-\s)?")


def whole_answer(page: Page, words: Words, asked: str = "") -> Word | None:
    """The answer that the whole text is ("stop", "2", "yep"), or None."""
    heard = page.text.strip()
    if not heard or len(heard) > 60:
        return None
    start = page.text.index(heard)
    choice = _CHOICE.fullmatch(page.plain)
    if choice is not None:
        return Word("choice", choice.group(1).lower(), heard, start, start + len(heard))
    key = whole_key(page.plain)
    first = {"seen": words.seen, "gland_check": words.check}.get(asked, {})
    term = first.get(key) or words.whole.get(key)
    if term is None or (asked == "seen" and term.kind == "jaw"):  # "Jaw" is where it was, then.
        return None
    return Word(term.kind, term.key, heard, start, start + len(heard))


def read_answers(heard: Listening, asked: str = "") -> tuple[Word, ...]:
    """Every small answer in what is left of a text, in order."""
    return (*_leading(heard), *_phrases(heard, asked))


def _phrases(heard: Listening, asked: str) -> Iterator[Word]:
    for hit in heard.hits:
        for term in hit.meaning.terms:
            if term.kind not in _ANSWERING:
                continue
            kind, question = _ANSWERING[term.kind]
            if question in ("", asked):
                start, end = heard.stretch(hit.first, hit.last)
                yield Word(kind, term.key, heard.page.heard(start, end), start, end)


def _leading(heard: Listening) -> Iterator[Word]:
    """A yes or no that opens a longer text: "yep bagged twice", "no, Sunday"."""
    match = _LEADING.match(heard.page.plain)
    if match is None:
        return
    word = whole_key(match.group(1))
    term = heard.words.whole.get(word)
    if term is None or term.kind != "yes_no":
        return
    if match.group(2) or word in heard.words.leads:
        yield Word("yes_no", term.key, match.group(1), match.start(1), match.end(1))
