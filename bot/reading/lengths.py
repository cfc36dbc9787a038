"""Lengths and directions among the items of a line, and the offset that stands after a name."""

from __future__ import annotations

from collections.abc import Sequence, Set

from bot.reading.line import Item, number_at_end
from bot.reading.offsets import How, Plan, sector_of

STOPS = frozenset(".,")
"""Marks over which the words before a name do not reach."""

_DRIVE = 1000.0
"""Metres a minute where nobody says how they went."""

_REACH = 8
"""Items after a name in which its distance must stand."""


def length_at(items: Sequence[Item], unit: int) -> tuple[int, float, float] | None:
    """(first item, metres, rounding) of the number that ends before a unit; a time on the way is
    the furthest that it can lead. None where no number does."""
    read = number_at_end(items[:unit])
    if read is None:
        return None
    start, value, rounding = read
    if unit + 1 < len(items) and items[unit + 1].any("half_more"):
        value, rounding = value + 0.5, max(rounding, 0.25)  # "a k and a half"
    tags = items[unit].tags
    if "unit" in tags:
        return start, value * tags["unit"], rounding * tags["unit"]
    pace = next((i.tags["pace"] for i in items[unit + 1 :] if "pace" in i.tags), _DRIVE)
    return start, value * tags["minute"] * pace, 0.0


def azimuth_of(items: Sequence[Item], before_of: Set[str]) -> float | None:
    """The first compass word's degrees; a Spanish or French one only before its "of"."""
    for index, item in enumerate(items):
        if "compass" in item.tags:
            return item.tags["compass"]
        follows = items[index + 1].text if index + 1 < len(items) else ""
        if "compass_of" in item.tags and follows in before_of:
            return item.tags["compass_of"]
    return None


def plan_after(items: Sequence[Item], at: int, lead: float | None) -> Plan | None:
    """ "X hut, 3 km NW", "from X hut 2 km up the creek", "N of X hut by 3 km" (there `lead`)."""
    index, stop = at + 1, min(len(items), at + _REACH)
    while index < stop and _is_filling(items[index]):
        lead = items[index].tags.get("compass", lead)
        index += 1
    unit = index
    while unit < stop and items[unit].any("number", "either", "half_more", "roughly"):
        unit += 1
    if unit == index or unit >= stop or not items[unit].any("unit"):
        return None
    length = length_at(items[index : unit + 1], unit - index)
    if length is None or any(i.mark == "." for i in items[at + 1 : unit + 1]):
        return None
    return _trailing(items, at, unit, length, lead)


def _is_filling(item: Item) -> bool:
    return item.any("gap", "compass", "vague") and not item.any("unit", "number")


def _trailing(
    items: Sequence[Item],
    at: int,
    unit: int,
    length: tuple[int, float, float],
    lead: float | None,
) -> Plan | None:
    tail: list[Item] = []
    for item in items[unit + 1 : unit + 6]:
        # The distance is from another name, or from a thing that we do not know.
        if item.any("name") or (item.any("link") and not item.any("gap")):
            return None
        if item.mark in STOPS or not item.any("compass", "compass_of", "along", "gap", "article"):
            break
        tail.append(item)
    azimuth = _led(tail, lead)
    _, metres, rounding = length
    first, last = items[at].first, (tail[-1] if tail else items[unit]).last
    if azimuth is None:
        return Plan("reach", first, last, metres, rounding)
    how: How = "asked" if _leg_follows(items, unit + 1 + len(tail)) else "bearing"
    return Plan(how, first, last, metres, rounding, azimuth, sector_of(azimuth))


def _led(tail: Sequence[Item], lead: float | None) -> float | None:
    """The direction after a distance; a Spanish or French one only after "al", "au", "le"."""
    for index, item in enumerate(tail):
        if "compass" in item.tags:
            return item.tags["compass"]
        if "compass_of" in item.tags and index and tail[index - 1].any("article", "gap"):
            return item.tags["compass_of"]
    return lead


def _leg_follows(items: Sequence[Item], index: int) -> bool:
    """Whether a further distance with a direction follows: "2 km N then 1 km E"."""
    coming = items[index : index + 5]
    unit = next((n for n, i in enumerate(coming) if i.any("unit")), -1)
    if unit < 1 or not all(i.any("then", "number") for i in coming[:unit]):
        return False
    return any(i.any("compass") for i in coming[unit + 1 :])
