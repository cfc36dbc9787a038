"""Days known by a name: against dateutil's Easter, and in hunters' words."""

from __future__ import annotations

from datetime import date, datetime
from zoneinfo import ZoneInfo

import pytest
from dateutil.easter import easter as dateutils_easter
from when_frame import outcome, read, scene

from bot.reading.calendar_words import CalendarError, load_calendar
from bot.reading.feasts import easter
from bot.shipped import shipped

WEDNESDAY = datetime(2026, 11, 25, 14, 0, tzinfo=ZoneInfo("Pacific/Auckland"))


def test_easter_is_the_reference_librarys() -> None:
    for year in range(1583, 2500):
        assert easter(year) == dateutils_easter(year)


# The earliest and the latest Easter, and others, in the tables of the US Naval Observatory
# (from memory): 22 March 1818, 25 April 1943 and 2038.
@pytest.mark.parametrize(
    "day", [date(1818, 3, 22), date(1943, 4, 25), date(2038, 4, 25), date(2024, 3, 31)]
)
def test_easter_is_the_published_day(day: date) -> None:
    assert easter(day.year) == day


# Own rows; 2026's Easter Sunday is 5 April (dateutil). Said on Wednesday 25 November 2026.
@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("shot it Christmas Day", "2025-12-25"),
        ("shot it on Boxing Day morning", "2025-12-26"),
        ("got him New Year's Eve", "2025-12-31"),
        ("got him new years day", "2026-01-01"),
        ("Christmas Day 2024", "2024-12-25"),
        ("xmas eve last year", "2025-12-24"),
        ("Anzac Day", "2026-04-25"),
        ("shot on halloween", "2026-10-31"),
        ("Good Friday", "2026-04-03"),
        ("Easter Sunday", "2026-04-05"),
        ("shot it easter monday", "2026-04-06"),
        ("Easter Saturday 2025", "2025-04-19"),
        ("the day after Boxing Day", "2025-12-27"),
        ("3 days before christmas", "2025-12-22"),
        ("the Saturday before Christmas", "2025-12-20"),
        ("the Saturday after Easter", "2026-04-11"),
        ("Monday, Easter Monday", "2026-04-06"),
        ("cazado en Nochebuena", "2025-12-24"),
        ("jabalí abatido el viernes santo", "2026-04-03"),
        ("tué le lundi de Pâques", "2026-04-06"),
        ("tiré la veille de Noël", "2025-12-24"),
        ("tué le jour de l'an", "2026-01-01"),
        ("shot over Christmas", "run"),
        ("shot at Easter", "run"),
        ("Saturday, on Boxing Day", "parts_disagree"),
        ("next Christmas Day", "in_the_future"),
    ],
)
def test_a_named_day_is_the_latest_one(text: str, day: str) -> None:
    assert outcome(text, scene(WEDNESDAY)) == day


@pytest.mark.parametrize(
    "text",
    [
        "merry christmas to you all", "happy new year mate", "Noel shot a boar", "Noel",
        "Labour Day", "Queen's Birthday", "shot it on the long weekend", "feliz navidad a todos",
    ],
)  # fmt: skip
def test_a_greeting_or_a_day_of_many_dates_is_none(text: str) -> None:
    found, _ = read(text, scene(WEDNESDAY))
    assert found is None


@pytest.mark.parametrize("rule", ["12-32", "easter monday", "xmas", "02-30"])
def test_a_feast_that_no_calendar_has_is_refused(rule: str) -> None:
    text = (shipped("dialogs") / "when" / "en.toml").read_text("utf-8")
    broken = text.replace('"12-25" =', f'"{rule}" =')
    with pytest.raises(CalendarError, match="feasts"):
        load_calendar({"en.toml": broken})
