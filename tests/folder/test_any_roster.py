"""Whatever stands in a roster's file: people whose values are possible, or a fault that names
the file. Nothing else is ever raised."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from bot.folder.staff import Member, read_roster
from bot.folder.tables import ProgrammeError

COLUMNS = (
    *("id", "name", "role", "phone", "lat", "lon", "reach_km", "days", "hours", "leave"),
    *("on_call", "on_call_hours", "fetches", "whole_carcase", "channel", "most_jobs", "off_duty"),
)
GOOD = ("f1", "Nell", "field", "0491 570 156", "-36.8", "147.1", "80", "mon-fri", "07:00-18:00")
ODD = st.one_of(
    st.sampled_from(
        ("", "nan", "inf", "-1", "1e999", "25:00-99:99", "mon-", "fri-mon", "yes", "²", "\x00",
         "2026-02-30..2026-01-01", "=1+1", "field", "+", "9" * 400, "\u202e1")
    ),
    st.text(max_size=12),
)  # fmt: skip


def read(text: str) -> tuple[Member, ...]:
    try:
        return tuple(read_roster(text, "AU", ("paddock",)))
    except ProgrammeError as caught:
        fault = str(caught)
    assert "staff.csv" in fault
    return ()


@given(st.dictionaries(st.sampled_from(COLUMNS), ODD, max_size=5))
def test_any_cell_is_read_or_named(changes):
    row = dict(zip(COLUMNS, GOOD, strict=False)) | changes
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS, restval="")
    writer.writeheader()
    writer.writerow(row)
    for member in read(out.getvalue()):
        assert -90 <= member.lat <= 90
        assert -180 <= member.lon <= 180
        assert 0 <= member.reach_km <= 2000
        assert 0 <= member.from_minute <= 1440
        assert 0 <= member.to_minute <= 1440
        assert member.number[0] == "+"


@pytest.mark.parametrize("before", ["", "id,name,role,phone,lat,lon\n"])
def test_a_cell_without_end_is_named(before):
    """Python's csv module takes 131,072 characters in a cell."""
    with pytest.raises(ProgrammeError, match=r"staff\.csv: line \d"):
        list(read_roster(before + "x" * 200_000, "AU"))


@given(st.text(max_size=300))
@example('id,name,role,phone,lat,lon\n"')
@example("id,id,id\n1,2,3,4,5,6,7")
def test_any_text_is_read_or_named(text):
    read(text)


def test_the_row_from_which_they_are_made_is_good():
    text = ",".join(COLUMNS) + "\n" + ",".join(GOOD) + "\n"
    assert [m.name for m in read(text)] == ["Nell"]
