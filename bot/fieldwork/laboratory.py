"""PURE. What goes to the laboratory as a table, and what comes back from it.

A file of results is read whole before anything is kept: every fault names its line and column.
A line that says what is known already changes nothing.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import UTC, datetime, time
from typing import Literal, cast, get_args
from zoneinfo import ZoneInfo

from msgspec import Struct

from bot.fieldwork.custody import LabSaid, Outcome, Status
from bot.fieldwork.specimens import root_of
from bot.folder.cells import safe_cell
from bot.reading.codes import is_code

MANIFEST = {
    "code": "our code for the container; the part behind the stroke is its number",
    "part": "head, jaw, nodes or tissue",
    "species": "what the hunter called it, in words",
    "killed": "when it died: a day, or a span in local time",
    "place": "where it died, in words",
    "lat": "degrees north, WGS84; empty where not known",
    "lon": "degrees east, WGS84; empty where not known",
    "seen": "what the hunter saw",
    "state": "warm, bagged, chilled, frozen or fixed, as last told",
    "cold_since": "chilled or frozen since, in local time",
    "collected_by": "who took it from the hunter",
    "holder": "who has it now",
    "either_of": "the finds it may belong to, where it bore no label",
}
"""The columns of a manifest, in order, and what stands in each."""

RESULTS = {
    "code": "our code, as on the label; needed",
    "status": "received, missing, rejected, provisional, final or amended; needed",
    "lab_number": "the laboratory's own number for it",
    "result": "positive, negative or not_testable; needed with provisional, final and amended",
    "date": "the day it was said, like 2026-12-14; empty is today",
    "note": "anything else",
}
"""The columns of a file of results. Their order is free; others are left alone."""

NEEDED = ("code", "status")
STATUSES = tuple(s for s in get_args(Status) if s)
OUTCOMES = tuple(o for o in get_args(Outcome) if o)
WITH_RESULT = ("provisional", "final", "amended")
FINAL = ("final", "amended")
MOST_ROWS = 2000
LONGEST_CELL = 200


class Entry(Struct, frozen=True):
    """One line of a file, read: its number in the file, and what it says."""

    line: int
    said: LabSaid
    dated: bool = True


class Fault(Struct, frozen=True):
    """Why a line cannot be taken: where, and what is wrong with it."""

    line: int
    column: str
    what: str


class Weighed(Struct, frozen=True):
    """One line beside what is known: new, or the same as was said before."""

    entry: Entry
    news: Literal["new", "same"]


# ------------------------------------------------------------------------------------ writing


def table_text(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Rows as CSV text with a head, every cell made safe."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(head)
    writer.writerows([safe_cell(cell) for cell in row] for row in rows)
    return out.getvalue()


# ------------------------------------------------------------------------------------ reading


def read_results(
    text: str, by: str, now: datetime, zone: ZoneInfo
) -> tuple[tuple[Entry, ...], tuple[Fault, ...]]:
    """Every line of a file of results, and everything that is wrong with it by itself.

    Commas, semicolons or tabs between the cells, a byte order mark or none.
    """
    table = csv.reader(io.StringIO(text.removeprefix("\ufeff").replace("\x00", "")), _dialect(text))
    try:
        rows = [(table.line_num, cells) for cells in table]
    except csv.Error as fault:
        return (), (Fault(table.line_num, "", f"no table: {fault}"),)
    if not rows:
        return (), (Fault(1, "", "the file is empty"),)
    names = [cell.strip().lower() for cell in rows[0][1]]
    faults = list(_head_faults(names, len(rows) - 1))
    if faults:
        return (), tuple(faults)
    entries: list[Entry] = []
    for line, cells in rows[1:]:
        values = {n: _plain(c) for n, c in zip(names, cells, strict=False)}
        if any(values.values()):
            wrong = list(_row_faults(line, values, now, zone))
            faults += wrong
            entries += [] if wrong else [_entry(line, values, by, now, zone)]
    return tuple(entries), tuple(faults)


def _dialect(text: str) -> type[csv.Dialect]:
    first = text.partition("\n")[0]

    class Found(csv.excel):
        delimiter = max(",;\t", key=first.count)

    return Found


def _head_faults(names: list[str], count: int) -> Iterator[Fault]:
    for column in NEEDED:
        if column not in names:
            yield Fault(1, column, "this column is missing")
    for column in RESULTS:
        if names.count(column) > 1:
            yield Fault(1, column, "this column stands twice")
    if count > MOST_ROWS:
        yield Fault(MOST_ROWS + 2, "", f"more than {MOST_ROWS} lines")


def _plain(cell: str) -> str:
    return cell.strip().removeprefix("'")[:LONGEST_CELL]


def code_of(written: str) -> str:
    """A specimen's code as we write it ("k7r4tr / 2" -> "K7R-4TR/2"), "" if it is none."""
    root, stroke, number = written.upper().replace(" ", "").partition("/")
    plain = root.replace("-", "")
    if not is_code(plain) or (stroke and number not in tuple("123456789")):
        return ""
    return f"{plain[:3]}-{plain[3:]}{stroke}{number}"


