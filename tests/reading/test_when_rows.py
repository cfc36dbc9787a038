"""Days in rows of eleven more libraries' own tests, and what must stay unread or be asked.

Facts only, each with its source: the text, the moment it was said, the day that it means. Where
a library looks ahead and the row's day was to come, the moment was moved past it. Licences:
Recognizers-Text, Chronic, natty, timefhuman, Sugar, go-naturaldate, ctparse MIT; parsedatetime,
when and dateutil Apache 2.0 or BSD.
"""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from when_frame import CARRIERS, outcome, read, scene

WEDNESDAY = datetime(2026, 11, 25, 14, 0, tzinfo=ZoneInfo("Australia/Melbourne"))
MONDAY = datetime(2016, 11, 7, 10, 0, tzinfo=UTC)

# source, language, order, text, moment, day
ROWS: list[tuple[str, str, str, str, str, str]] = [
    ("Recognizers", "en", "MDY", "Oct/2", "2016-11-07T10", "2016-10-02"),
    ("Recognizers", "en", "MDY", "08/12,2015", "2016-11-07T10", "2015-08-12"),
    ("Recognizers", "en", "MDY", "08/12,15", "2016-11-07T10", "2015-08-12"),
    ("Recognizers", "en", "MDY", "twenty second of June", "2016-11-07T10", "2016-06-22"),
    ("Recognizers", "en", "MDY", "last week Sunday", "2016-11-07T10", "2016-11-06"),
    ("Recognizers", "en", "MDY", "the first friday of july", "2016-11-07T10", "2016-07-01"),
    ("Recognizers", "en", "MDY", "the first friday in this month", "2016-11-07T10", "2016-11-04"),
    ("Recognizers", "en", "MDY", "9-18-15", "2016-11-07T10", "2015-09-18"),
    ("Recognizers", "en", "MDY", "October 14 for 8:00:31am", "2016-11-07T10", "2016-10-14"),
    ("Recognizers", "en", "MDY", "8pm in the evening, 1st Jan", "2016-11-07T10", "2016-01-01"),
    ("Recognizers", "en", "MDY", "Thursday the twenty first", "2017-09-27T17", "2017-09-21"),
    ("Recognizers", "en", "MDY", "Friday the fifteen", "2017-09-27T17", "2017-09-15"),
    ("Recognizers", "en", "MDY", "16. Nov. 2016", "2016-12-26T12", "2016-11-16"),
    ("Chronic", "en", "MDY", "5pm on may 27th", "2006-08-16T14", "2006-05-27"),
    ("Chronic", "en", "MDY", "27/5/1979 @ 0700", "2006-08-16T14", "1979-05-27"),
    ("Chronic", "en", "MDY", "friday 11 at night", "2006-08-16T14", "2006-08-11"),
    ("Chronic", "en", "MDY", "satterday", "2006-08-16T14", "2006-08-12"),
    ("Chronic", "en", "MDY", "tuesday last week", "2006-08-16T14", "2006-08-08"),
    ("Chronic", "en", "MDY", "20 seconds before now", "2006-08-16T14", "2006-08-16"),
    ("Chronic", "en", "MDY", "8/16/2006 at 12:15a", "2006-08-16T14", "2006-08-16"),
    ("Chronic", "en", "MDY", "Mon Apr 02 17:00:00 PDT 2007", "2007-05-12T12", "2007-04-02"),
    ("Chronic", "en", "MDY", "Jan 1,2010", "2010-02-10T12", "2010-01-01"),
    ("Chronic", "en", "MDY", "5th tuesday in january", "2007-03-11T12", "2007-01-30"),
    ("Chronic", "en", "MDY", "3rd thursday this september", "2006-10-31T12", "2006-09-21"),
    ("natty", "en", "MDY", "1st oct in the year '89", "2011-02-28T12", "1989-10-01"),
    ("natty", "en", "MDY", "thirty first of december '80", "2011-02-28T12", "1980-12-31"),
    ("natty", "en", "MDY", "six mondays ago", "2011-02-28T12", "2011-01-17"),
    ("natty", "en", "MDY", "this past mon", "2011-02-28T12", "2011-02-21"),
    ("natty", "en", "MDY", "sun, nov 21 2010", "2011-02-28T12", "2010-11-21"),
    ("natty", "en", "MDY", "final thursday in april", "2011-06-07T12", "2011-04-28"),
    ("natty", "en", "MDY", "last day of 2009", "2010-02-09T12", "2009-12-31"),
    ("parsedatetime", "en", "MDY", "a week before now", "2026-11-25T14", "2026-11-18"),
    ("parsedatetime", "en", "MDY", "five min before now", "2026-11-25T14", "2026-11-25"),
    ("parsedatetime", "en", "MDY", "5pm on 08.25.2006", "2026-11-25T14", "2006-08-25"),
    ("parsedatetime", "en", "MDY", "25th Aug 2006, 5pm", "2026-11-25T14", "2006-08-25"),
    ("timefhuman", "en", "MDY", "7-17-18", "2018-08-04T14", "2018-07-17"),
    ("timefhuman", "en", "MDY", "yesterday 3p", "2018-08-04T14", "2018-08-03"),
    ("timefhuman", "en", "MDY", "Sunday 7/7/2019", "2019-08-16T12", "2019-07-07"),
    ("timefhuman", "en", "MDY", "third Wednesday of December", "2019-01-28T12", "2018-12-19"),
    ("olebedev/when", "en", "DMY", "we did something 10 days ago.", "2026-11-25T14", "2026-11-15"),
    ("olebedev/when", "en", "DMY", "october tenth", "2026-11-25T14", "2026-10-10"),
    ("olebedev/when", "en", "DMY", "third of march", "2026-11-25T14", "2026-03-03"),
    ("go-naturaldate", "en", "DMY", "last hour", "2022-09-29T08", "2022-09-29"),
    ("go-naturaldate", "en", "DMY", "2 weeks ago at 8am", "2022-09-29T08", "2022-09-15"),
    ("Sugar", "en", "MDY", "Monday of last week", "2026-11-25T14", "2026-11-16"),
    ("Sugar", "en", "MDY", "Two days before today", "2026-11-25T14", "2026-11-23"),
    ("Sugar", "en", "MDY", "the 15th of last month", "2026-11-25T14", "2026-10-15"),
    ("Sugar", "en", "MDY", "the 1st Friday of last month", "2026-11-25T14", "2026-10-02"),
    ("Sugar", "en", "MDY", "January 30th of last year", "2026-11-25T14", "2025-01-30"),
    ("Sugar", "en", "MDY", "the last day of March, 2012", "2026-11-25T14", "2012-03-31"),
    ("Sugar", "en", "MDY", "the first day of 1998", "2026-11-25T14", "1998-01-01"),
    ("Sugar", "en", "MDY", "the 3rd Tuesday of November, 2012", "2026-11-25T14", "2012-11-20"),
    ("Sugar", "en", "MDY", "Mon., Jan., 16th, 2012", "2026-11-25T14", "2012-01-16"),
    ("Sugar", "en", "MDY", "6:30pm 2 days ago", "2026-11-25T14", "2026-11-23"),
    ("Sugar", "en", "MDY", "08-25-1978 12:42:32.488pm", "2026-11-25T14", "1978-08-25"),
    ("ctparse", "en", "DMY", "25.01.2017 late", "2018-03-07T12", "2017-01-25"),
    ("ctparse", "en", "DMY", "december 6th morning", "2018-03-07T12", "2017-12-06"),
    ("ctparse", "en", "DMY", "Wed. 28 Feb", "2018-03-07T12", "2018-02-28"),
    ("dateutil", "en", "MDY", "Wed, July 10, '96", "1996-08-19T12", "1996-07-10"),
    ("dateutil", "en", "MDY", "25 SEP 2003", "2003-11-04T12", "2003-09-25"),
    ("dateutil", "en", "MDY", "20030925T104941", "2003-11-04T12", "2003-09-25"),
    ("dateutil", "en", "MDY", "12h 01m02s am July 4, 1976", "1976-08-13T12", "1976-07-04"),
    ("dateutil", "en", "MDY", "Sep.25.2003", "2003-11-04T12", "2003-09-25"),
    ("dateutil", "en", "MDY", "1996.July.10 AD 12:08 PM", "1996-08-19T12", "1996-07-10"),
    ("Recognizers", "es", "DMY", "el 2-Oct", "2016-11-07T10", "2016-10-02"),
    ("Recognizers", "es", "DMY", "vigesimo segundo de Junio", "2016-11-07T10", "2016-06-22"),
    ("Recognizers", "es", "DMY", "domingo de la última semana", "2016-11-07T10", "2016-11-06"),
    ("Recognizers", "es", "DMY", "el dia antes de ayer", "2016-11-07T10", "2016-11-05"),
    ("Recognizers", "es", "DMY", "8pm del 15", "2016-11-07T10", "2016-10-15"),
    ("Recognizers", "es", "DMY", "anoche a las 7", "2016-11-07T10", "2016-11-06"),
    ("Sugar", "es", "DMY", "02 de feb. de 2016", "2026-11-25T14", "2016-02-02"),
    ("Sugar", "es", "DMY", "hace 1 segundo", "2026-11-25T14", "2026-11-25"),
    ("Sugar", "es", "DMY", "viernes pasado 3:45", "2026-11-25T14", "2026-11-20"),
    ("Sugar", "es", "DMY", "MAR 5 ENE 2010 15:52", "2026-11-25T14", "2010-01-05"),
    ("Recognizers", "fr", "DMY", "12/08,15", "2016-11-07T10", "2015-08-12"),
    ("Recognizers", "fr", "DMY", "Mai vingt et un", "2016-11-07T10", "2016-05-21"),
    ("Recognizers", "fr", "DMY", "seconde de Aout", "2016-11-07T10", "2016-08-02"),
    ("Recognizers", "fr", "DMY", "premier vendredi de ce mois", "2016-11-07T10", "2016-11-04"),
    ("Recognizers", "fr", "DMY", "8 dans la soiree, 1 Jan", "2016-11-07T10", "2016-01-01"),
    ("Recognizers", "fr", "DMY", "20:00:24, 21/04/2016", "2016-11-07T10", "2016-04-21"),
    ("Recognizers", "fr", "DMY", "1er avril 78", "2016-11-07T10", "1978-04-01"),
    ("Sugar", "fr", "DMY", "vendredi dernièr 3:45", "2026-11-25T14", "2026-11-20"),
    ("Sugar", "fr", "DMY", "mardi 11 decembre 2012", "2026-11-25T14", "2012-12-11"),
    ("Sugar", "fr", "DMY", "il y a une seconde", "2026-11-25T14", "2026-11-25"),
]  # fmt: skip


