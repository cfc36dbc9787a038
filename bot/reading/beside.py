"""The words around a landmark's name -> a Plan: how far, which way, between which two.

Words are looked up in places.toml, then read backwards from the name until something else
begins. A distance that stands there and cannot be placed gives the plan "asked", never a guess.
"""

from __future__ import annotations

from collections.abc import Sequence

from bot.reading.lengths import FRACTIONS, Item, number_at_end
from bot.reading.offsets import Plan, sector_of
from bot.reading.place_tokens import Token
from bot.reading.place_words import PlaceWords, Tags

_FURTHEST = 14
"""Words before a name that may belong to it."""

_WINDOW = 2 * _FURTHEST
_STOPS = frozenset(".,")
_NAME: Tags = {"name": 1.0}
_NUMBER: Tags = {"number": -1.0, "figure": 1.0}
_NOTHING: Tags = {}
_DRIVE = 1000.0
_END_REACH = 2.0
"""An end of a thing lies within so many times its reach of its one listed point."""


class Line:
    """A text as items, with the names in it."""

    __slots__ = ("_words", "items", "names")

    def __init__(
        self, tokens: Sequence[Token], names: Sequence[tuple[int, int]], words: PlaceWords
    ) -> None:
        self._words = words
        self.items: list[Item] = []
        self.names: list[int] = []
        last = 0
        for first, end in names:
            # What lies further off than any plan reaches need not be looked up.
            self._cut(tokens, max(last, first - _WINDOW), first)
            self.names.append(len(self.items))
            self.items.append(Item(first, end, _NAME, "", tokens[first].mark))
            last = end
        self._cut(tokens, last, min(len(tokens), last + _WINDOW))

    def _cut(self, tokens: Sequence[Token], at: int, stop: int) -> None:
        while at < stop:
            last, tags = self._phrase(tokens, at, stop)
            token = tokens[at]
            self.items.append(Item(at, last, tags, token.key if last == at + 1 else "", token.mark))
            at = last

    def _phrase(self, tokens: Sequence[Token], at: int, stop: int) -> tuple[int, Tags]:
        key = tokens[at].key
        if key[0].isdigit():
            return at + 1, _NUMBER
        if key in FRACTIONS:
            return at + 1, {"number": FRACTIONS[key], "half_more": FRACTIONS[key]}
        found = self._words.beside.at(tokens, at, stop)
        return found if found else (at + 1, _NOTHING)

    # ------------------------------------------------------------------------------- reading

    def plan(self, number: int) -> Plan:
        """The plan for the name with this number."""
        at = self.names[number]
        before = self._before(at)
        own = self._distance(before, at) or self._by_number(before, at)
        if own is None:
            own = self._pair(before, at, number) or self._after(at) or self._loose(before, at)
        elif own.how == "reach":
            own = self._heading(own, at, number)
        return own

    def _before(self, at: int) -> list[Item]:
        """The items that may belong to the name, in the order of the text."""
        first = at
        while first > 0 and at - first < _FURTHEST and self.items[first].mark not in _STOPS:
            item = self.items[first - 1]
            if item.last != self.items[first].first:
                break
            way_name = item.any("name") and first > 1 and self.items[first - 2].any("along")
            if not item.tags or (item.any("name") and not way_name):
                break
            first -= 1
        return self.items[first:at]

    def _distance(self, before: list[Item], at: int) -> Plan | None:
        """A number with a unit, and a direction or a way beside it."""
        for index in range(len(before) - 1, 0, -1):
            unit = before[index]
            if not unit.any("unit", "minute") or not before[index - 1].any("number", "half_more"):
                continue
            tail = before[index + 1 :]
            length = self._length(before, index)
            if length is None or (_is_only_near(tail)):
                continue
            start, metres, rounding = length
            azimuth = self._azimuth(tail)
            lead = before[start - 1] if start else None
            if azimuth is None and lead is not None and lead.any("compass"):
                azimuth, start = lead.tags["compass"], start - 1
            first, last = before[start].first, self.items[at].last
            if azimuth is None or unit.any("minute"):
                return Plan("reach", first, last, metres, rounding)
            return Plan("bearing", first, last, metres, rounding, azimuth, sector_of(azimuth))
        return None

    def _length(self, items: Sequence[Item], unit: int) -> tuple[int, float, float] | None:
        """(first item, metres, rounding) of the number that ends before a unit."""
        read = number_at_end(items[:unit])
        if read is None:
            return None
        start, value, rounding = read
        tags = items[unit].tags
        if "unit" in tags:
            return start, value * tags["unit"], rounding * tags["unit"]
        pace = next((i.tags["pace"] for i in items[unit + 1 :] if "pace" in i.tags), _DRIVE)
        return start, value * tags["minute"] * pace, 0.0

    def _azimuth(self, items: Sequence[Item]) -> float | None:
        for index, item in enumerate(items):
            if "compass" in item.tags:
                return item.tags["compass"]
            follows = items[index + 1].text if index + 1 < len(items) else ""
            if "compass_of" in item.tags and follows in self._words.before_of:
                return item.tags["compass_of"]
        return None

    def _by_number(self, before: list[Item], at: int) -> Plan | None:
        """A distance some unknown words away from "... from X": the way is open, the reach is
        not. A unit without a number that we can read is asked about."""
        if any(i.any("unit") and not i.any("number", "gap", "compass") for i in before):
            return Plan("asked", before[0].first, self.items[at].last)
        if not any(i.any("link", "along") for i in before):
            return None
        low = max(0, at - _FURTHEST)
        for index in range(at - len(before) - 1, low, -1):
            item = self.items[index]
            if self.items[index + 1].mark in _STOPS or item.any("name"):
                return None
            if item.any("unit", "minute") and self.items[index - 1].any("number", "half_more"):
                length = self._length(self.items[low:at], index - low)
                if length is None:
                    return None
                start, metres, rounding = length
                first = self.items[low + start].first
                return Plan("reach", first, self.items[at].last, metres, rounding)
        return None

    def _second(self, index: int, opener: str) -> int:
        """The item of the name that follows after such a word, articles aside, or -1."""
        if index >= len(self.items) or not self.items[index].any(opener):
            return -1
        index += 1
        while index < len(self.items) and self.items[index].any("article", "link"):
            index += 1
        return index if index < len(self.items) and self.items[index].any("name") else -1

    def _heading(self, plan: Plan, at: int, number: int) -> Plan:
        """ "3 km from X towards Y"."""
        second = self._second(at + 1, "toward")
        if second < 0:
            return plan
        return plan._replace(how="toward", last=self.items[second].last, other=number + 1)

    def _pair(self, before: list[Item], at: int, number: int) -> Plan | None:
        """ "halfway between X and Y", "junction of X and Y", "the X end of Y"."""
        second = self._second(at + 1, "end")
        if second >= 0:
            return Plan("end", self.items[at].first, self.items[second].last, other=number + 1)
        opener = next((i for i in before if i.any("half", "between", "junction")), None)
        second = self._second(at + 1, "conjunction")
        if opener is None or second < 0:
            return None
        half = float(any(i.any("half") for i in before))
        return Plan("between", opener.first, self.items[second].last, half, other=number + 1)

    def _after(self, at: int) -> Plan | None:
        """ "X hut, 3 km NW" and "from X hut 2 km up the creek"."""
        index, stop = at + 1, min(len(self.items), at + 8)
        lead: float | None = None
        while (
            index < stop
            and self.items[index].any("gap", "compass")
            and not self.items[index].any("unit", "number")
        ):
            lead = self.items[index].tags.get("compass", lead)
            index += 1
        unit = index
        while unit < stop and self.items[unit].any("number", "either", "half_more"):
            unit += 1
        if unit == index or unit >= stop or not self.items[unit].any("unit"):
            return None
        if any("." in i.mark for i in self.items[at + 1 : unit + 1]):
            return None
        length = self._length(self.items[index : unit + 1], unit - index)
        if length is None:
            return None
        return self._trailing(at, unit, length, lead)

    def _trailing(
        self, at: int, unit: int, length: tuple[int, float, float], lead: float | None
    ) -> Plan | None:
        tail: list[Item] = []
        for item in self.items[unit + 1 : unit + 6]:
            if item.any("name") or (item.any("link") and not item.any("gap")):
                return None
            if item.mark in _STOPS or not item.any("compass", "along", "gap"):
                break
            tail.append(item)
        azimuth = next((i.tags["compass"] for i in tail if i.any("compass")), lead)
        _, metres, rounding = length
        first, last = self.items[at].first, (tail[-1] if tail else self.items[unit]).last
        if azimuth is not None:
            return Plan("bearing", first, last, metres, rounding, azimuth, sector_of(azimuth))
        if any(i.any("along") for i in tail):
            return Plan("reach", first, last, metres, rounding)
        return None

    def _loose(self, before: list[Item], at: int) -> Plan:
        """Near it, past it, the top of it, north of it; or simply there."""
        here, last = self.items[at].first, self.items[at].last
        for index, item in enumerate(before):
            rest = before[index:]
            if item.any("part"):
                return Plan("part", item.first, last, item.tags["part"])
            if item.any("half", "between", "junction"):
                return Plan("open", item.first, last, self._words.open_m)
            linked = any(i.any("link") for i in rest)
            if item.any("end") and linked:
                whole = before[max(0, index - 1)]
                first = whole.first if whole.any("compass", "article") else item.first
                return Plan("part", first, last, _END_REACH)
            if linked and self._azimuth(rest[:2]) is not None and not rest[1].any("end"):
                return Plan("open", item.first, last, self._words.open_m)
            if item.any("along"):
                return Plan("open", item.first, last, self._words.open_m)
            if item.any("vague"):
                return Plan("near", item.first, last, item.tags["vague"])
        if any(i.any("link") and i.text in {"from", "off", "desde", "depuis"} for i in before):
            return Plan("near", before[0].first, last, self._words.open_m / 2)
        return Plan("at", here, last)


def _is_only_near(tail: Sequence[Item]) -> bool:
    """Whether what follows a number is "near" and the like: then it was no distance."""
    return any(i.any("vague") for i in tail) and not any(
        i.any("compass", "compass_of", "link", "along") for i in tail
    )
