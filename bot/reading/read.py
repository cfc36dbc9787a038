"""One text through every reader: each takes its stretches and leaves the rest to the next.

Telephone numbers first, since they look like grid references; then places, the day, and last the
words for animals, signs and small answers, in one pass over what is left.
"""

from __future__ import annotations

from typing import NamedTuple

from bot.reading.air import read_air
from bot.reading.animals import read_animal
from bot.reading.answers import read_answers, whole_answer
from bot.reading.landmarks import read_landmarks
from bot.reading.listening import Listening, listen
from bot.reading.notations import find_notations
from bot.reading.page import Page
from bot.reading.people import find_phones, read_names
from bot.reading.places import settle_places
from bot.reading.scene import Scene
from bot.reading.signs import read_signs
from bot.reading.values import Checked, Found, Place, Reading, When, Word
from bot.reading.when import TAKEN_BACK, read_when


def read(text: str, scene: Scene) -> Reading:
    """Everything that a text says. Any text gives a Reading; none raises."""
    page = Page(text)
    whole = whole_answer(page, scene.words, scene.asked)
    if whole is not None:
        return _whole(page, scene, whole)
    phones = find_phones(page, scene.country)
    air = read_air(page, scene.country)
    claims = (*find_notations(page, scene), *read_landmarks(page, scene))
    when, when_unclear = read_when(page, scene)
    places, place_unclear = settle_places(page, scene, claims)
    heard = listen(page, scene.words)
    animal, animal_unclear = read_animal(heard)
    signs, checked = read_signs(heard, animal, scene.asked)
    answers = (*air, *read_answers(heard, scene.asked))
    small = _Small(phones, tuple(read_names(heard, scene.asked)), answers)
    return Reading(
        text=text,
        language=heard.language,
        places=places,
        when=when,
        animal=animal,
        signs=signs,
        checked=checked,
        unclear=(*place_unclear, *when_unclear, *animal_unclear),
        words=small.settled(places, when, animal is not None),
        unread=_unread(heard, small.names),
    )


_LEADS_TO = 8
"""Characters between "call me" and the number that it leads to."""


class _Small(NamedTuple):
    """The small answers by where they came from."""

    phones: tuple[Word, ...]
    names: tuple[Word, ...]
    answers: tuple[Word, ...]

    def _wishes(self) -> tuple[Word, ...]:
        """The answers, but "call me on <number>" gives a number and asks for nobody."""
        starts = [phone.start for phone in self.phones]
        return tuple(
            w
            for w in self.answers
            if w.key != "person" or not any(0 <= at - w.end <= _LEADS_TO for at in starts)
        )

    def settled(
        self, places: tuple[Found[Place], ...], when: Found[When] | None, animal: bool
    ) -> tuple[Word, ...]:
        """All of them. A leading no before one new answer corrects that answer ("no, Sunday")."""
        words = (*self.phones, *self.names, *self._wishes())
        if when is not None and TAKEN_BACK in when.value.assumed:
            return (*words, Word("correction", "when", when.heard, when.start, when.end))
        no = next((w for w in words if w.kind == "yes_no" and w.key == "no"), None)
        if no is None or any(w.kind == "correction" for w in words):
            return words
        given = [
            q
            for q, there in (
                ("place", bool(places)),
                ("when", when is not None),
                ("species", animal),
            )
            if there
        ]
        if not given:
            return words
        key = given[0] if len(given) == 1 else ""
        return (*words, Word("correction", key, no.heard, no.start, no.end))


def _whole(page: Page, scene: Scene, word: Word) -> Reading:
    """The reading of a text that is one bare answer."""
    listening = listen(page, scene.words)
    checked: tuple[Found[Checked], ...] = ()
    if word.kind in ("checked", "seen"):
        checked = (Found(Checked("", "", "clear"), word.heard, word.start, word.end),)
        return Reading(page.text, listening.language, checked=checked)
    return Reading(page.text, listening.language, words=(word,))


def _unread(heard: Listening, names: tuple[Word, ...]) -> tuple[str, ...]:
    """The words that neither a place, a day, a name nor a phrase claimed; no everyday words."""
    named = {name.start for name in names}
    known = {at for hit in heard.hits for at in range(hit.first, hit.last)}
    everyday = heard.words.everyday
    return tuple(
        heard.page.text[t.start : t.end]
        for at, t in enumerate(heard.tokens)
        if at not in known
        and t.word not in everyday
        and len(t.word) > 2
        and t.word.isalpha()
        and t.start not in named
    )
