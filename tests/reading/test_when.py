"""Days as people write them: rows of other libraries' tests, the traps, and properties.

Rows carry their own "now". Sources: facebook/duckling (BSD), wanasit/chrono (MIT) and
scrapinghub/dateparser (BSD), as facts; rows marked "own" have no source but the calendar.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from when_frame import CARRIERS, outcome, read, scene

from bot.reading.page import Page
from bot.reading.when import read_when

MELBOURNE = ZoneInfo("Australia/Melbourne")
LONDON = ZoneInfo("Europe/London")
WEDNESDAY = datetime(2026, 11, 25, 14, 0, tzinfo=MELBOURNE)

ROWS = [
    # duckling, English; now 2013-02-12T04:30-02:00, a Tuesday
    ("10/31/1974", "2013-02-12T04:30:00-02:00", "1974-10-31", "en", "MDY"),
    ("31/10/74", "2013-02-12T04:30:00-02:00", "1974-10-31", "en", "DMY"),
    ("31-Oct-74", "2013-02-12T04:30:00-02:00", "1974-10-31", "en", "DMY"),
    ("14april 2015", "2015-05-24T04:30:00-02:00", "2015-04-14", "en", "DMY"),
    ("march third 2015", "2015-04-12T04:30:00-02:00", "2015-03-03", "en", "DMY"),
    ("last week's sunday", "2013-02-12T04:30:00-02:00", "2013-02-10", "en", "DMY"),
    ("last tuesday", "2013-02-12T04:30:00-02:00", "2013-02-05", "en", "DMY"),
    ("day before yesterday 8am", "2013-02-12T04:30:00-02:00", "2013-02-10", "en", "DMY"),
    ("third tuesday of september 2014", "2014-10-26T04:30:00-02:00", "2014-09-16", "en", "DMY"),
    ("last day of october 2015", "2015-12-10T04:30:00-02:00", "2015-10-31", "en", "DMY"),
    ("the first Monday of the month", "2013-02-12T04:30:00-02:00", "2013-02-04", "en", "DMY"),
    ("2 thursdays back", "2013-02-12T04:30:00-02:00", "2013-01-31", "en", "DMY"),
    ("a fortnight ago", "2013-02-12T04:30:00-02:00", "2013-01-29", "en", "DMY"),
    ("Fri, Jul 18, 2014 19h00", "2014-08-27T04:30:00-02:00", "2014-07-18", "en", "DMY"),
    ("31 10 1974", "2013-02-12T04:30:00-02:00", "1974-10-31", "en", "DMY"),
    # chrono, English
    ("Twenty-fourth of May", "2012-08-10T00:00:00+00:00", "2012-05-24", "en", "DMY"),
    ("06/Nov/2023:06:36:02", "2023-12-16T12:00:00+00:00", "2023-11-06", "en", "DMY"),
    ("August-10, 2012", "2012-09-19T12:00:00+00:00", "2012-08-10", "en", "DMY"),
    ("Aug 9 96", "2012-08-10T00:00:00+00:00", "1996-08-09", "en", "DMY"),
    ("05/31/2024.14:15", "2024-07-10T08:00:00+00:00", "2024-05-31", "en", "MDY"),
    ("2024-13-01", "2024-02-22T00:00:00+00:00", "2024-01-13", "en", "DMY"),
    ("a week before yesterday", "2012-08-10T00:00:00+00:00", "2012-08-02", "en", "DMY"),
    ("past Friday", "2012-08-09T00:00:00+00:00", "2012-08-03", "en", "DMY"),
    # dateparser, English
    ("[Sept] 04, 2014.", "2014-10-14T00:00:00+00:00", "2014-09-04", "en", "DMY"),
    ("26. 10.21", "2021-12-05T00:00:00+00:00", "2021-10-26", "en", "DMY"),
    ("30 . 09 . 22 12.12", "2022-11-09T00:00:00+00:00", "2022-09-30", "en", "DMY"),
    ("Wed Aug 05 12:00:00 2015", "2015-09-14T00:00:00+00:00", "2015-08-05", "en", "DMY"),
    ("10 December", "2015-02-15T15:30:00+00:00", "2014-12-10", "en", "DMY"),
    ("about 23 hours ago", "2014-09-01T10:30:00+00:00", "2014-08-31", "en", "DMY"),
    # Spanish: duckling, chrono, dateparser
    ("antier", "2013-02-12T04:30:00-02:00", "2013-02-10", "es", "DMY"),
    ("mayo 5 del 2013", "2013-06-14T04:30:00-02:00", "2013-05-05", "es", "DMY"),
    ("martes de esta semana", "2013-02-12T04:30:00-02:00", "2013-02-12", "es", "DMY"),
    ("el domingo de la semana pasada", "2013-02-12T04:30:00-02:00", "2013-02-10", "es", "DMY"),
    (
        "cuatro de mayo de mil novecientos noventa",
        "2013-02-12T04:30:00-02:00",
        "1990-05-04",
        "es",
        "DMY",
    ),
    ("Vi 17:15", "2012-11-13T00:00:00+00:00", "2012-11-09", "es", "DMY"),
    ("Hace cerca de 23 horas", "2014-09-01T10:30:00+00:00", "2014-08-31", "es", "DMY"),
    ("Martes 21 de Octubre de 2014", "2014-11-30T00:00:00+00:00", "2014-10-21", "es", "DMY"),
    # French: duckling, chrono, dateparser
    ("le premier mars 2013", "2013-04-10T04:30:00-02:00", "2013-03-01", "fr", "DMY"),
    ("dimanche de la semaine dernière", "2013-02-12T04:30:00-02:00", "2013-02-10", "fr", "DMY"),
    ("le dernier jour d'octobre 2015", "2015-12-10T04:30:00-02:00", "2015-10-31", "fr", "DMY"),
    ("15 déc. 2012", "2013-01-24T00:00:00+00:00", "2012-12-15", "fr", "DMY"),
    ("vendredi, décembre 5 2014.", "2015-01-14T00:00:00+00:00", "2014-12-05", "fr", "DMY"),
    ("11 sept. 2014", "2014-10-21T00:00:00+00:00", "2014-09-11", "fr", "DMY"),
    ("Il ya environ 23 heures", "2014-09-01T10:30:00+00:00", "2014-08-31", "fr", "DMY"),
    ("mar. 24 nov. 2026", WEDNESDAY.isoformat(), "2026-11-24", "fr", "DMY"),
    ("mar 24 nov", WEDNESDAY.isoformat(), "2026-11-24", "es", "DMY"),
    ("le treize novembre deux mille vingt-six", WEDNESDAY.isoformat(), "2026-11-13", "fr", "DMY"),
    ("Avant-hier", "2014-09-01T10:30:00+00:00", "2014-08-30", "fr", "DMY"),
    ("Aujourd′hui", "2014-09-01T10:30:00+00:00", "2014-09-01", "fr", "DMY"),
    # own: how hunters say it; now is Wednesday 25 November 2026 in Melbourne
    *(
        (text, WEDNESDAY.isoformat(), day, "en", "DMY")
        for text, day in (
            ("sat", "2026-11-21"),
            ("last Sat", "2026-11-21"),
            ("Tues arvo", "2026-11-24"),
            ("saturday just gone", "2026-11-21"),
            ("Saturday before last", "2026-11-14"),
            ("yday", "2026-11-24"),
            ("night before last", "2026-11-23"),
            ("couple of hours back", "2026-11-25"),
            ("the 12th", "2026-11-12"),
            ("the 27th", "2026-10-27"),
            ("the 31st", "2026-10-31"),
            ("Sat 21 Nov", "2026-11-21"),
            ("Sat 21st", "2026-11-21"),
            ("12 Nov 14:30", "2026-11-12"),
            ("twelfth of november", "2026-11-12"),
            ("22/11", "2026-11-22"),
            ("two nights ago", "2026-11-23"),
            ("20261121", "2026-11-21"),
            ("the fourteenth of november two thousand twenty-six", "2026-11-14"),
            ("tuesday the twenty-fourth of november", "2026-11-24"),
            ("2026-W47-6", "2026-11-21"),
            ("2026-325", "2026-11-21"),
        )
    ),
]


@pytest.mark.parametrize(("text", "now", "day", "language", "order"), ROWS)
def test_a_day_is_read_bare_and_in_a_sentence(
    text: str, now: str, day: str, language: str, order: str
) -> None:
    frame = scene(datetime.fromisoformat(now), order=order)
    for carrier in CARRIERS[language]:
        for written in (carrier.format(text), carrier.format(text).upper()):
            assert outcome(written, frame) == day, written


# Texts that hold no day, by the same three libraries and our own.
REJECTED = [
    "25", "2020", "1-2", "1-2-3", "4-5-6", "20-30-12", "2012-14", "2200-25", "4/13/1", "8/32",
    "I'm at 10.1 - 10.12", "Version: 1.10.30", "80-32-89-89", "at 650-650-6500", "5 days",
    "the day", "mar", "jan", "The mountain may not move", "May not be correct", "the second half",
    "xyesterday", "notoday", "them ago", "a few hour", "12.53%", "Martin Luther King' day",
    "Rat 6", "no", "a", "1", "5", "yes", "2 pigs", "3 lumps", ".308", "30-06", "7.62x39", ".22",
    "12 gauge", "60 kg", "0491 570 006", "55 273741 5796489", "sun was up", "sat by the creek",
    "we sat on a log", "I may have cut it", "march up the hill", "a second pig",
    "the 2nd pig had lumps", "fall", "dec", "the head is in the freezer now",
    "can you pick it up today", "home tonight", "ring me after 5pm", "2/3 pigs had it",
    "3/4 full of pus", "dark brown lump", "Sunday Creek", "a 3 year old sow",
    "20 min up the track", "mon chien est blessé", "vi un jabalí", "mi perro", "la mer",
    "il y a des bosses", "hace frío", "un sanglier de 2 ans", "tué un sanglier",
    "back of the throat", "week old carcase",
]  # fmt: skip


@pytest.mark.parametrize("text", REJECTED)
def test_what_is_no_day_gives_none(text: str) -> None:
    assert read(text, scene(WEDNESDAY))[0] is None


# What a general library made of these, measured; each has to be asked or left.
@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("no", ""),
        ("a", ""),
        ("1", ""),
        ("5", ""),
        ("31 feb", "no_such_date"),
        ("0930", ""),
        ("wednesday", "weekday_today"),
        ("3/4", "2026-04-03"),
    ],
)
def test_the_measured_guesses_are_not_made(text: str, expected: str) -> None:
    assert outcome(text, scene(WEDNESDAY)) == expected


def test_yesterday_has_no_invented_hour() -> None:
    found, _ = read("yesterday", scene(WEDNESDAY))
    assert found is not None
    assert found.value.earliest == datetime(2026, 11, 24, tzinfo=MELBOURNE)
    assert found.value.latest == datetime(2026, 11, 25, tzinfo=MELBOURNE)


@pytest.mark.parametrize(
    ("text", "why", "choices"),
    [
        ("Wed", "weekday_today", ("2026-11-25", "2026-11-18")),
        ("Wed 8am", "weekday_today", ("2026-11-25", "2026-11-18")),
        ("Saturday week", "two_readings", ("2026-11-14", "2026-11-21")),
        ("Sat 22 Nov", "parts_disagree", ("2026-11-22", "2026-11-21")),
        ("shot one Friday and one Saturday", "two_days", ("2026-11-20", "2026-11-21")),
        ("yesterday or today", "two_days", ("2026-11-24", "2026-11-25")),
        ("10 - 12 November", "two_days", ("2026-11-10", "2026-11-12")),
        ("bagged it Sunday", "other_day", ("2026-11-22",)),
        ("found lumps when I boiled the jaw yesterday", "other_day", ("2026-11-24",)),
        ("head in the freezer since Sunday", "other_day", ("2026-11-22",)),
        ("30/02/2026", "no_such_date", ()),
        ("02/29/2022", "no_such_date", ()),
        ("June 31, 2022", "no_such_date", ()),
        ("tomorrow", "in_the_future", ()),
        ("in 3 days", "in_the_future", ()),
        ("next Friday", "in_the_future", ()),
        ("12/12/2026", "in_the_future", ()),
        ("la semana que viene", "in_the_future", ()),
        ("lundi prochain", "in_the_future", ()),
    ],
)
def test_what_can_be_read_two_ways_or_none_is_asked(
    text: str, why: str, choices: tuple[str, ...]
) -> None:
    found, (unclear,) = read(text, scene(WEDNESDAY))
    assert found is None
    assert (unclear.question, unclear.why) == ("when", why)
    assert tuple(c.words for c in unclear.choices) == choices
    assert all(c.value is not None for c in unclear.choices)
    assert unclear.heard
    assert unclear.heard in text


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("this Wed", "2026-11-25"),
        ("last Wed", "2026-11-18"),
        ("Wed, today", "2026-11-25"),
        ("Wed night", "2026-11-18"),  # tonight has not come
    ],
)
def test_a_word_beside_the_weekday_of_today_decides(text: str, day: str) -> None:
    assert outcome(text, scene(WEDNESDAY)) == day


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("shot it Sat, bagged it Sun", "2026-11-21"),
        ("bagged Sunday, shot Saturday", "2026-11-21"),
        ("Sat shot, Sun boiled the head", "2026-11-21"),
        ("shot it yesterday can you pick up tomorrow", "2026-11-24"),
        ("killed Monday. heading home Friday", "2026-11-23"),
        ("shot and gutted it yesterday", "2026-11-24"),
        ("gutted him Monday", "2026-11-23"),
        ("shot him on dark last night, gutted this morning", "2026-11-24"),
        ("it was Sunday not Saturday", "2026-11-22"),
        ("c'était dimanche, pas samedi", "2026-11-22"),
        ("sorry, yesterday no, monday", "2026-11-23"),
        ("perdón, ayer no, el domingo", "2026-11-22"),
        ("hier non, dimanche", "2026-11-22"),
        ("shot yesterday. no lumps", "2026-11-24"),
        ("boiling the jaw out today, shot it Sunday week ago", "2026-11-15"),
        ("shot it Fri, got home last night", "2026-11-20"),
        ("maté el sábado, congelado el domingo", "2026-11-21"),
        ("tué samedi, congelé dimanche", "2026-11-21"),
    ],
)
def test_the_day_of_the_death_is_the_one_beside_its_verb(text: str, day: str) -> None:
    assert outcome(text, scene(WEDNESDAY)) == day


def test_too_old_is_asked_with_the_day_on_offer() -> None:
    found, (unclear,) = read("12 August", scene(WEDNESDAY, oldest=timedelta(days=60)))
    assert found is None
    assert unclear.why == "too_old"
    assert unclear.choices[0].words == "2026-08-12"
    assert outcome("12 October", scene(WEDNESDAY, oldest=timedelta(days=60))) == "2026-10-12"


# CLDR 'short' date orders (Babel 2.18): the 3rd of November in each, read in that order.
@pytest.mark.parametrize(
    ("text", "order"),
    [
        ("11/3/26", "MDY"),  # en_US
        ("03/11/2026", "DMY"),  # en_GB, en_NZ
        ("3/11/26", "DMY"),  # en_AU
        ("3.11.2026", "DMY"),  # de, nb, fi, pl, cs
        ("3-11-2026", "DMY"),  # nl
        ("2026-11-03", "YMD"),  # sv_SE, fr_CA, en_CA
        ("2026/11/03", "YMD"),  # en_ZA, ja
        ("26-11-03", "YMD"),
        ("2026-11-03", "DMY"),
    ],
)
def test_figures_follow_the_programmes_order(text: str, order: str) -> None:
    assert outcome(text, scene(WEDNESDAY, order=order)) == "2026-11-03"


def test_the_order_that_decided_is_said() -> None:
    found, _ = read("3/11/2026", scene(WEDNESDAY))
    assert found is not None
    assert found.value.assumed == ("day before month",)


# IANA time zone database: clocks changed on 5 April and 4 October 2026 in Melbourne, on
# 29 March and 25 October 2026 in London.
@pytest.mark.parametrize(
    ("zone", "day", "hours"),
    [
        (MELBOURNE, date(2026, 4, 5), 25),
        (MELBOURNE, date(2026, 10, 4), 23),
        (MELBOURNE, date(2026, 4, 6), 24),
        (LONDON, date(2026, 3, 29), 23),
        (LONDON, date(2026, 10, 25), 25),
    ],
)
def test_a_day_is_as_long_as_the_clocks_make_it(zone: ZoneInfo, day: date, hours: int) -> None:
    following = day + timedelta(days=1)
    now = datetime(following.year, following.month, following.day, 12, tzinfo=zone)
    found, _ = read("yesterday", scene(now))
    assert found is not None
    span = found.value.latest.astimezone(UTC) - found.value.earliest.astimezone(UTC)
    assert span == timedelta(hours=hours)


def test_hours_ago_are_real_hours_over_a_change_of_the_clocks() -> None:
    now = datetime(2026, 10, 4, 9, 0, tzinfo=MELBOURNE)  # clocks went from 2 to 3 in the night
    found, _ = read("8 hours ago", scene(now))
    assert found is not None
    centre = now.astimezone(UTC) - timedelta(hours=8)
    assert found.value.earliest <= centre < found.value.latest
    assert found.value.earliest.date() == date(2026, 10, 4)


def test_an_offset_is_brought_into_the_programmes_zone() -> None:
    found, _ = read("2026-11-20T23:30:00+00:00", scene(WEDNESDAY))
    assert found is not None
    assert found.value.earliest == datetime(2026, 11, 21, 10, 30, tzinfo=MELBOURNE)


@pytest.mark.parametrize(
    ("now", "text", "expected"),
    [
        ("2028-02-29T12:00:00+11:00", "29 feb", "2028-02-29"),
        ("2027-02-28T12:00:00+11:00", "29 feb", "2024-02-29"),  # the latest there is
        ("2027-03-01T12:00:00+11:00", "29/02/2027", "no_such_date"),
        ("2028-03-01T12:00:00+11:00", "yesterday", "2028-02-29"),
        ("2027-01-01T09:00:00+11:00", "last night", "2026-12-31"),
        ("2027-01-02T09:00:00+11:00", "31 Dec", "2026-12-31"),
        ("2027-01-02T09:00:00+11:00", "the 31st", "2026-12-31"),
        ("2026-11-25T00:00:00+11:00", "today", "2026-11-25"),
    ],
)
def test_leap_days_and_the_turn_of_the_year(now: str, text: str, expected: str) -> None:
    assert outcome(text, scene(datetime.fromisoformat(now))) == expected


@pytest.mark.parametrize(
    ("text", "first", "last"),
    [
        ("last week", "2026-11-16", "2026-11-22"),
        ("last weekend", "2026-11-21", "2026-11-22"),
        ("on the weekend", "2026-11-21", "2026-11-22"),
        ("a few days ago", "2026-11-20", "2026-11-23"),
        ("2 or 3 days ago", "2026-11-22", "2026-11-23"),
        ("la semana pasada", "2026-11-16", "2026-11-22"),
        ("le mois dernier", "2026-10-01", "2026-10-31"),
    ],
)
def test_words_for_several_days_give_all_of_them(text: str, first: str, last: str) -> None:
    found, _ = read(text, scene(WEDNESDAY))
    assert found is not None
    assert found.value.earliest.date().isoformat() == first
    assert (found.value.latest - timedelta(minutes=1)).date().isoformat() == last


def test_what_was_read_is_struck_and_what_was_struck_is_not_read() -> None:
    page = Page("shot 2 boars yesterday arvo near the hut")
    found, _ = read_when(page, scene(WEDNESDAY))
    assert found is not None
    assert found.heard == "yesterday arvo" == page.text[found.start : found.end]
    assert "yesterday" not in page.left
    assert "2 boars" in page.left
    assert read_when(page, scene(WEDNESDAY)) == (None, ())


def test_only_the_programmes_languages_are_read() -> None:
    assert outcome("anteayer", scene(WEDNESDAY, languages=("en",))) == ""
    assert outcome("anteayer", scene(WEDNESDAY, languages=("en", "es"))) == "2026-11-23"
