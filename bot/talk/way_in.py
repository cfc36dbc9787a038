"""What whoever comes must know of the place: gate, dogs, a good time; and after a visit in vain.

Law: these are the hunter's own words, passed on and never weighed. A text that asks for something
else, reports a sign, or is manners only is no such answer.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bot.reading.values import Word
from bot.talk.segments import clip
from bot.talk.state import Answer, Said, Value

IN_VAIN = ("nobody_home", "no_access", "not_there", "wrong_head")
"""Kinds of a visit in vain; each is the key of the question that follows from it, too."""

WAY_IN = ("access", *IN_VAIN)
"""Questions whose answer is for whoever comes, in the hunter's own words."""

FOR_STAFF = frozenset({*WAY_IN, "contact", "air"})
"""Answers that reach an open pickup even where they change nothing that was said before."""

WHERE_IT_IS = frozenset({"not_there", "wrong_head"})
"""Of these a place in the answer is where the head is; of the others it may be anywhere."""

LONGEST, LONGEST_OF_ALL = 100, 160
_ENDS = ".;\n"
_NOTHING = Said(("no",))


def way_in(
    asked: str, text: str, words: Sequence[Word], reports: bool
) -> Iterator[tuple[str, Value, str]]:
    """(question, value, heard) of what a text says to whoever comes."""
    kinds = {word.kind for word in words}
    told = [word for word in words if word.kind == "access"]
    if asked in WAY_IN and _answers(kinds, reports):
        bare = {"yes_no", "thanks"} >= kinds and bool(kinds) and len(text.split()) <= 3
        if not bare:
            yield asked, Said(words=_one_part(text)), text
        elif asked == "access" and not any(w.key == "yes" for w in words):
            yield asked, _NOTHING, text
    elif told:
        said = ", ".join(dict.fromkeys(_clause(text, word) for word in told))
        yield "access", Said(words=_one_part(said)), said


def _one_part(words: str) -> str:
    """Words without the mark that parts one answer from another."""
    return clip(" ".join(words.replace(";", ",").split()), LONGEST)


def _answers(kinds: set[str], reports: bool) -> bool:
    return not reports and not kinds & {"wish", "trouble", "exposure", "another", "hand_in"}


def _clause(text: str, word: Word) -> str:
    """The part of a text between two stops that holds a word."""
    start = max(text.rfind(end, 0, word.start) for end in _ENDS) + 1
    stops = [at for end in _ENDS if (at := text.find(end, word.end)) >= 0]
    return " ".join(text[start : min(stops, default=len(text))].split())


def access_words(answers: dict[str, Answer]) -> str:
    """All that was said for whoever comes, the newest first."""
    told = sorted((answers[k] for k in WAY_IN if k in answers), key=lambda a: a.at, reverse=True)
    words = (a.value.words for a in told if isinstance(a.value, Said) and not a.declined)
    return clip("; ".join(dict.fromkeys(filter(None, words))), LONGEST_OF_ALL)
