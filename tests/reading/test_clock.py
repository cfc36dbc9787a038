"""Times of day: what each fixes, what it narrows, and what is no time."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from when_frame import outcome, read, scene

MELBOURNE = ZoneInfo("Australia/Melbourne")
NOW = datetime(2026, 11, 25, 14, 0, tzinfo=MELBOURNE)
"""A Wednesday."""


@pytest.mark.parametrize(
    ("text", "start", "minutes"),
    [
        ("yesterday 6.30pm", "24 18:30", 1),
        ("yesterday at 630pm", "24 18:30", 1),
        ("6.30 pm yesterday", "24 18:30", 1),
        ("yesterday 18:30", "24 18:30", 1),
        ("yesterday 18h30", "24 18:30", 1),
        ("yesterday 1830", "24 18:30", 1),
        ("0630 today", "25 06:30", 1),
        ("6pm yesterday", "24 18:00", 30),
        ("6 a.m. today", "25 06:00", 30),
        ("about 6pm yesterday", "24 17:30", 60),
        ("yesterday 12:05 am", "24 00:05", 1),
        ("yesterday 12pm", "24 12:00", 30),
        ("yesterday arvo about 3.15", "24 14:45", 60),
        ("6 this morning", "25 06:00", 30),
        ("half past six this morning", "25 06:30", 1),
        ("quarter to seven this morning", "25 06:45", 1),
        ("last night at 11", "24 23:00", 30),
        ("about 5ish yesterday arvo", "24 16:30", 60),
        ("5-6pm yesterday", "24 17:00", 60),
        ("between 5 and 6 last night", "24 17:00", 60),
        ("sunday 7 - 8 in the morning", "22 07:00", 60),
        ("last night at 2am", "25 02:00", 30),
        ("Tuesday arvo", "24 12:00", 360),
        ("yesterday morning", "24 04:00", 480),
        ("late yesterday arvo", "24 14:00", 240),
        ("ayer a las seis y media de la tarde", "24 18:30", 1),
        ("hoy a las doce menos cuarto", "25 11:45", 1),
        ("hier à trois heures et quart de l'après-midi", "24 15:15", 1),
        ("hier vers 18h", "24 17:30", 60),
        ("ce matin à 6h15", "25 06:15", 1),
    ],
)
def test_a_time_narrows_its_day(text: str, start: str, minutes: int) -> None:
    found, unclear = read(text, scene(NOW))
    assert found is not None, unclear
    assert found.value.earliest.strftime("%d %H:%M") == start
    assert found.value.latest - found.value.earliest == timedelta(minutes=minutes)


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("6.30pm", "2026-11-24"),  # not yet come today
        ("06:30", "2026-11-25"),
        ("at 0630", "2026-11-25"),
        ("14:05", "2026-11-25"),  # five minutes ahead of the text: watches differ
        ("6 in the morning", "2026-11-25"),
        ("in the evening", "2026-11-24"),
        ("à 6h du matin", "2026-11-25"),
        ("a las 6 de la tarde", "2026-11-24"),
    ],
)
def test_a_time_alone_is_the_latest_such_time(text: str, day: str) -> None:
    assert outcome(text, scene(NOW)) == day


def test_an_hour_that_may_be_morning_or_evening_leaves_the_day() -> None:
    found, _ = read("yesterday at 6", scene(NOW))
    assert found is not None
    assert found.value.assumed == ("morning or evening not said",)
    assert found.value.latest - found.value.earliest == timedelta(days=1)


def test_an_hour_of_today_that_has_come_once_only_is_that_one() -> None:
    found, _ = read("today at 6", scene(NOW))
    assert found is not None
    assert found.value.earliest.hour == 6


def test_a_time_of_today_that_is_still_to_come_is_not_taken() -> None:
    found, _ = read("today at 9 pm", scene(NOW))
    assert found is not None
    assert found.value.assumed == ("time still to come",)
    assert found.value.earliest.hour == 0
    assert found.value.latest <= NOW + timedelta(minutes=1)


def test_last_night_runs_over_midnight_and_is_the_evenings_day() -> None:
    found, _ = read("shot him last night", scene(NOW))
    assert found is not None
    assert found.value.earliest.date() == date(2026, 11, 24)
    assert found.value.latest.date() == date(2026, 11, 25)


# Not times in the tests of chrono (MIT) and duckling (BSD), and our own.
@pytest.mark.parametrize(
    "text",
    [
        "14PM",
        "25:12",
        "4a",
        "3 30",
        "three twenty",
        "two sixty a m",
        "single o'clock",
        "I'm at 101 points!",
        "at 6.5 kilograms",
        "15 hours 29 min",
        "at 1200 m",
        "2 hrs walk in",
        "3h walk",
        "good morning",
        "Morning, got a question",
        "evening all",
        "buenas tardes",
        "about 6 lumps",
        "around 20 kg",
        "at 6",
    ],
)
def test_no_time_is_read_where_none_is_meant(text: str) -> None:
    assert outcome(text, scene(NOW)) == ""


@pytest.mark.parametrize(
    "text", ["shot 2 yesterday", "got 3 last night", "killed one this morning"]
)
def test_how_many_is_no_hour(text: str) -> None:
    found, _ = read(text, scene(NOW))
    assert found is not None
    assert found.value.latest - found.value.earliest > timedelta(hours=2)
