"""How the bot says a value: days, places, animals, in a hunter's terms and few characters."""

from __future__ import annotations

from datetime import datetime, time, timedelta

from bot.programme import Programme
from bot.reading.describe import describe_place, name_place, plain_degrees
from bot.reading.values import Animal, Choice, Place, Sign, When
from bot.scenes import frame_of
from bot.talk.dialog import Dialog
from bot.talk.segments import clip
from bot.talk.state import Answer, Conversation, Said, Seen


class Speaker:
    """The dialog's sentences in one language, the conversation's unless another is named, with
    what every sentence may name."""

    def __init__(
        self, conversation: Conversation, dialog: Dialog, programme: Programme, language: str = ""
    ) -> None:
        head = programme.head
        self.dialog = dialog
        self.programme = programme
        self.language = language or conversation.language or head.languages[0]
        self.always: dict[str, str] = {
            "programme": head.name,
            "keeper": head.privacy.keeper,
            "code": conversation.code,
            "emergency": head.contacts.emergency,
            "animal_emergency": head.contacts.animal_emergency,
            "authority": head.law.call_authority or head.contacts.animal_emergency,
            "coordinator": head.contacts.coordinator,
            "landmark": _example_landmark(programme),
        }

    def say(self, key: str, **values: object) -> str:
        """One sentence, filled in."""
        return self.dialog.say(self.language, key, **{**self.always, **values})

    def day(self, at: datetime) -> str:
        """ "Sat 22 Nov"."""
        days, months = (self.dialog.list(self.language, f"dates.{k}") for k in ("days", "months"))
        return self.say(
            "dates.day", weekday=days[at.weekday()], day=at.day, month=months[at.month - 1]
        )

    def when(self, when: When) -> str:
        """ "Sat 22 Nov", "Sat 22 Nov 18:00-19:00" or two days with a dash."""
        earliest = when.earliest.astimezone(self.programme.zone)
        latest = when.latest.astimezone(self.programme.zone)
        last = latest - timedelta(minutes=1)
        if earliest.date() != last.date():
            if latest - earliest < timedelta(hours=20):
                return f"{self.day(earliest)} {earliest:%H:%M} - {latest:%H:%M}"
            return f"{self.day(earliest)} - {self.day(last)}"
        # A day that is still running was said as a day: its hour is that of the text alone.
        running = earliest.time() == time.min and latest - earliest >= timedelta(hours=6)
        if running or latest - earliest >= timedelta(hours=20):
            return self.day(earliest)
        if latest - earliest <= timedelta(minutes=5):
            return f"{self.day(earliest)} {earliest:%H:%M}"
        end = f"{latest:%H:%M}" if latest.date() == earliest.date() else "24:00"
        return f"{self.day(earliest)} {earliest:%H:%M}-{end}"

    def place(self, place: Place) -> str:
        """Distance and direction from the nearest landmark, and the degrees."""
        landmarks = frame_of(self.programme, self.dialog.words).landmarks
        return name_place(place, landmarks, self.language)

    def place_to_fetch(self, place: Place) -> str:
        """A place for staff, whose texts give the degrees themselves: by name where it can be."""
        words, figures = self.place(place), plain_degrees(place.lat, place.lon)
        return words.removeprefix(figures).strip(" ()") or figures

    def short_place(self, place: Place) -> str:
        """Distance and direction from the nearest landmark alone."""
        landmarks = frame_of(self.programme, self.dialog.words).landmarks
        if place.reach_m:
            return name_place(place, landmarks, self.language)
        return describe_place(place.lat, place.lon, landmarks, self.language)

    def animal(self, animal: Animal) -> str:
        """ "boar", "3 x sow", "2 x sow, 1 x boar", or the species where no sort was said."""
        if animal.sorts and sum(n for _, n in animal.sorts) == animal.count:
            return ", ".join(f"{n} x {self.named('sorts', sort)}" for sort, n in animal.sorts)
        name = self.named("sorts", animal.sort) or self.named("animals", animal.species)
        name = name or self.say("animals.unknown")
        return f"{animal.count} x {name}" if animal.count > 1 else name

    def sign(self, sign: Sign) -> str:
        """Side, site and look: "left jaw node pus"."""
        parts = (("sides", sign.side), ("sites", sign.site), ("looks", sign.look))
        return " ".join(filter(None, (self.named(table, key) for table, key in parts)))

    def seen(self, seen: Seen) -> str:
        """The first signs in words, or that it looked clean."""
        return ", ".join(self.sign(s) for s in seen.signs[:3]) or self.say("clean")

    def named(self, table: str, key: str) -> str:
        """The name of a key in this language; "" for no key, the key itself where it has none."""
        if not key:
            return ""
        known = f"{table}.{key}" in self.dialog.sentences["en"]
        return self.say(f"{table}.{key}") if known else key.replace("_", " ")

    def choice(self, choice: Choice) -> str:
        """One reading on offer, by its value where words of our own exist for it."""
        value = choice.value
        if isinstance(value, Animal):
            kind = self.named("animals", value.species)
            return f"{self.animal(value)} ({kind})" if value.sort and kind else self.animal(value)
        if isinstance(value, When):
            return self.when(value)
        if isinstance(value, Place):
            return clip(self.place(value), 80)
        return clip(choice.words, 80)

    def answer(self, answer: Answer) -> str:
        """Any answer in a few words, the hunter's own where nothing better was read."""
        value = answer.value
        if isinstance(value, Place):
            return self.place(value)
        if isinstance(value, When):
            return self.when(value)
        if isinstance(value, Animal):
            return self.animal(value)
        if isinstance(value, Seen):
            return self.seen(value)
        if isinstance(value, Said):
            return self.said(value)
        return clip(answer.heard, 60)

    def said(self, said: Said) -> str:
        """The names of a small answer's keys, or its words."""
        known = self.dialog.sentences["en"]
        names = [self.say(f"storage.{k}") for k in said.keys if f"storage.{k}" in known]
        return ", ".join(names) or clip(said.words, 60)


def _example_landmark(programme: Programme) -> str:
    return clip(programme.landmarks[0].name, 24) if programme.landmarks else "the hut"
