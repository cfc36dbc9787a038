"""Ways of saying a day that were once read wrong or not at all, a class at a time.

Own rows, said on Wednesday 25 November 2026 at 14:00; what a day or a range means is common
usage of English, Spanish and French, no published source.
"""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest
from when_frame import CARRIERS, outcome, read, scene

ZONE = ZoneInfo("Pacific/Auckland")
WEDNESDAY = datetime(2026, 11, 25, 14, 0, tzinfo=ZONE)


@pytest.mark.parametrize(
    ("language", "text", "day"),
    [
        # Counted back in two pieces, or from another day.
        ("en", "a week and 2 days ago", "2026-11-16"),
        ("en", "1 day 2 hours ago", "2026-11-24"),
        ("en", "this day last week", "2026-11-18"),
        ("en", "this time yesterday", "2026-11-24"),
        ("en", "today week ago", "2026-11-18"),
        ("en", "a week yesterday", "2026-11-17"),
        ("en", "2 weeks last saturday", "2026-11-07"),
        ("en", "the evening before last", "2026-11-23"),
        ("en", "3 sleeps ago", "2026-11-22"),
        ("en", "two mornings ago", "2026-11-23"),
        # What the day leaves unsaid, the words beside it say.
        ("en", "last month on the 9th", "2026-10-09"),
        ("en", "last year on 3 March", "2025-03-03"),
        ("en", "last week on the 18th", "2026-11-18"),
        ("en", "the first of the month", "2026-11-01"),
        ("en", "the second to last day of october", "2026-10-30"),
        ("es", "el pasado día 20", "2026-11-20"),
        # Slips of the thumb, and words with a figure in them.
        ("en", "Wednsday", "weekday_today"),
        ("en", "Saturrday", "2026-11-21"),
        ("en", "sepember 3", "2026-09-03"),
        ("en", "Satdee arvo", "2026-11-21"),
        ("fr", "vendrdi", "2026-11-20"),
        ("es", "3 de septiembe", "2026-09-03"),
        ("en", "2day", "2026-11-25"),
        ("en", "1st light saturday", "2026-11-21"),
        # Figures.
        ("en", "21 / 11 / 2026", "2026-11-21"),
        ("en", "21/11/'26", "2026-11-21"),
        ("fr", "le vingt-et-un novembre", "2026-11-21"),
        # Several days, or nobody says which.
        ("en", "2 to 3 days ago", "run"),
        ("en", "less than 3 days ago", "run"),
        ("en", "over a week ago", "run"),
        ("es", "hace unos días", "run"),
        ("es", "hace días", "run"),
        ("fr", "il y a 2 à 3 jours", "run"),
        ("en", "from 20 to 22 nov", "two_days"),
        ("en", "nov 20 to 22", "two_days"),
        ("es", "del 20 al 22 de noviembre", "two_days"),
        ("fr", "du 20 au 22 novembre", "two_days"),
        ("en", "the 21st or 22nd", "two_days"),
        ("en", "the saturday before.", "two_readings"),
        ("fr", "vendredi d'avant", "two_readings"),
        ("en", "2 weeks saturday", "two_readings"),
        ("en", "yesterday week", "two_readings"),
        ("en", "12/13 november", "two_days"),
        # The day of a part of the day, and slips in words of days.
        ("fr", "le matin du 16", "2026-11-16"),
        ("es", "la mañana del día 16", "2026-11-16"),
        ("es", "hace justo una semana", "2026-11-18"),
        ("en", "yesteday", "2026-11-24"),
    ],
)
def test_a_class_of_days(language: str, text: str, day: str) -> None:
    for carrier in CARRIERS[language]:
        assert outcome(carrier.format(text), scene(WEDNESDAY)) == day, carrier


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("not yesterday", ""),
        ("not yesterday, saturday", "2026-11-21"),
        ("no yesterday", "2026-11-24"),
        ("shot 2 on 12 nov", "2026-11-12"),
        ("ear tag 12/11", ""),
        ("tag 12/11, shot it saturday", "2026-11-21"),
        ("lot 5/12", ""),
        ("4/5 of the lungs full", ""),
        ("5/11 of last year", "2025-11-05"),
        ("taken in am", ""),
        ("never on a friday", ""),
        ("2 day old piglet", ""),
        ("got him the 21st mate", "2026-11-21"),
        # How the head is kept is no act of the day before it.
        ("boar yest 6pm head in freezer", "2026-11-24"),
        ("boar yest 6pm head bagged in esky", "2026-11-24"),
        ("jabali ayer 6pm cabeza en congelador", "2026-11-24"),
        ("shot it, will be back on sunday", ""),
        ("boar shot saturday, back by friday", "2026-11-21"),
        ("head frozen yesterday", "other_day"),
        # A place that was read parts no verb from its day.
        ("bagged the head at -36.87, 147.15 yesterday", "other_day"),
        ("boar, froze it yesterday", "other_day"),
    ],
)
def test_what_stands_beside_a_day_decides(text: str, day: str) -> None:
    assert outcome(text, scene(WEDNESDAY)) == day


@pytest.mark.parametrize(
    ("text", "start", "end"),
    [
        ("shot it yesterday between 3 and 5 pm", "15:00", "17:00"),
        ("shot it 7am till 9am yesterday", "07:00", "09:00"),
        ("yesterday from 6 to 8 pm", "18:00", "20:00"),
        ("yesterday 3-5pm", "15:00", "17:00"),
        ("this morning between 6 and 9", "06:00", "09:00"),
        ("last night between 10 and 2", "22:00", "02:00"),
        ("ayer entre las 3 y las 5 de la tarde", "15:00", "17:00"),
        ("ayer de 6 a 8 de la tarde", "18:00", "20:00"),
        ("hier de 15h à 17h", "15:00", "17:00"),
        ("half five this morning", "05:30", "05:31"),
        ("yesterday at half nine in the morning", "09:30", "09:31"),
        ("ten to eight this morning", "07:50", "07:51"),
    ],
)
def test_a_time_from_one_to_the_other(text: str, start: str, end: str) -> None:
    found, _ = read(text, scene(WEDNESDAY))
    assert found is not None
    span = found.value.earliest, found.value.latest
    assert tuple(t.strftime("%H:%M") for t in span) == (start, end)


# IANA time zone database: in New Zealand the clocks went from 3 back to 2 on 5 April 2026.
def test_a_time_that_comes_twice_is_either() -> None:
    found, _ = read("shot it today at 2:30 am", scene(datetime(2026, 4, 5, 9, 0, tzinfo=ZONE)))
    assert found is not None
    assert found.value.earliest.utcoffset() != found.value.latest.utcoffset()
    assert (found.value.latest.timestamp() - found.value.earliest.timestamp()) / 60 == 61
