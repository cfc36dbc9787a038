"""staff.csv with all its columns: what is read, and which line and field a fault names."""

from __future__ import annotations

from datetime import date

import pytest

from bot.folder.staff import Member, read_roster
from bot.folder.tables import ProgrammeError

COLUMNS = (
    "id,name,role,phone,lat,lon,leave,on_call,on_call_hours,fetches,whole_carcase,channel,most_jobs"
)


def read(rest: str) -> Member:
    row = f"f1,Ada Birch,field,0491 570 156,-36.8,147.1,{rest}"
    (member,) = read_roster(f"{COLUMNS}\n{row}\n", "AU", {"paddock"})
    return member


def test_every_column_is_optional() -> None:
    member = read(",,,,,,")
    assert (member.leave, member.on_call, member.fetches) == ((), (), ())
    assert (member.whole_carcase, member.channel, member.most_jobs) == (False, "", 0)
    assert (member.reach_km, member.days) == (100.0, (0, 1, 2, 3, 4, 5, 6))


def test_every_column_is_read() -> None:
    member = read("2027-02-01; 2026-12-20..2027-01-05,fri-sun,20:00-05:30,pig;Deer,yes,paddock,3")
    assert member.leave == (
        (date(2026, 12, 20), date(2027, 1, 5)),
        (date(2027, 2, 1), date(2027, 2, 1)),
    )
    assert (member.on_call, member.call_from, member.call_to) == ((4, 5, 6), 1200, 330)
    assert (member.fetches, member.whole_carcase) == (("pig", "deer"), True)
    assert (member.channel, member.most_jobs) == ("paddock", 3)


@pytest.mark.parametrize(
    ("rest", "fault"),
    [
        ("next week,,,,,,", "line 2: leave: 'next week' is not like"),
        ("2027-01-05..2026-12-20,,,,,,", "line 2: leave: '2027-01-05..2026-12-20' ends before"),
        (",someday,,,,,", "line 2: on_call: 'someday'"),
        (",fri,late,,,,", "line 2: on_call_hours: 'late'"),
        (",,,,perhaps,,", "line 2: whole_carcase: 'perhaps' is neither"),
        (",,,,,pigeon,", "line 2: channel: no gateway 'pigeon'"),
        (",,,,,,-1", "line 2: most_jobs: -1 is not between"),
        (",,,,,,many", "line 2: most_jobs: 'many' is not a number"),
    ],
)
def test_a_fault_names_its_line_and_field(rest: str, fault: str) -> None:
    with pytest.raises(ProgrammeError) as raised:
        read(rest)
    assert fault in str(raised.value)
