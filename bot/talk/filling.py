"""From a reading to answers: every reader's values find the question they answer.

The rules of overwriting live here: the later sent text wins, a coordinator's word stays, and a
merge never loses what was said before.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from bot.reading.values import Animal, Choice, Found, Place, Reading, When, Word
from bot.talk.state import Answer, Conversation, Said, Seen, Value
from bot.talk.way_in import FOR_STAFF, WAY_IN, WHERE_IT_IS, way_in

YES_NO: dict[tuple[str, str], Value] = {
    ("jaw", "yes"): Said(("want",)),
    ("jaw", "no"): Said(("no",)),
    ("land", "yes"): Said(("owner_told",)),
    ("land", "no"): Said(("owner_not_told",)),
    ("storage", "yes"): Said(("bagged",)),
    ("storage", "no"): Said(("not_bagged",)),
}
"""What a bare yes or no means for the question that is open. A bare no to what was seen is no
clean find: it is asked again, since a clean head is evidence."""

LEFT_OPEN = frozenset({*WAY_IN, "depot", "hand_in"})
"""Beside an answer to one of these, a place without a word of its own is not asked about."""

WORD_QUESTION = {"storage": "storage", "land": "land", "jaw": "jaw", "name": "name"}
"""Small answers that answer a question by themselves, whatever was asked."""


class Brings(Struct, frozen=True):
    """That the hunter takes the head to a depot himself: will, did, or has it fetched after all.
    `depot` is its name, "" where he named none that is listed."""

    how: Literal["will", "did", "fetch"]
    depot: str = ""


class Spoken(Struct, frozen=True):
    """A reading together with whose words they are and when they were sent."""

    reading: Reading
    sent_at: datetime
    by: str = "hunter"
    answering: str = ""
    """The open question, if the text was sent after it was asked."""
    photo_at: datetime | None = None
    """When a photo that came with it was taken."""
    brings: Brings | None = None
    """What was said of handing the head in oneself."""
    after_wrong: bool = False
    """Whether the text before this one said that something was wrong, and not what."""

    def words(self, kind: str) -> tuple[Word, ...]:
        """The small answers of one kind."""
        return tuple(w for w in self.reading.words if w.kind == kind)

    def keys(self, kind: str) -> tuple[str, ...]:
        """The keys of the small answers of one kind, each once."""
        return tuple(dict.fromkeys(w.key for w in self.words(kind)))

    @property
    def doubts(self) -> tuple[Choice, ...]:
        """The animals that an unclear word may mean."""
        unclear = (u for u in self.reading.unclear if u.question == "species")
        return tuple(choice for u in unclear for choice in u.choices)

    @property
    def reports(self) -> bool:
        """Whether the words tell something of a find."""
        found = self.reading
        return bool(found.signs or found.checked or found.places or found.when or found.animal)

    @property
    def corrects(self) -> bool:
        """Whether the words say that something was wrong, or follow such words."""
        return self.after_wrong or bool(self.words("correction"))


class Filled(Struct, frozen=True):
    """The conversation after a reading, the questions it answered, and those it changed.

    `refused` are answers that a coordinator has set and the hunter now words otherwise.
    """

    conversation: Conversation
    learned: tuple[str, ...] = ()
    changed: tuple[str, ...] = ()
    refused: tuple[str, ...] = ()

    @property
    def for_staff(self) -> tuple[str, ...]:
        """What an open pickup should hear of."""
        return (*self.changed, *(key for key in self.learned if key in FOR_STAFF))


def fill(conversation: Conversation, spoken: Spoken) -> Filled:
    """Put every value of a reading where it belongs."""
    filled = Filled(conversation)
    for key, value, heard in _values(conversation, spoken):
        filled = put(filled, Answer(key, value, heard, spoken.sent_at, spoken.by))
    return filled


def put(filled: Filled, answer: Answer) -> Filled:
    """Set one answer, unless an older text or a lesser voice tries to overwrite a newer one."""
    key = answer.question
    before = filled.conversation.answers.get(key)
    if before is not None and not before.declined:
        if before.by.startswith("coordinator") and answer.by == "hunter":
            same = answer.value == before.value
            return filled if same else replace(filled, refused=(*filled.refused, key))
        answer = _merge(before, answer)
        if answer.value == before.value:
            return replace(filled, learned=(*filled.learned, key))
    answers = {**filled.conversation.answers, key: answer}
    changed = filled.changed
    if before is not None and not before.declined and not _extends(before.value, answer.value):
        changed = (*changed, key)
    return replace(
        filled,
        conversation=replace(filled.conversation, answers=answers),
        learned=(*filled.learned, key),
        changed=changed,
    )


def _merge(before: Answer, new: Answer) -> Answer:
    """The newer answer, with what only the other one said kept."""
    older, newer = (before, new) if new.at >= before.at else (new, before)
    return replace(newer, value=_merged(older.value, newer.value), heard=newer.heard)


def _merged(older: Value, newer: Value) -> Value:
    if isinstance(older, Animal) and isinstance(newer, Animal):
        same = not newer.species or not older.species or newer.species == older.species
        if not same:
            return newer
        return Animal(
            species=newer.species or older.species,
            sort=newer.sort or older.sort,
            count=max(newer.count, older.count),
            weight_kg=newer.weight_kg or older.weight_kg,
            tag_number=newer.tag_number or older.tag_number,
            found_dead=newer.found_dead or older.found_dead,
            sorts=newer.sorts or older.sorts,
        )
    if isinstance(older, Seen) and isinstance(newer, Seen):
        signs = tuple(dict.fromkeys((*older.signs, *newer.signs)))
        checked = tuple(dict.fromkeys((*older.checked, *newer.checked)))
        return Seen(signs, checked, (older.clean or newer.clean) and not signs)
    if isinstance(older, Said) and isinstance(newer, Said) and older.keys and newer.keys:
        return Said(_joined_keys(older.keys, newer.keys), newer.words or older.words)
    return newer


_KEPT = ("bagged", "bagged_twice", "frozen", "chilled", "found_again")
IN_TROUBLE = "person_in_trouble"
OPPOSED = (
    frozenset({"frozen", "chilled", "warm"}),
    frozenset({"bagged", "bagged_twice", "not_bagged", "no_bags"}),
    # A head that is bagged or cold now is there again, whatever was said of it before.
    *(frozenset({gone, kept}) for gone in ("binned", "dog_took") for kept in _KEPT),
    frozenset({"want", "no"}),
    frozenset({"owner_told", "owner_not_told"}),
    frozenset({"public", "private", "own"}),
    frozenset({"with_carcase", "home", "vehicle"}),
    frozenset({"owner_private", "owner_may_know"}),
)


def _joined_keys(older: tuple[str, ...], newer: tuple[str, ...]) -> tuple[str, ...]:
    """Both answers' keys, the newer standing where two cannot both be true."""
    gone = {k for group in OPPOSED if group & set(newer) for k in group - set(newer)}
    return tuple(dict.fromkeys((*(k for k in older if k not in gone), *newer)))


