"""The words around a landmark's name -> a Plan: how far, which way, between which two.

Words are looked up in places.toml, then read backwards from the name until something else
begins. A distance that stands there and cannot be placed gives the plan "asked", never a guess.
"""

from __future__ import annotations

from collections.abc import Sequence

from bot.reading.lengths import STOPS, azimuth_of, length_at, plan_after
from bot.reading.line import FURTHEST, Item, Line, number_end
from bot.reading.offsets import How, Plan, sector_of
from bot.reading.place_words import PlaceWords

_LONGEST_DRIVE = 15_000.0
"""A time on the way that leaves more open than this says nothing worth having."""

_LOOSE_WITHIN = 10
"""Items on either side of a name in which a stray distance opens it."""

_FURTHEST_WALK = 12_000.0
"""More metres than this are a weight ("80 k") or the drive home."""

_END_REACH = 2.0
"""An end of a thing lies within so many times its reach of its one listed point."""


class Beside:
    """Reads the plans of a line's names."""

    __slots__ = ("_words", "items", "names")

    def __init__(self, line: Line, words: PlaceWords) -> None:
        self.items = line.items
        self.names = line.names
        self._words = words

    def plan(self, number: int) -> Plan:
        """The plan for the name with this number."""
        at = self.names[number]
        before = self._before(at)
        if self._is_denied(at, before):
            return Plan("not", before[0].first if before else self.items[at].first, self._end(at))
        aim = self.items[at - len(before) - 1] if at > len(before) else None
        if aim and aim.any("toward") and not self._stops(at - len(before)):
            return self._aimed(aim, at, number)
        own = self._distance(before, at) or self._by_number(before, at)
        if own is None:
            ways = (self._pair(before, at, number), self._after(before, at))
            own = next((w for w in ways if w), None) or self._loose(before, at)
        own = self._loosened(self._ended(own, at, number), at)
        return self._heading(own, at, number) if own.how == "reach" else self._or(own, at, number)

    def _end(self, at: int) -> int:
        return self.items[at].last

    def _is_denied(self, at: int, before: list[Item]) -> bool:
        """ "not Brindle Hut": a "not" right before the words that belong to the name."""
        first = at - len(before)
        return first > 0 and self.items[first - 1].any("not") and not self._stops(first)

    def _stops(self, at: int) -> bool:
        return self.items[at].mark in STOPS

    def _loosened(self, plan: Plan, at: int) -> Plan:
        """A place with a distance near by in its sentence that no rule has placed is no surer
        than that distance; with another name in the sentence it may be that one's."""
        if plan.how not in {"at", "near"} or plan.either >= 0:
            return plan
        first, last = self._sentence(at)
        if sum(self.items[n].any("name") for n in range(first, last)) > 1:
            return plan
        for index in range(max(first, at - _LOOSE_WITHIN), min(last, at + _LOOSE_WITHIN)):
            length = None
            if self.items[index].any("unit"):
                length = length_at(self.items[first:last], index - first)
            if length and plan.metres < length[1] <= _FURTHEST_WALK:
                return Plan("reach", plan.start, plan.last, length[1], length[2])
        return plan

    def _sentence(self, at: int) -> tuple[int, int]:
        """The items around one, as far as a full stop or a few words more than any plan needs."""
        first, last = at, at + 1
        while first > max(0, at - FURTHEST) and self.items[first].mark != ".":
            first -= 1
        while last < min(len(self.items), at + FURTHEST) and self.items[last].mark != ".":
            last += 1
        return first, last

    def _aimed(self, aim: Item, at: int, number: int) -> Plan:
        """ "... towards Y": the way from a name before it, else somewhere on the way to Y."""
        before = self.names[number - 1] if number else -1
        between = self.items[before + 1 : at + 1] if number else []
        if between and len(between) <= FURTHEST and not any(i.mark == "." for i in between):
            return Plan("not", aim.first, self._end(at))
        if aim.any("bound"):
            return Plan("at", self.items[at].first, self._end(at))
        return Plan("open", aim.first, self._end(at), self._words.open_m)

    def _or(self, plan: Plan, at: int, number: int) -> Plan:
        """ "X or Y": both are named, neither is chosen."""
        second = self._second(at + 1, "or")
        return plan if second < 0 or plan.other >= 0 else plan._replace(either=number + 1)

    def _ended(self, plan: Plan, at: int, number: int) -> Plan:
        """ "Y track, 500 m in from the X end": an end of what was named before, or of nothing."""
        following = self.items[at + 1] if at + 1 < len(self.items) else None
        if plan.other >= 0 or not following or not following.any("end") or following.mark:
            return plan
        metres = plan.metres + plan.rounding if plan.how in {"reach", "bearing"} else 0.0
        before = self.names[number - 1] if number else -1
        between = self.items[max(before, 0) + 1 : at + 1]
        if before < 0 or len(between) > FURTHEST or any(i.mark == "." for i in between):
            return Plan("open", plan.start, following.last, metres + self._words.open_m)
        start = self.items[before].first
        return Plan("end", start, following.last, metres, other=number - 1)

    def _before(self, at: int) -> list[Item]:
        """The items that may belong to the name, in the order of the text."""
        first = at
        while first > 0 and at - first < FURTHEST and self.items[first].mark not in STOPS:
            item = self.items[first - 1]
            # "towards X" leads off to another place, "hacia el norte de X" only says which way.
            leads_off = item.any("toward") and not any(
                i.any("compass", "compass_of") for i in self.items[first:at]
            )
            if item.last != self.items[first].first or leads_off or item.any("not"):
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
            if not unit.any("unit", "minute") or number_end(before, index) < 0:
                continue
            tail = before[index + 1 :]
            length = length_at(before, index)
            if length is None or (_is_only_near(tail)):
                continue
            start, metres, rounding = length
            azimuth = azimuth_of(tail, self._words.before_of)
            lead = before[start - 1] if start else None
            if azimuth is None and lead is not None and lead.any("compass"):
                azimuth, start = lead.tags["compass"], start - 1
            first, last = before[start].first, self.items[at].last
            if azimuth is None or unit.any("minute"):
                far = unit.any("minute") and metres > _LONGEST_DRIVE
                return Plan("asked" if far else "reach", first, last, metres, rounding)
            how: How = "asked" if self._is_leg(before[:start]) else "bearing"
            return Plan(how, first, last, metres, rounding, azimuth, sector_of(azimuth))
        return None

    @staticmethod
    def _is_leg(items: Sequence[Item]) -> bool:
        """Whether another distance with a direction stands there: "1 km E then 2 km N of X"."""
        units = [n for n, i in enumerate(items) if i.any("unit")]
        return bool(units) and any(i.any("compass") for i in items[units[-1] :])

    def _by_number(self, before: list[Item], at: int) -> Plan | None:
        """A distance some unknown words away from "... from X": the way is open, the reach is
        not. A unit without a number that we can read is asked about."""
        if any(i.any("unit") and not i.any("number", "gap", "compass") for i in before):
            return Plan("asked", before[0].first, self.items[at].last)
        if not any(i.any("link", "along") for i in before):
            return None
        low = max(0, at - FURTHEST)
        for index in range(at - len(before) - 1, low, -1):
            item = self.items[index]
            if self.items[index + 1].mark in STOPS or item.any("name"):
                return None
            if item.any("unit", "minute") and number_end(self.items, index) >= 0:
                length = length_at(self.items[low:at], index - low)
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
        second = self._second(at + 1, "meets")
        if second >= 0:
            return Plan("between", self.items[at].first, self._end(second), other=number + 1)
        second = self._second(at + 1, "conjunction")
        if opener is None or second < 0:
            return None
        half = float(any(i.any("half") for i in before))
        return Plan("between", opener.first, self.items[second].last, half, other=number + 1)

    def _after(self, before: list[Item], at: int) -> Plan | None:
        plan = plan_after(self.items, at, azimuth_of(before, self._words.before_of))
        return plan and plan._replace(start=before[0].first if before else plan.start)

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
            way = azimuth_of(rest[:2], self._words.before_of)
            if linked and way is not None and not any(i.any("end") for i in rest[1:2]):
                return Plan("open", item.first, last, self._words.open_m)
            if item.any("along"):
                return Plan("open", item.first, last, self._words.open_m)
            if item.any("vague"):
                return Plan("near", item.first, last, item.tags["vague"])
        if any(i.any("link") and i.text in {"from", "off", "desde", "depuis"} for i in before):
            return Plan("near", before[0].first, last, self._words.open_m / 2)
        following = self.items[at + 1] if at + 1 < len(self.items) else None
        if following and following.any("after_vague") and not following.mark:
            return Plan("near", here, following.last, self._words.open_m / 2)
        return Plan("at", here, last)


def _is_only_near(tail: Sequence[Item]) -> bool:
    """Whether what follows a number is "near" and the like: then it was no distance."""
    return any(i.any("vague") for i in tail) and not any(
        i.any("compass", "compass_of", "link", "along") for i in tail
    )