def _row_faults(
    line: int, values: Mapping[str, str], now: datetime, zone: ZoneInfo
) -> Iterator[Fault]:
    if not code_of(values["code"]):
        yield Fault(line, "code", f"{values['code']!r} is none of our codes: look for a slip")
    status, result = values["status"].lower(), _outcome(values)
    if status not in STATUSES:
        yield Fault(line, "status", f"{values['status']!r} is none of {', '.join(STATUSES)}")
    elif status in WITH_RESULT and result not in OUTCOMES:
        yield Fault(
            line, "result", f"{values.get('result', '')!r} is none of {', '.join(OUTCOMES)}"
        )
    elif status not in WITH_RESULT and result:
        yield Fault(line, "result", f"a specimen that is {status} has no result")
    day = _day(values, now, zone)
    if day is None:
        yield Fault(line, "date", f"{values['date']!r} is no day like 2026-12-14")
    elif day > now:
        yield Fault(line, "date", f"{values['date']} is still to come")


def _outcome(values: Mapping[str, str]) -> str:
    return values.get("result", "").lower().replace(" ", "_").replace("-", "_")


def _day(values: Mapping[str, str], now: datetime, zone: ZoneInfo) -> datetime | None:
    """The day that a line names: now for today, the noon of any other."""
    written = values.get("date", "")
    if not written or written == f"{now.astimezone(zone):%Y-%m-%d}":
        return now
    try:
        day = datetime.strptime(written, "%Y-%m-%d").date()
    except ValueError:
        return None
    return datetime.combine(day, time(12), zone).astimezone(UTC)


def _entry(line: int, values: Mapping[str, str], by: str, now: datetime, zone: ZoneInfo) -> Entry:
    said = LabSaid(
        at=_day(values, now, zone) or now,
        by=by,
        code=code_of(values["code"]),
        status=cast(Status, values["status"].lower()),
        lab_number=values.get("lab_number", ""),
        outcome=cast(Outcome, _outcome(values)),
        words=values.get("note", ""),
    )
    return Entry(line, said, dated=bool(values.get("date")))


# ------------------------------------------------------------------------ beside what is known


def weigh(
    entries: Iterable[Entry], history: Mapping[str, tuple[LabSaid, ...]]
) -> tuple[tuple[Weighed, ...], tuple[Fault, ...]]:
    """The lines beside what the laboratory has said so far; `history` has every specimen's code."""
    known = dict(history)
    owners = {said.lab_number: code for code, all_ in known.items() for said in all_}
    weighed: list[Weighed] = []
    faults: list[Fault] = []
    for entry in entries:
        said = entry.said
        before = known.get(said.code)
        wrong = list(_against(entry, before, owners))
        faults += wrong
        if wrong or before is None:
            continue
        same = repeats(said, before)
        weighed.append(Weighed(entry, "same" if same else "new"))
        if not same:
            known[said.code] = (*before, said)
            owners[said.lab_number] = said.code
    return tuple(weighed), tuple(faults)


def _same(said: LabSaid, old: LabSaid) -> bool:
    """Whether it was said before. When and by whom does not make it another thing."""
    number = said.lab_number in ("", old.lab_number)
    return number and (said.status, said.outcome) == (old.status, old.outcome)


def repeats(said: LabSaid, before: tuple[LabSaid, ...]) -> bool:
    """Whether a line is one that was taken before. An amendment back to what was said once is
    told from a repeat by its day."""
    matches = [old for old in before if _same(said, old)]
    final = _final(before)
    if said.status != "amended" or final is None or final.outcome == said.outcome:
        return bool(matches)
    return any(old.at.date() == said.at.date() for old in matches)


def _final(before: tuple[LabSaid, ...]) -> LabSaid | None:
    return next((old for old in reversed(before) if old.status in FINAL), None)


def _against(
    entry: Entry, before: tuple[LabSaid, ...] | None, owners: Mapping[str, str]
) -> Iterator[Fault]:
    """Why a line cannot follow what was said before."""
    said, line = entry.said, entry.line
    if before is None:
        yield Fault(line, "code", f"there is no specimen {said.code}")
        return
    owner = owners.get(said.lab_number, said.code) if said.lab_number else said.code
    if owner != said.code:
        yield Fault(line, "lab_number", f"{said.lab_number} is the number of {owner} already")
    own = next((old.lab_number for old in reversed(before) if old.lab_number), "")
    if said.lab_number and own and said.lab_number != own:
        yield Fault(line, "lab_number", f"{root_of(said.code)} has the number {own} already")
    if repeats(said, before):
        return
    final = _final(before)
    if not entry.dated and any(_same(said, old) for old in before):
        yield Fault(line, "date", "said before, and changed since: give the day of this one")
        return
    if said.status == "amended" and final is None:
        yield Fault(line, "status", "amended, though no final result was told before")
    elif said.status != "amended" and final is not None:
        yield Fault(line, "status", f"{final.outcome} is final already: a change is 'amended'")
    elif final is not None and said.outcome == final.outcome:
        yield Fault(line, "result", f"amended to what it is already: {final.outcome}")
