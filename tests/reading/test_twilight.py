"""First and last light against values from outside, and the traps of the library."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest
from when_frame import read, scene

from bot.reading.twilight import sun

MELBOURNE = ZoneInfo("Australia/Melbourne")


# NREL Solar Position Algorithm calculator, as in pvlib's tests; astral 3.2 lies within 15.7 s.
@pytest.mark.parametrize(
    ("day", "rise", "set_"),
    [
        (date(1996, 7, 5), "07:08:15", "17:01:04"),
        (date(2004, 12, 4), "04:38:57", "19:02:03"),
    ],
)
def test_rise_and_set_are_those_of_the_nrel_calculator(day: date, rise: str, set_: str) -> None:
    found = sun(-35.0, 0.0, day, UTC)
    assert found is not None
    for ours, theirs in ((found.sunrise, rise), (found.sunset, set_)):
        exact = datetime.fromisoformat(f"{day}T{theirs}+00:00")
        assert abs(ours - exact) < timedelta(seconds=16)


def test_civil_dusk_agrees_with_an_ephemeris() -> None:
    # skyfield 1.55 with de421 gives 17:46:04 at NREL's report point; sun 6 degrees down (USNO).
    found = sun(39.742476, -105.1786, date(2003, 10, 17), timezone(timedelta(hours=-7)))
    assert found is not None
    exact = datetime.fromisoformat("2003-10-17T17:46:04-07:00")
    assert abs(found.last_light - exact) <= timedelta(seconds=25)


@pytest.mark.parametrize("day", [date(2026, 6, 21), date(2026, 12, 21)])
def test_where_there_is_no_night_or_no_day_there_is_no_answer(day: date) -> None:
    # 69.65 N: the sun does not set in June and does not rise in December; astral raises there.
    assert sun(69.65, 18.96, day, ZoneInfo("Europe/Oslo")) is None


def test_the_evening_is_the_local_days_own() -> None:
    # With UTC instead of the local zone astral gives 00:03Z, the evening of the day before.
    zone = ZoneInfo("America/Denver")
    found = sun(46.6, -112.0, date(2026, 11, 8), zone)
    assert found is not None
    assert found.sunset.date() == found.last_light.date() == date(2026, 11, 8)
    assert 16 <= found.sunset.hour <= 17


@pytest.mark.parametrize("lat", [-45.0, -37.0, 0.0, 51.5, 58.0])
@pytest.mark.parametrize("month", range(1, 13))
def test_the_lights_of_a_day_stand_in_order(lat: float, month: int) -> None:
    found = sun(lat, 146.0, date(2026, month, 20), timezone(timedelta(hours=10)))
    assert found is not None
    assert found.first_light < found.sunrise < found.sunset < found.last_light


@pytest.mark.parametrize(
    ("text", "inside"),
    [
        # Sun at 37 S 146.5 E on 24 and 25 November 2026, AEDT: dawn about 5:20, sunrise 5:50,
        # sunset 20:20, dusk 20:50 (astral itself is checked above; these are to the half hour).
        ("got him on dark last night", "2026-11-24T20:35:00+11:00"),
        ("first light this morning", "2026-11-25T05:35:00+11:00"),
        ("shot at first light", "2026-11-25T05:35:00+11:00"),
        ("last light yesterday", "2026-11-24T20:35:00+11:00"),
        ("just on dark Sunday", "2026-11-22T20:35:00+11:00"),
        ("sunset yesterday", "2026-11-24T20:20:00+11:00"),
        ("ayer al anochecer", "2026-11-24T20:35:00+11:00"),
        ("hier à la tombée de la nuit", "2026-11-24T20:35:00+11:00"),
        ("à l'aube", "2026-11-25T05:35:00+11:00"),
    ],
)
def test_words_for_light_are_reckoned_at_the_place(text: str, inside: str) -> None:
    now = datetime(2026, 11, 25, 14, 0, tzinfo=MELBOURNE)
    found, _ = read(text, scene(now, near=(-37.0, 146.5)))
    assert found is not None
    assert found.value.earliest <= datetime.fromisoformat(inside) < found.value.latest
    assert found.value.latest - found.value.earliest < timedelta(hours=1, minutes=30)


def test_without_a_place_the_words_for_light_keep_wide_hours() -> None:
    now = datetime(2026, 11, 25, 14, 0, tzinfo=MELBOURNE)
    found, _ = read("on dark last night", scene(now))
    assert found is not None
    assert (found.value.earliest.hour, found.value.latest.hour) == (16, 23)


def test_near_the_pole_the_words_for_light_keep_wide_hours() -> None:
    now = datetime(2026, 6, 21, 14, 0, tzinfo=ZoneInfo("Europe/Oslo"))
    found, _ = read("first light this morning", scene(now, near=(69.65, 18.96)))
    assert found is not None
    assert found.value.earliest.date() == date(2026, 6, 21)
