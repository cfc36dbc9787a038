"""One step while it is being decided: the conversation so far, what will be said, what follows.

A Turn lives inside one call of `step` and is thrown away; nothing outside sees it change.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from functools import cached_property
from typing import Any, Literal

from msgspec.structs import replace

from bot.messages import AskCoordinator, Effect, SendText, SettleReview, WaitFor
from bot.programme import Programme
from bot.reading.values import Animal, Choice
from bot.talk.advice import advice_for, kind_of, may_be_stock
from bot.talk.dialog import Dialog, Question
from bot.talk.segments import pack, spell_for_sms
from bot.talk.state import Asked, Conversation
from bot.talk.wording import Speaker

Saying = Literal["advice", "notice", "question", "news", "reminder"]
_WEIGHT: tuple[Saying, ...] = ("question", "reminder", "notice", "news", "advice")
"""A text that carries several sentences is of the weightiest one's kind: what holds advice
is never withdrawn as an answered question."""

_PLACE: dict[Saying, int] = {"advice": 0, "news": 1, "notice": 1, "reminder": 2, "question": 2}


def by_day(at: datetime, programme: Programme) -> datetime:
    """The instant itself, or where it falls into the programme's night, that night's end."""
    start, end = programme.head.pickup.night_from, programme.head.pickup.night_to
    local = at.astimezone(programme.zone)
    over_midnight = start > end
    late, early = local.hour >= start, local.hour < end
    if not (late or early if over_midnight else late and early):
        return at
    morning = local.replace(hour=end, minute=0, second=0, microsecond=0)
    return (morning + timedelta(days=over_midnight and late)).astimezone(at.tzinfo)


ONLY = frozenset({"kill_place", "when", "head_at"})
"""Questions whose single choice is put in words of its own."""


class Turn:
    """What one event does: sentences in the order they will be read, and effects."""

    def __init__(
        self, conversation: Conversation, at: datetime, dialog: Dialog, programme: Programme
    ) -> None:
        self.now = conversation
        self.at = at
        self.dialog = dialog
        self.programme = programme
        self.speaker = Speaker(conversation, dialog, programme)
        self.parts: list[tuple[Saying, str]] = []
        self.effects: list[Effect] = []

    def change(self, **fields: Any) -> None:
        """Set fields of the conversation."""
        self.now = replace(self.now, **fields)

    def speak(self, language: str) -> None:
        """Go on in another language of the programme."""
        if language != self.now.language and language in self.programme.head.languages:
            self.change(language=language)
            self.speaker = Speaker(self.now, self.dialog, self.programme)

    @cached_property
    def for_staff(self) -> Speaker:
        """Who says the same to field staff, in the programme's own language."""
        own = self.programme.head.languages[0]
        return Speaker(self.now, self.dialog, self.programme, own)

    def say(self, kind: Saying, key: str, **values: object) -> None:
        """Add one sentence."""
        sentence = self.speaker.say(key, **values)
        sms = self.now.channel == "sms"
        self.parts.append((kind, spell_for_sms(sentence) if sms else sentence))

    def effect(self, *effects: Effect) -> None:
        """Add what the shell is to do."""
        self.effects.extend(effects)

    def ask_coordinator(self, reason: str, heard: str = "", at_once: bool = False) -> None:
        """Put a reason on the review list, once while it stands."""
        if reason not in self.now.reviews:
            self.change(reviews=(*self.now.reviews, reason))
            self.effect(AskCoordinator(reason, heard, at_once))

    def settle(self, *reasons: str) -> None:
        """Take reasons off the review list, where they stand."""
        standing = tuple(r for r in reasons if r in self.now.reviews)
        if standing:
            left = tuple(r for r in self.now.reviews if r not in standing)
            self.change(reviews=left)
            self.effect(SettleReview(standing))

    def advise(self, heard: str = "", doubts: tuple[Choice, ...] = ()) -> None:
        """Say at once what the find's kind asks for, and call a person where it must be one.

        `doubts` are the animals that a text may mean; those still on offer count as well.
        """
        asked = self.now.asked
        if asked and asked.question == "species":
            doubts = (*doubts, *asked.choices)
        doubt = not self._species_known() and may_be_stock(doubts, self.dialog)
        kind = kind_of(self.now, self.dialog, doubt)
        self.change(kind=kind)
        found = advice_for(kind, self.dialog, self.programme)
        if found is None:
            return
        key, block = found
        self.say_once("advice", key)
        if block.review:
            self.ask_coordinator(block.review, heard, block.at_once)

    def _species_known(self) -> bool:
        answer = self.now.answers.get("species")
        return (
            answer is not None and isinstance(answer.value, Animal) and bool(answer.value.species)
        )

    def say_once(self, kind: Saying, key: str, **values: object) -> bool:
        """Say a sentence that is said only once in a conversation; whether it was said now."""
        if key in self.now.advised:
            return False
        self.change(advised=(*self.now.advised, key))
        self.say(kind, key, **values)
        return True

    def ask(self, question: Question, part: str = "ask") -> None:
        """Open a question and say it: `ask` first, `again` after a miss, and where another visit
        in vain asks the same once more."""
        if part == "ask" and "pickup" in question.ask_when and self.now.put.get(question.key):
            part = "again"
        if part == "again" and self.now.put.get(question.key, 0) > 1:
            part = "remind"  # Nobody reads the very same sentence twice running.
        self._count(question)
        self.change(asked=Asked(question.key, self.at, misses=self.now.misses.get(question.key, 0)))
        self.say("question", f"{question.key}.{part}", today=self.speaker.day(self._local()))

    def offer(self, question: Question, choices: tuple[Choice, ...]) -> None:
        """Open a question with numbered readings to choose from; a single one is put as a yes or
        no."""
        words = [self.speaker.choice(c) for c in choices]
        listed = "; ".join(f"{n}) {w}" for n, w in enumerate(words, 1))
        misses = self.now.misses.get(question.key, 0)
        self._count(question)
        self.change(asked=Asked(question.key, self.at, choices, misses))
        if len(words) == 1:
            named = question.key if question.key in ONLY else "other"
            self.say("question", f"only.{named}", choice=words[0])
        else:
            self.say("question", f"{question.key}.offer", choices=listed)

    def _count(self, question: Question) -> None:
        times = self.now.put.get(question.key, 0) + 1
        self.change(put={**self.now.put, question.key: times})

    def wait(self, minutes: int) -> None:
        """Let silence be an event after so many minutes, and never at night: nobody is woken
        for an answer that is missing."""
        self.change(silence_mark=self.now.turn)
        due = by_day(self.at + timedelta(minutes=minutes), self.programme)
        self.effect(WaitFor(due, self.now.turn))

    def finish(self) -> tuple[Conversation, tuple[Effect, ...]]:
        """The conversation as it stands now, and every effect, texts packed first."""
        return self.now, (*self._texts(), *self.effects)

    def _texts(self) -> Iterator[SendText]:
        """The sentences as texts: advice first, questions last, each in the order it was said."""
        question = self.now.asked.question if self.now.asked else ""
        parts = sorted(self.parts, key=lambda part: _PLACE[part[0]])
        kinds = iter([kind for kind, _ in parts])
        for group in pack(sentence for _, sentence in parts):
            own = [next(kinds) for _ in group]
            asks = "question" in own or "reminder" in own
            kind = max(own, key=_WEIGHT.index)
            yield SendText(" ".join(group), kind, question=question if asks else "")

    def _local(self) -> datetime:
        return self.at.astimezone(self.programme.zone)
