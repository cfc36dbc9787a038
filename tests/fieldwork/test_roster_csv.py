"""The roster as CSV reads back as the same people, and no cell is a formula."""

from __future__ import annotations

import csv
import io
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from bot.fieldwork.roster_csv import COLUMNS, days_words, national, roster_csv
from bot.folder.staff import Member, read_roster

DAYS = st.sets(st.integers(0, 6)).map(lambda days: tuple(sorted(days)))
MINUTES = st.integers(0, 1440)
NAMES = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cc", "Zl", "Zp", "Zs", "Cs"]), min_size=1
).filter(lambda words: words.strip("'") == words)
LEAVE = st.builds(
    lambda day, days: (day, day + timedelta(days=days)),
    st.dates(date(2026, 1, 1), date(2027, 12, 31)),
    st.integers(0, 30),
)
MEMBERS = st.builds(
    Member,
    id=NAMES,
    name=NAMES,
    role=st.sampled_from(["field", "coordinator"]),
    # Numbers that regulators keep for fiction: AU 0491 570 156, GB 07700 900123.
    number=st.sampled_from(["+61491570156", "+447700900123"]),
    lat=st.floats(-90, 90),
    lon=st.floats(-180, 180),
    reach_km=st.floats(0, 2000),
    days=DAYS.filter(bool),
    from_minute=MINUTES,
    to_minute=MINUTES,
    leave=st.lists(LEAVE, max_size=3).map(lambda spans: tuple(sorted(spans))),
    on_call=DAYS,
    fetches=st.lists(st.sampled_from(["pig", "red_deer"]), unique=True).map(tuple),
    whole_carcase=st.booleans(),
    most_jobs=st.integers(0, 999),
    off_duty=st.booleans(),
)


@given(MEMBERS, MINUTES, MINUTES)
def test_the_same_people_come_back(member: Member, call_from: int, call_to: int) -> None:
    if member.on_call:
        member = replace(member, call_from=call_from, call_to=call_to)
    text = roster_csv([member], "AU")
    assert list(read_roster(text, "AU")) == [member]
    (_, row) = csv.reader(io.StringIO(text, newline=""))
    assert len(row) == len(COLUMNS)
    assert not any(cell[:1] in ("=", "@") for cell in row)


@pytest.mark.parametrize("name", ["=1+1", "@SUM(A1)", "+cmd", "-2+3", "|calc"])
def test_a_name_that_a_spreadsheet_would_reckon_is_made_safe(name: str) -> None:
    member = Member("f1", name, "field", "+61491570156", -36.8, 147.1, 90.0)
    text = roster_csv([member], "AU")
    (row,) = csv.DictReader(io.StringIO(text))
    assert row["name"] == f"'{name}"
    assert list(read_roster(text, "AU")) == [member]


@pytest.mark.parametrize(("days", "words"), [
    ((0, 1, 2, 3, 4), "mon-fri"), ((0, 1), "mon tue"), ((4, 5, 6), "fri-sun"),
    ((0, 1, 2, 6), "mon-wed sun"), ((3,), "thu"), ((), ""),
])  # fmt: skip
def test_days_in_words(days: tuple[int, ...], words: str) -> None:
    assert days_words(days) == words


def test_numbers_as_they_are_dialled() -> None:
    assert national("+61491570156", "AU") == "0491 570 156"
    assert national("+447700900123", "AU") == "+44 7700 900123"
