"""The laboratory's tables: safe to open, read line by line, and never taken twice."""

from __future__ import annotations

import csv
import io
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.fieldwork.custody import LabSaid
from bot.fieldwork.laboratory import (
    MANIFEST,
    OUTCOMES,
    RESULTS,
    STATUSES,
    code_of,
    read_results,
    safe_cell,
    table_text,
    weigh,
)
from bot.service.codes import seeded

NOW = datetime(2026, 12, 14, 2, 0, tzinfo=UTC)
ZONE = ZoneInfo("Australia/Melbourne")
ONE, TWO = (seeded(n)() for n in (1, 2))
KNOWN = {ONE: (), f"{ONE}/1": (), TWO: ()}


def read(*lines: str, head: str = "code,status,lab_number,result,date,note"):
    return read_results("\n".join((head, *lines)), "ines", NOW, ZONE)


def faults(*lines: str, **more) -> list[tuple[int, str]]:
    entries, found = read(*lines, **more)
    return [(f.line, f.column) for f in (*found, *weigh(entries, KNOWN)[1])]


def test_a_good_file_is_read_whole() -> None:
    entries, found = read(
        f"{ONE},received,L-7,,2026-12-10,", f"{ONE}/1,Final,L-8,Not testable,,too dry"
    )
    assert found == ()
    first, second = (e.said for e in entries)
    assert (first.status, first.lab_number, first.at) == (
        "received", "L-7", datetime(2026, 12, 10, 1, 0, tzinfo=UTC),
    )  # fmt: skip
    assert (second.code, second.outcome, second.words) == (f"{ONE}/1", "not_testable", "too dry")
    assert second.at == NOW


@pytest.mark.parametrize("sep", [",", ";", "\t"])
def test_cells_may_be_parted_three_ways_and_stand_in_any_order(sep: str) -> None:
    text = sep.join(("result", "code", "ignored", "status")) + "\r\n"
    text += sep.join(("negative", ONE, "x", "final")) + "\r\n"
    entries, found = read_results("\ufeff" + text, "ines", NOW, ZONE)
    assert found == ()
    assert (entries[0].said.code, entries[0].said.outcome) == (ONE, "negative")


@pytest.mark.parametrize(("line", "where"), [
    ("K7R-4T9,received,,,,", (2, "code")),
    (f"{seeded(9)()},received,,,,", (2, "code")),
    (f"{ONE}/7,received,,,,", (2, "code")),
    (f"{ONE},arrived,,,,", (2, "status")),
    (f"{ONE},,,,,", (2, "status")),
    (f"{ONE},final,,,,", (2, "result")),
    (f"{ONE},final,,maybe,,", (2, "result")),
    (f"{ONE},received,,negative,,", (2, "result")),
    (f"{ONE},received,,,14/12/2026,", (2, "date")),
    (f"{ONE},received,,,2026-12-16,", (2, "date")),
    (f"{ONE},amended,,negative,,", (2, "status")),
])  # fmt: skip
def test_a_fault_names_its_line_and_column(line: str, where) -> None:
    assert faults(line) == [where]
    assert faults(f"{TWO},received,,,,", "", line) == [(4, where[1])]


def test_every_fault_of_a_file_is_named_at_once() -> None:
    bad = (f"{ONE},arrived,,,,", "nonsense,received,,,,", f"{TWO},final,,,,")
    assert faults(*bad) == [(2, "status"), (3, "code"), (4, "result")]


@pytest.mark.parametrize(("head", "column"), [
    ("code,result", "status"), ("status", "code"), ("code,status,code", "code"),
])  # fmt: skip
def test_a_head_without_its_columns_is_one_fault(head: str, column: str) -> None:
    assert faults(f"{ONE},final,x", head=head) == [(1, column)]


@pytest.mark.parametrize(("lines", "where"), [
    ([f"{ONE},final,,negative,,", f"{ONE},final,,positive,,"], (3, "status")),
    ([f"{ONE},final,,negative,,", f"{ONE},received,,,,"], (3, "status")),
    ([f"{ONE},final,,negative,,", f"{ONE},amended,,negative,,"], (3, "result")),
    ([f"{ONE},received,L-1,,,", f"{TWO},received,L-1,,,"], (3, "lab_number")),
    ([f"{ONE},received,L-1,,,", f"{ONE},final,L-2,negative,,"], (3, "lab_number")),
])  # fmt: skip
def test_lines_that_contradict_each_other_are_faults(lines, where) -> None:
    assert faults(*lines) == [where]


def test_a_result_may_be_amended_and_amended_again() -> None:
    said = [f"{ONE},final,,negative,,", f"{ONE},amended,,positive,,", f"{ONE},amended,,negative,,"]
    assert faults(*said) == []