def _extends(before: Value, after: Value) -> bool:
    """Whether the new value only says more than the old one."""
    if isinstance(before, Animal) and isinstance(after, Animal):
        return before.species in ("", after.species) and before.sort in ("", after.sort)
    if isinstance(before, Seen) and isinstance(after, Seen):
        return set(before.signs) <= set(after.signs)
    if isinstance(before, Said) and isinstance(after, Said):
        return set(before.keys) <= set(after.keys)
    return isinstance(before, Said) and isinstance(after, Place)


def _values(conversation: Conversation, spoken: Spoken) -> Iterator[tuple[str, Value, str]]:
    """(question, value, heard) for all that a reading says."""
    reading, asked = spoken.reading, spoken.answering
    if seen := _seen(spoken):
        yield "seen", seen, _heard([*reading.signs, *reading.checked])
    yield from _places(conversation, spoken)
    if reading.when is not None and _is_about_death(conversation, spoken, reading.when.value):
        yield "when", reading.when.value, reading.when.heard
    if reading.animal is not None:
        yield "species", reading.animal.value, reading.animal.heard
    yield from _small(spoken)
    for word in spoken.words("yes_no"):
        # "No, Sunday" puts a day right; it does not say that the owner was not told.
        if (value := YES_NO.get((asked, word.key))) and not spoken.corrects:
            yield asked, value, word.heard