@pytest.mark.parametrize(("source", "language", "order", "text", "now", "day"), ROWS)
def test_a_row_of_another_library_is_read_bare_and_in_a_sentence(
    source: str, language: str, order: str, text: str, now: str, day: str
) -> None:
    frame = scene(datetime.fromisoformat(now).replace(tzinfo=UTC), order=order)
    for carrier in CARRIERS[language]:
        for written in (carrier.format(text), carrier.format(text).upper()):
            assert outcome(written, frame) == day, (source, written)


# Recognizers-Text and Sugar: days to come, said on Monday 7 November 2016.
@pytest.mark.parametrize(
    "text",
    [
        "this Friday", "20th of next month", "next week on Friday", "next December 25th at 7:30am",
        "two days after tomorrow", "the 1st Friday of next month", "this upcoming mon",
        "12 March next year", "fifth Sunday", "31st of this month", "a week from today",
        "el día después de mañana", "este viernes", "a las siete menos cuarto de mañana",
        "domingo de la siguiente semana", "ce vendredi", "vendredi cette semaine", "le lendemain",
    ],
)  # fmt: skip
def test_a_day_to_come_gives_none(text: str) -> None:
    assert read(text, scene(MONDAY))[0] is None


# Own: hunters' words that have the shape of a day; natty and timefhuman for the last row.
@pytest.mark.parametrize(
    "text",
    [
        "every Sunday", "most Saturdays we get one", "shot 2 each Saturday", "cada domingo",
        "tous les dimanches", "may. 2 lumps", "sun in my eyes", "in the dark", "10/10 condition",
        "1/2 a pig", "la mar. 2 bultos", "mardi gras", "a 3 year old boar", "about 2 years old",
        "18 month old hog", "hunted 3 days", "been out here 4 days", "used a 30-06 at 120 m",
        "2 pigs, 15 at 8:00", "3 boars, 80 and 60kg, 20 at 8pm", "the 2nd may have lumps",
        "march flies", "second hand rifle", "10th rib", "ear tag 2011", "open 24/7",
        "6.5,2010 rifle",
        "1080 bait", "2 hours walk in", "last boar had it", "durante 2 semanas",
        "pendant 2 semaines",
        "wedding dinner with Pam", "bfriday blah blah", "salmon for 9 amnesty tickets",
    ],
)  # fmt: skip
def test_a_hunters_number_is_no_day(text: str) -> None:
    for written in (text, f"shot a boar, {text}"):
        assert read(written, scene(WEDNESDAY))[0] is None, written


