"""One member's duty as a form's fields, and back: when he works, his leave, his nights on call,
how far he goes and how much he carries. Nothing that was typed is lost when a field is wrong.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, time

from msgspec.structs import replace
from werkzeug.datastructures import MultiDict

from bot.fieldwork.duty import WHOLE_DAY
from bot.fieldwork.roster_csv import clock_words
from bot.folder.staff import Member

SPARE_LEAVES = 1
"""Empty rows for leave beneath those that there are; saved, it makes room for another."""
MOST_LEAVES = 40
MOST_REACH_KM, MOST_JOBS = 2000.0, 999
"""As in staff.csv."""
LONGEST = 20


@dataclass(frozen=True, slots=True)
class DutyForm:
    """The fields as they stand in the form, by name, and what is wrong with which: codes that
    desk.toml has words for under [roster_fault]."""

    off_duty: bool
    days: tuple[int, ...]
    on_call: tuple[int, ...]
    words: Mapping[str, str]
    leave: tuple[tuple[str, str], ...]
    faults: Mapping[str, str] = field(default_factory=dict)

    @property
    def rows(self) -> tuple[tuple[str, str], ...]:
        """The leaves with some empty rows beneath."""
        return (*self.leave, *[("", "")] * SPARE_LEAVES)


def form_of(member: Member) -> DutyForm:
    """The form as a member stands now."""
    whole = (member.from_minute, member.to_minute) == (0, WHOLE_DAY)
    words = {
        "from": "" if whole else _time_field(member.from_minute),
        "to": "" if whole else _time_field(member.to_minute),
        "call_from": _time_field(member.call_from),
        "call_to": _time_field(member.call_to),
        "reach_km": f"{member.reach_km:g}",
        "most_jobs": str(member.most_jobs or ""),
    }
    leave = tuple((first.isoformat(), last.isoformat()) for first, last in member.leave)
    return DutyForm(member.off_duty, member.days, member.on_call, words, leave)


def read_form(form: MultiDict[str, str], member: Member) -> tuple[Member | None, DutyForm]:
    """The member as the form wants him, None if a field is wrong; and the form as it was sent."""
    sent = _sent(form)
    faults: dict[str, str] = {}
    hours = _hours(sent, "from", "to", (0, WHOLE_DAY), faults)
    calls = _hours(sent, "call_from", "call_to", (member.call_from, member.call_to), faults)
    leave = tuple(_leave(sent, faults))
    reach = _number(sent, "reach_km", MOST_REACH_KM, faults)
    most = _number(sent, "most_jobs", MOST_JOBS, faults) if sent.words["most_jobs"] else 0.0
    if not sent.days:
        faults["days"] = "no_days"
    if most != int(most):
        faults["most_jobs"] = "no_number"
    if faults:
        return None, DutyForm(
            sent.off_duty, sent.days, sent.on_call, sent.words, sent.leave, faults
        )
    changed = replace(
        member,
        off_duty=sent.off_duty,
        days=sent.days,
        from_minute=hours[0],
        to_minute=hours[1],
        leave=tuple(sorted(leave)),
        on_call=sent.on_call,
        call_from=calls[0],
        call_to=calls[1],
        reach_km=reach,
        most_jobs=int(most),
    )
    return changed, sent


def _sent(form: MultiDict[str, str]) -> DutyForm:
    def words(name: str) -> str:
        return form.get(name, "").replace("\x00", "").strip()[:LONGEST]

    firsts, lasts = (form.getlist(n)[:MOST_LEAVES] for n in ("leave_first", "leave_last"))
    pairs = zip(firsts, lasts, strict=False)
    leave = tuple((a.strip()[:LONGEST], b.strip()[:LONGEST]) for a, b in pairs)
    names = ("from", "to", "call_from", "call_to", "reach_km", "most_jobs")
    return DutyForm(
        off_duty=form.get("off_duty") == "yes",
        days=_days(form, "days"),
        on_call=_days(form, "on_call"),
        words={name: words(name) for name in names},
        leave=tuple(pair for pair in leave if any(pair)),
    )


def _days(form: MultiDict[str, str], name: str) -> tuple[int, ...]:
    return tuple(sorted({int(day) for day in form.getlist(name) if day in tuple("0123456")}))


def _hours(
    sent: DutyForm, first: str, last: str, empty: tuple[int, int], faults: dict[str, str]
) -> tuple[int, int]:
    """Two times of day as minutes after midnight; `empty` where neither is given."""
    given = sent.words[first], sent.words[last]
    if not any(given):
        return empty
    try:
        start, end = (_minute(words) for words in given)
    except ValueError:
        faults[first] = "no_time"
        return empty
    return start, end


def _minute(words: str) -> int:
    at = time.fromisoformat(words)
    return at.hour * 60 + at.minute


def _leave(sent: DutyForm, faults: dict[str, str]) -> Iterator[tuple[date, date]]:
    for number, (first, last) in enumerate(sent.leave):
        try:
            span = date.fromisoformat(first), date.fromisoformat(last or first)
        except ValueError:
            faults[f"leave-{number}"] = "no_day"
            continue
        if span[1] < span[0]:
            faults[f"leave-{number}"] = "ends_first"
        yield span


def _number(sent: DutyForm, name: str, most: float, faults: dict[str, str]) -> float:
    try:
        value = float(sent.words[name])
    except ValueError:
        value = -1.0
    if not 0 <= value <= most:  # A comparison with "not a number" is False.
        faults[name] = "no_number"
        return 0.0
    return value


def _time_field(minute: int) -> str:
    """As a field for times wants it: it knows no 24:00, and a shift till 00:00 ends there too."""
    return clock_words(minute % WHOLE_DAY)