THERE_AND_BACK = [
    f"{ONE},final,,positive,2026-12-01,", f"{ONE},amended,,negative,2026-12-02,",
    f"{ONE},amended,,positive,2026-12-03,",
]  # fmt: skip


def test_an_amendment_back_is_told_from_a_repeat_by_its_day() -> None:
    entries, _ = read(*THERE_AND_BACK)
    history = {ONE: tuple(e.said for e in entries)}
    assert {w.news for w in weigh(entries, history)[0]} == {"same"}
    (back,), _ = read(f"{ONE},amended,,negative,2026-12-04,")
    assert [w.news for w in weigh([back], history)[0]] == ["new"]
    (undated,), _ = read(f"{ONE},amended,,negative,,")
    assert [(f.line, f.column) for f in weigh([undated], history)[1]] == [(2, "date")]


STATUS = st.sampled_from(STATUSES)
LINES = st.lists(
    st.tuples(st.sampled_from([ONE, f"{ONE}/1", TWO]), STATUS, st.sampled_from(["", "L-1", "L-2"]),
              st.sampled_from(["", *OUTCOMES])).map(",".join),
    max_size=8,
)  # fmt: skip


@given(LINES)
def test_a_file_brought_in_twice_changes_nothing_the_second_time(lines) -> None:
    entries, found = read(*lines, head="code,status,lab_number,result")
    first, wrong = weigh(entries, KNOWN)
    if found or wrong:
        return
    history = dict(KNOWN)
    for each in first:
        if each.news == "new":
            history[each.entry.said.code] = (*history[each.entry.said.code], each.entry.said)
    amended = {e.said.outcome for e in entries if e.said.status == "amended"}
    if len(amended) > 1:
        return  # There and back takes days, and has a test of its own.
    day = timedelta(days=1)
    later = [type(e)(e.line, LabSaid(NOW + day, "bo", *_rest(e.said)), False) for e in entries]
    again, wrong = weigh(later, history)
    assert wrong == ()
    assert {each.news for each in again} <= {"same"}


def _rest(said: LabSaid):
    return said.code, said.status, said.lab_number, said.outcome, said.words


@given(st.text(max_size=400))
def test_any_file_at_all_is_read_or_refused_and_never_breaks(text: str) -> None:
    entries, found = read_results(text, "ines", NOW, ZONE)
    assert found or all(e.said.code for e in entries)


@pytest.mark.parametrize(("cell", "safe"), [
    ("=1+1", "'=1+1"), ("+61 4", "'+61 4"), ("-2+3", "'-2+3"), ("@SUM(A1)", "'@SUM(A1)"),
    ("\t=1", "'\t=1"), ("\r=1", "'\r=1"), (" =1", "' =1"), ("＝1+1", "'＝1+1"), ("|calc", "'|calc"),
    ("-36.87000", "-36.87000"), ("+4", "+4"), ("boar", "boar"), ("", ""), ("K7R-4TR", "K7R-4TR"),
])  # fmt: skip
def test_no_cell_is_taken_for_a_formula(cell: str, safe: str) -> None:
    """Which beginnings a spreadsheet takes for a formula: OWASP's page on CSV injection
    (= + - @ tab, carriage return, and the full-width forms)."""
    assert safe_cell(cell) == safe


CELL = st.text(
    alphabet=st.characters(exclude_characters="\x00", exclude_categories=["Cs"]), max_size=30
)


@given(st.lists(CELL, min_size=1, max_size=4))
def test_a_table_reads_back_as_it_was_written(cells) -> None:
    text = table_text(["a"] * len(cells), [cells])
    (_, row) = list(csv.reader(io.StringIO(text, newline="")))
    assert row == [safe_cell(cell) for cell in cells]
    assert not any(cell.lstrip()[:1] in ("=", "@") for cell in row if cell)


@pytest.mark.parametrize("form", ["{}", "{}/2", " {} / 2"])
def test_a_code_is_known_however_it_is_written(form: str) -> None:
    for code in (ONE, ONE.lower(), ONE.replace("-", "")):
        read_back = code_of(form.format(code))
        assert read_back == ONE + ("/2" if "/" in form else "")


@pytest.mark.parametrize("bad", ["", "K7R", f"{ONE}/0", f"{ONE}/12", f"{ONE}/x", "=1+1"])
def test_what_is_no_code_is_refused(bad: str) -> None:
    assert code_of(bad) == ""


def test_every_column_is_documented() -> None:
    assert all(MANIFEST.values())
    assert all(RESULTS.values())