@pytest.mark.parametrize(
    ("text", "why", "choices"),
    [
        ("shot it this Friday", "two_readings", ("2026-11-20",)),
        ("shot my first Saturday out", "two_readings", ("2026-11-07", "2026-11-21")),
        ("shot on the 2nd, Sunday", "parts_disagree", ("2026-11-02", "2026-11-22")),
    ],
)
def test_what_may_be_another_day_is_asked(text: str, why: str, choices: tuple[str, ...]) -> None:
    found, (unclear,) = read(text, scene(WEDNESDAY))
    assert found is None
    assert unclear.why == why
    assert tuple(c.words for c in unclear.choices) == choices


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("last week, shot it on the Tuesday", "2026-11-17"),
        ("la semana pasada el martes", "2026-11-17"),
        ("la semaine dernière mardi", "2026-11-17"),
        ("pig shot Sat, 21 Nov, call me on 0491 570 156", "2026-11-21"),
        ("pig from 21 Nov, can you collect the head", "2026-11-21"),
        ("shot it Sat, Sunday boiled the head", "2026-11-21"),
        ("shot a pig 21 Nov. Collect it today", "2026-11-21"),
        ("Friday the one near the hut", "2026-11-20"),
        ("3rd march up near the hut", "2026-03-03"),
    ],
)
def test_the_pieces_of_a_date_belong_together(text: str, day: str) -> None:
    assert outcome(text, scene(WEDNESDAY)) == day


def test_three_and_a_half_hours_are_no_half_hour() -> None:
    found, _ = read("three and a half hours ago", scene(WEDNESDAY))
    assert found is not None
    assert found.value.earliest.hour == 10
