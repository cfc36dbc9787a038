"""What a day or a time in a text is told of: the death, the dressing, what came after, what is
to come. The verb beside it decides.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date

from msgspec import Struct

from bot.reading.pieces import Clock, Day, Part


class Heard(Struct, frozen=True):
    """All that the grammar found in one text, in one language."""

    letters: str
    days: Sequence[Day]
    clocks: Sequence[Clock]
    parts: Sequence[Part]

    def covered(self) -> int:
        """How many characters of the text the pieces explain."""
        pieces: tuple[Day | Clock | Part, ...] = (*self.days, *self.clocks, *self.parts)
        return sum([p.end - p.start for p in pieces])


def verb_of(letters: str, first: int, last: int, *, past: bool = False) -> str:
    """K the death, B the field dressing, G what was done afterwards, F what is to come, "" no
    verb near. A day that is past is not that of a verb to come after it ("21 Nov, call me")."""
    for before, after in _VERBS[past]:
        found = before.search(letters, 0, first) or after.match(letters, last)
        if found:
            return found[1].replace("%", "G")
    return ""


def _verbs(following: str) -> tuple[tuple[re.Pattern[str], re.Pattern[str]], ...]:
    """The last verb before and the first behind, no further than the next of these marks. How the
    head is kept (%) is a state: it takes a day behind it, not one before. A place that was taken
    out parts no verb from the day behind it ("shot at the hut Saturday")."""
    return tuple(
        (
            re.compile(rf"([KBGF%])[^KBGF%{marks.replace('|', '')}]*\Z"),
            re.compile(rf"[^{following}{marks}]*([{following}])"),
        )
        for marks in (",.;|", ".;|")
    )


_VERBS = {True: _verbs("KBG"), False: _verbs("KBGF")}


def of_the_death(heard: Heard, asked: bool, today: date) -> tuple[list[Day], str]:
    """The days that can be the day of death; or none, with a reason where one was said."""
    told = [d for d in heard.days if not _denied(heard.letters, d)]
    if not told:  # "no, yesterday" without its comma tells a day; "not yesterday" tells none
        told = [d for d in heard.days if _before(heard.letters, d).endswith("q")]
    verbs = [
        (day, verb_of(heard.letters, _begins(heard, day), day.last, past=_is_past(day, today)))
        for day in told
    ]
    kept = [d for d, verb in verbs if verb in ("K", "")]
    if kept:
        return _meant(kept, verbs, heard), ""
    dressed = [d for d, verb in verbs if verb == "B"]
    if dressed:
        return dressed, ""
    handled = [d for d, verb in verbs if verb == "G" and not d.weak]
    if asked:
        return handled or [d for d, _ in verbs], ""
    return handled, "other_day" if handled else ""


def _is_past(day: Day, today: date) -> bool:
    """Whether it is a day gone by, however it is read; a weekday may be to come."""
    if not day.days or day.weekday is not None or day.why or day.weak:
        return False
    return day.days[0] < today or day.instant is not None


def _begins(heard: Heard, day: Day) -> int:
    """Where a date begins that is said in pieces: "Sat, 21 Nov" and "8pm, 21 Nov" are one."""
    first = day.first
    if heard.letters[first - 1 : first] not in (",", "."):
        return first
    pieces: tuple[Day | Clock | Part, ...] = (*heard.days, *heard.clocks, *heard.parts)
    for piece in sorted(pieces, key=lambda p: -p.last):
        gap = heard.letters[piece.last : first]
        if piece.last < first and not gap.strip(",.") and _one_date(piece, day):
            first = piece.first
    return first


def _one_date(piece: Day | Clock | Part, day: Day) -> bool:
    """Whether a piece before a mark belongs to the date after it: its weekday, or its time."""
    if day.weekday is not None or not day.days:
        return False
    return not isinstance(piece, Day) or piece.weekday == day.days[0].weekday()


def _denied(letters: str, day: Day) -> bool:
    """The Saturday of "Sunday, not Saturday", and that of "Saturday no, Sunday"."""
    after = letters[day.last :]
    return _before(letters, day).endswith(("Z", "q")) or after.startswith(_TAKEN_BACK)


def _before(letters: str, day: Day) -> str:
    return letters[: day.first].rstrip("TL")


def one_taken_back(heard: Heard) -> bool:
    """Whether one day is said in the place of another: such a text corrects."""
    denied = sum(_denied(heard.letters, day) for day in heard.days)
    return 0 < denied < len(heard.days)


_TAKEN_BACK = tuple(f"{lead}{no}{mark}" for lead in ("", ",") for no in "Zq" for mark in ",.")


def _meant(kept: list[Day], verbs: Sequence[tuple[Day, str]], heard: Heard) -> list[Day]:
    """Without the lightly said ("now") unless it is all there is, and the future unless alone."""
    firm = [d for d in kept if not d.weak]
    if firm:
        past = [d for d in firm if d.why != "in_the_future"]
        return past or firm
    bare = all(_by_itself(heard.letters, d) for d in kept)
    with_death = [d for d, verb in verbs if d.weak and verb == "K" and _close(heard.letters, d)]
    return kept if bare else with_death


def _by_itself(letters: str, day: Day) -> bool:
    """Whether nothing but marks stands round a day: "big boar, now, 80 kg"."""
    before, after = letters[: day.first], letters[day.last :]
    return (not before or before[-1] in ",.;|") and (not after or after[0] in ",.;|")


def _close(letters: str, day: Day) -> bool:
    """Whether the death is told in the same breath: no mark and no "and" between."""
    at = letters.rfind("K", 0, day.first)
    between = letters[at + 1 : day.first] if at >= 0 else letters[day.last : letters.find("K")]
    return not set(between) & set(",.;|jG")
