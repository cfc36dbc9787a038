"""PURE. The loose words of one staff text -> what they mean, before anybody asks about which job.

Phrases are matched longest first and never overlap. A word of denial turns round what follows
it, a question mark takes back what stands before it. A slip of one letter is forgiven in words
of six letters and more, since a short word is soon another one.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass

from rapidfuzz.distance import OSA

from bot.fieldwork.staff_dialog import StaffWords, tokens_of
from bot.reading.page import Page

SHORTEST_MISSPELT = 6
REACH = 2
"""How many words may stand between a denial and what it turns round."""

# Letters and digits that look alike on paper and on a small screen.
_ALIKE = str.maketrans("OIL", "011")

# "10km", "4pm", "30min", "3rd": digits with a unit are no code.
_UNIT = re.compile(
    r"\d+(?:km|ks?|m|mins?|hrs?|hours?|h|am|pm|ish|st|nd|rd|th|kg|x\d*|days?|wks?)", re.IGNORECASE
)


@dataclass(frozen=True, slots=True)
class Listened:
    """What one text means: meanings, codes of known jobs, words that look like other codes,
    and a time in the writer's own words."""

    meanings: frozenset[str]
    codes: tuple[str, ...]
    strange_codes: tuple[str, ...]
    time: str


def listen(body: str, known: Collection[str], words: StaffWords) -> Listened:
    """Read one text against the codes that this number may mean."""
    page = Page(body)
    tokens, codes = _take_codes(list(tokens_of(page.plain)), known)
    strange = tuple(t.upper() for t in tokens if _looks_like_code(t, words))
    tokens = [_spelt(t, words.vocabulary) for t in tokens]
    return Listened(
        meanings=_meanings(tokens, words),
        codes=codes,
        strange_codes=strange,
        time=_time(page, codes, words),
    )


def folded(code: str) -> str:
    """A code as it is compared: capital letters without a dash, look-alikes made equal."""
    return code.upper().replace("-", "").translate(_ALIKE)


def _take_codes(tokens: list[str], known: Collection[str]) -> tuple[list[str], tuple[str, ...]]:
    """Take known codes out of the words, also where one was written in two pieces."""
    codes = {folded(code): code for code in known}
    left: list[str] = []
    found: list[str] = []
    n = 0
    while n < len(tokens):
        for size in (2, 1):
            code = codes.get(folded("".join(tokens[n : n + size])))
            if code is not None and n + size <= len(tokens):
                found.append(code)
                n += size
                break
        else:
            left.append(tokens[n])
            n += 1
    return left, tuple(dict.fromkeys(found))


def _looks_like_code(token: str, words: StaffWords) -> bool:
    mixed = not token.isalpha() and not token.isdigit() and token.isalnum()
    return (
        mixed
        and 3 <= len(token) <= 8
        and token not in words.not_codes
        and not _UNIT.fullmatch(token)
    )


def _spelt(token: str, vocabulary: frozenset[str]) -> str:
    """The word that was meant, where only one can be; else the token as it stands."""
    if token in vocabulary:
        return token
    short = re.sub(r"(.)\1+", r"\1", token)
    if short in vocabulary:
        return short
    near = [
        word
        for word in vocabulary
        if len(word) >= SHORTEST_MISSPELT
        and word[0] == token[0]
        and OSA.distance(word, token, score_cutoff=1) == 1
    ]
    return near[0] if len(near) == 1 else token


def _meanings(tokens: list[str], words: StaffWords) -> frozenset[str]:
    """All that is meant, denials and question marks taken into account."""
    found: set[str] = set()
    denied = refused = -REACH - 2
    n = 0
    while n < len(tokens):
        meaning, size = _phrase_at(tokens, n, words)
        end = n + size
        if meaning == "against":
            denied = n
        elif meaning:
            asked = tokens[end : end + 1] == ["?"]
            if n - denied <= REACH + 1:
                meaning, denied = _TURNED.get(meaning, "unsure"), -REACH - 2
            elif meaning in ("yes", "ok") and n - refused <= REACH + 1:
                # "can't pick it up": the refusal holds for what follows.
                meaning = "cant"
            found.add("unsure" if asked and meaning not in _NO_ANSWERS else meaning)
            refused = end - 1 if meaning == "cant" else refused
        n = end
    return frozenset(found)


# What is said beside an answer; a question mark after it does not take the answer back.
_NO_ANSWERS = frozenset({"filler", "report", "animals"})

# What a denial leaves of a meaning; all others become doubtful. "Not too far" refuses nothing.
_TURNED = {meaning: meaning for meaning in _NO_ANSWERS} | {"cant": "filler"}


def _phrase_at(tokens: list[str], n: int, words: StaffWords) -> tuple[str, int]:
    """The longest phrase that begins at a word, with its length; ("", 1) if none does."""
    for size in range(min(words.longest, len(tokens) - n), 0, -1):
        meaning = words.phrases.get(tuple(tokens[n : n + size]))
        if meaning is not None:
            return meaning, size
    return "", 1


def _time(page: Page, codes: tuple[str, ...], words: StaffWords) -> str:
    """The first stretch of the text that gives a time, neighbouring pieces joined."""
    plain = page.plain
    for code in codes:
        written = re.escape(code).replace(r"\-", "[ -]?")
        plain = re.sub(written, lambda m: "_" * len(m.group()), plain, flags=re.IGNORECASE)
    spans = sorted(m.span() for pattern in words.times for m in pattern.finditer(plain))
    if not spans:
        return ""
    start, end = spans[0]
    for first, last in spans[1:]:
        if first > end and re.search(r"[^\s,]", plain[end:first]):
            break
        end = max(end, last)
    return page.heard(start, end)
