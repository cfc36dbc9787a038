"""An age that a member of staff texts: read, kept as a saying about that find's animal, answered.

Law: only a number on the roster is heard so, never a hunter; nobody is asked to open a bagged head.
What cannot be read is answered and not kept; the text itself is kept as every text is.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import NamedTuple

from sqlalchemy import Connection, select

from bot.evidence.ageing import Age, NoAge, Species, Teeth, age_by_teeth
from bot.evidence.columns import told_of
from bot.evidence.teeth_words import asks_age, read_teeth, species_in
from bot.evidence.told_age import AgeTold
from bot.fieldwork.staff_texts import fitted
from bot.messages import Text
from bot.reading.codes import find_codes
from bot.service import tables
from bot.service.ages import keep_age
from bot.talk.state import load

_C = tables.Conversation


class AgeAnswer(NamedTuple):
    """What the writer is told, and the row of the find that his text is about."""

    words: str
    find_id: int | None


@dataclass(frozen=True, slots=True)
class AgeTexts:
    """The tables of teeth in force, and the region whose shift holds."""

    teeth: Teeth
    region: str = ""

    def asks(self, body: str) -> bool:
        """Whether a text is about an age."""
        return asks_age(self.teeth, body)

    def take(self, connection: Connection, text: Text, by: str) -> AgeAnswer | None:
        """Keep what a text says of an age and answer it; None where it is about no age."""
        if not self.asks(text.body):
            return None
        codes = find_codes(text.body)
        query = select(_C.id, _C.code, _C.state).where(_C.code.in_(codes))
        row = connection.execute(query).one_or_none() if len(codes) == 1 else None
        if row is None:
            return AgeAnswer(self.teeth.texts.no_code, None)
        animal = told_of(load(row.state)).animal
        said = _bare(text.body, row.code)
        species = self._species(animal.species if animal else "", said)
        saying = AgeTold(text.at, by, "teeth", species)
        return AgeAnswer(self._told(connection, row.code, saying, said), row.id)

    def _species(self, heard: str, said: str) -> str:
        """The find's, or the one that the text names where the find's word is for several or
        nothing was said."""
        several = self.teeth.several.get(heard, ()) if heard else tuple(self.teeth.species)
        return species_in(self.teeth, said, several) or heard

    def _told(self, connection: Connection, code: str, saying: AgeTold, said: str) -> str:
        texts, table = self.teeth.texts, self.teeth.species.get(saying.species)
        if table is None:
            why = age_by_teeth(self.teeth, saying.species, {}, self.region)
            return fitted(texts.no_table, {"code": code, "what": self._why(why)})
        heard = read_teeth(texts, table, said)
        if heard.unread:
            what = ", ".join(heard.unread)
            return fitted(texts.unread, {"code": code, "what": what, "like": table.like})
        age = age_by_teeth(self.teeth, saying.species, heard.answers, self.region)
        if isinstance(age, NoAge):
            what = self._why(age)
            return fitted(texts.no_age, {"code": code, "what": what, "like": table.like})
        answers = dict(heard.answers)
        told = AgeTold(saying.at, saying.by, "teeth", saying.species, answers)
        keep_age(connection, code, told)
        seen = _in_words(table, answers)
        return fitted(texts.noted, {"code": code, "what": seen, "interval": self._interval(age)})

    def _why(self, age: Age | NoAge) -> str:
        """Why there is no age, and between which kinds a word does not choose."""
        if isinstance(age, Age):
            return ""
        kinds = [self.teeth.species[k].name for k in age.choices if age.why == "which_species"]
        return " ".join([self.teeth.why[age.why], *([f"({', '.join(kinds)})"] if kinds else [])])

    def _interval(self, age: Age) -> str:
        ends = {"lower": f"{age.lower:g}", "upper": f"{age.upper:g}" if age.upper else ""}
        texts = self.teeth.texts
        return (texts.interval_open if age.upper is None else texts.interval).format(**ends)


def _bare(body: str, code: str) -> str:
    """A text without the word that it begins with and without its code."""
    said = re.sub(rf"{code[:3]}[ -]?{code[4:]}", " ", body, flags=re.IGNORECASE)
    return re.sub(r"^\W*\w+", "", said)


def _in_words(table: Species, answers: dict[str, str]) -> str:
    asked = (q for q in table.questions if q.key in answers)
    return ", ".join(f"{q.about[0]} {q.answers[answers[q.key]]}" for q in asked)