def _is_about_death(conversation: Conversation, spoken: Spoken, new: When) -> bool:
    """Whether a time is that of the death: one that came beside an answer to something else
    ("the tip run was this morning") may make the known day finer, and never moves it."""
    before = conversation.answers.get("when")
    if before is None or not isinstance(before.value, When) or spoken.by != "hunter":
        return True
    if spoken.corrects or spoken.words("died") or spoken.answering in ("", "when"):
        return True
    return new.earliest < before.value.latest and before.value.earliest < new.latest


def _seen(spoken: Spoken) -> Seen | None:
    reading = spoken.reading
    if not (reading.signs or reading.checked):
        return None
    checked = tuple(f.value for f in reading.checked)
    clear = any(c.state == "clear" for c in checked)
    return Seen(tuple(f.value for f in reading.signs), checked, clear and not reading.signs)


def _heard(found: list[Found]) -> str:  # type: ignore[type-arg]
    return ", ".join(dict.fromkeys(f.heard for f in found))


def _only_for_staff(kind: str, spoken: Spoken) -> bool:
    """Whether a word belongs to what is said to whoever comes: "forestry has the key" tells of no
    other land. That a head was binned counts where it is looked for."""
    lost = kind == "storage" and spoken.answering in WHERE_IT_IS
    return spoken.answering in WAY_IN and not lost


def _small(spoken: Spoken) -> Iterator[tuple[str, Value, str]]:
    for kind, question in WORD_QUESTION.items():
        if (words := spoken.words(kind)) and not _only_for_staff(kind, spoken):
            heard = ", ".join(w.heard for w in words)
            yield (
                question,
                Said(spoken.keys(kind), heard if kind in ("name", "land") else ""),
                heard,
            )
    if phones := spoken.words("phone"):
        yield "contact", Said(words=phones[0].key), phones[0].heard
    yield from way_in(
        spoken.answering,
        spoken.reading.text,
        spoken.reading.words,
        bool(spoken.reading.signs or spoken.reading.checked),
    )
    if air := spoken.words("air"):
        yield "air", Said(words=air[0].key), air[0].heard
    if texters := spoken.words("texter"):
        yield "texter", Said(spoken.keys("texter")), texters[0].heard
    given = {_question_of(f.value, set(), spoken) for f in spoken.reading.places}
    if (where := spoken.words("where_now")) and "head_at" not in given:
        yield "head_at", Said(spoken.keys("where_now"), where[0].heard), where[0].heard


def _places(conversation: Conversation, spoken: Spoken) -> Iterator[tuple[str, Value, str]]:
    taken = {k for k in ("kill_place", "head_at") if _has_place(conversation, k)}
    last = max(taken, key=lambda k: conversation.answers[k].at, default="")
    for found in spoken.reading.places:
        key = _question_of(found.value, taken, spoken, last)
        own = key == "head_at" and spoken.answering != key
        if own and IN_TROUBLE in conversation.reviews:
            continue  # "I'm at ..." from somebody lost is where he is, not where the head is.
        if key:
            taken.add(key)
            yield key, found.value, found.heard


def _question_of(place: Place, taken: set[str], spoken: Spoken, last: str = "") -> str:
    """Which place a place is: by its own words, else by what was asked, else by what is missing.
    After "that's wrong" it is the place that was given `last`.

    A second place without a word of its own is where the head is: it is read back as that. A
    third one, beside an answer to something else, is neither: "" leaves both as they are.
    """
    if place.role and not (place.role == "kill" and spoken.answering in WHERE_IT_IS):
        return "kill_place" if place.role == "kill" else "head_at"
    if spoken.after_wrong and last:
        return last
    if spoken.answering in ("kill_place", "head_at"):
        return spoken.answering
    if spoken.answering in LEFT_OPEN:
        return "head_at" if spoken.answering in WHERE_IT_IS else ""
    if spoken.corrects or "kill_place" not in taken:
        return "kill_place"
    if "head_at" not in taken:
        return "head_at"
    return "" if spoken.answering and spoken.by == "hunter" else "kill_place"


def _has_place(conversation: Conversation, key: str) -> bool:
    answer = conversation.answers.get(key)
    return answer is not None and isinstance(answer.value, Place)
