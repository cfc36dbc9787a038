"""PURE. What a member of staff texts of a jaw -> the answers to the questions of a species' table.

Law: a text is cut into parts; each must name its teeth, or go on with those of the part before it,
and say one thing of them. A part that cannot be read so, or that denies in words which no answer
lists, is given back as it was written, and then nothing counts.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping

from msgspec import Struct

from bot.evidence.ageing import Question, Species, Teeth, Texts

_PART = re.compile(r"[,;.:\n/+&]+|\band\b", re.IGNORECASE)
_WORD = re.compile(r"[a-z0-9]+")

Phrase = tuple[str, ...]


class TeethHeard(Struct, frozen=True):
    """Question key -> answer key, and the parts that could not be read."""

    answers: Mapping[str, str]
    unread: tuple[str, ...] = ()


def asks_age(teeth: Teeth, body: str) -> bool:
    """Whether a text begins as one about an age does."""
    return bool(words := words_of(body)) and words[0] in teeth.texts.asked


def species_in(teeth: Teeth, body: str, among: Iterable[str]) -> str:
    """The one of these species that a text names, or "" where it names none or several."""
    words = words_of(body)
    named = {
        key
        for key in among
        if any(_at(words, words_of(name)) for name in teeth.species[key].called)
    }
    return named.pop() if len(named) == 1 else ""


def read_teeth(texts: Texts, species: Species, body: str) -> TeethHeard:
    """What a text says of a jaw, the word "age" and the code left out beforehand.

    >>> read_teeth(texts, pig, "last molar three cusps, permanent premolars").answers
    {'molars': 'third_complete', 'last_premolar': 'two'}
    """
    answers: dict[str, str] = {}
    unread: list[str] = []
    question: Question | None = None
    waiting = ""
    for part in filter(None, (p.strip() for p in _PART.split(body))):
        words = words_of(f"{waiting} {part}")
        if any(words == words_of(name) for name in species.called) or not words:
            continue
        named = _question(species, words)
        question = named or question
        if question is None:
            waiting = f"{waiting} {part}".strip()
            continue
        waiting = ""
        answer = _answer(texts, question, words, carried=named is None)
        if answer is None or not _agrees(question, answers, answer):
            unread.append(part)
        elif answer and _later(question, answers.get(question.key, ""), answer):
            answers[question.key] = answer
    return TeethHeard(answers, (*unread, waiting) if waiting else tuple(unread))


def words_of(text: str) -> Phrase:
    """The plain small words of a text, apostrophes left out."""
    return tuple(_WORD.findall(text.lower().replace("'", "").replace("\u2019", "")))


def _question(species: Species, words: Phrase) -> Question | None:
    """The question whose teeth are named by the most words; None where none or two are."""
    sizes = {
        q.key: max((len(a) for a in map(words_of, q.about) if _at(words, a)), default=0)
        for q in species.questions
    }
    most = max(sizes.values(), default=0)
    named = [q for q in species.questions if most and sizes[q.key] == most]
    return named[0] if len(named) == 1 else None


def _answer(texts: Texts, question: Question, words: Phrase, carried: bool) -> str | None:
    """The one answer that the words of a part are for, "" where they only name teeth, None where
    they cannot be read. A part that is `carried` on from the one before may hold nothing else."""
    phrases = {words_of(p): a for a, listed in question.listen.items() for p in listed}
    wanted = {word for phrase in phrases for word in phrase}
    empty = {w for listed in (question.about, texts.filler) for p in listed for w in words_of(p)}
    left = tuple(w for w in words if w in wanted or w not in empty)
    cut = tuple(_cut(left, phrases))
    denial = {(word,) for word in texts.denial}
    denied = any(piece in denial for piece in cut) and cut != (left,)
    found = {phrases[piece] for piece in cut if piece in phrases}
    strange = any(piece not in phrases for piece in cut)
    if not left:
        return ""
    return found.pop() if len(found) == 1 and not denied and not (carried and strange) else None


def _cut(words: Phrase, phrases: Mapping[Phrase, str]) -> Iterator[Phrase]:
    """Words cut into the longest phrases from left to right, and single words between them."""
    n = 0
    while n < len(words):
        sizes = range(len(words) - n, 0, -1)
        size = next((s for s in sizes if words[n : n + s] in phrases), 1)
        yield words[n : n + size]
        n += size


def _agrees(question: Question, answers: Mapping[str, str], answer: str) -> bool:
    return not answer or question.latest or answers.get(question.key, answer) == answer


def _later(question: Question, first: str, second: str) -> bool:
    order = ["", *question.answers]
    return order.index(second) > order.index(first)


def _at(words: Phrase, phrase: Phrase) -> bool:
    return any(words[n : n + len(phrase)] == phrase for n in range(len(words)))
