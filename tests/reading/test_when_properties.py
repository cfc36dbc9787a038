"""Properties of reading a day: written and read back, any text at all, hostile texts; and the
word files.
"""

from __future__ import annotations

import time
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from when_frame import CALENDAR, CARRIERS, FOLDER, outcome, read, scene

from bot.reading.calendar_words import CalendarError, load_calendar
from bot.reading.page import Page

MELBOURNE = ZoneInfo("Australia/Melbourne")
WEDNESDAY = datetime(2026, 11, 25, 14, 0, tzinfo=MELBOURNE)

MONTHS = {
    "en": "January February March April May June July August September October November December",
    "es": (
        "enero febrero marzo abril mayo junio julio agosto septiembre octubre noviembre diciembre"
    ),
    "fr": "janvier février mars avril mai juin juillet août septembre octobre novembre décembre",
}
WEEKDAYS = {
    "en": "Monday Tuesday Wednesday Thursday Friday Saturday Sunday",
    "es": "lunes martes miércoles jueves viernes sábado domingo",
    "fr": "lundi mardi mercredi jeudi vendredi samedi dimanche",
}
FORMS = {
    "en": (
        "{d} {m} {y}", "{m} {d}, {y}", "{d} {m3} {y}", "{d}-{m3}-{yy:02d}", "{m3} {d} {y}",
        "the {d}th of {m}", "{w} {d} {m}", "{w}, {m} {d}", "{y}-{n:02d}-{d:02d}", "{d}/{n}/{y}",
        "{d:02d}.{n:02d}.{y}", "{n_ago} days ago", "{d} {m} {y} at 6:30 am", "{y}/{n}/{d}",
        "{w} {d}/{n}/{yy:02d}",
    ),
    "es": (
        "{d} de {m} de {y}", "el {d} de {m}", "{w} {d} de {m}", "{d}/{n}/{y}",
        "hace {n_ago} días", "{m} {d}, {y}", "{w}, {d} de {m} del {y}", "{d}-{n}-{yy:02d}",
    ),
    "fr": (
        "{d} {m} {y}", "le {d} {m}", "{w} {d} {m}", "{d}/{n}/{y}", "il y a {n_ago} jours",
        "le {w} {d} {m} {y}", "{d}.{n}.{y}", "{m} {d} {y}",
    ),
}  # fmt: skip


def spell(form: str, day: date, language: str, now: datetime) -> str:
    """A day in one of the forms; English ordinals come out as "1th", which is read as well."""
    month = MONTHS[language].split()[day.month - 1]
    return form.format(
        d=day.day,
        m=month,
        m3=month[:3],
        n=day.month,
        y=day.year,
        yy=day.year % 100,
        w=WEEKDAYS[language].split()[day.weekday()],
        n_ago=(now.date() - day).days,
    )


@settings(max_examples=300)
@given(
    back=st.integers(2, 300),
    language=st.sampled_from(sorted(FORMS)),
    form=st.integers(0, 99),
    carrier=st.integers(0, 2),
    shape=st.sampled_from([str, str.lower, str.upper]),
    now=st.datetimes(datetime(2000, 1, 1), datetime(2060, 1, 1)),
)
def test_a_day_that_was_written_is_the_day_that_is_read(
    back: int, language: str, form: int, carrier: int, shape: type[str], now: datetime
) -> None:
    now = now.replace(tzinfo=MELBOURNE)
    day = now.date() - timedelta(days=back)
    forms = FORMS[language]
    written = spell(forms[form % len(forms)], day, language, now)
    text = shape(CARRIERS[language][carrier].format(written))
    expected = day.isoformat()
    assert outcome(text, scene(now)) == expected, text


@given(st.text(max_size=200) | st.from_regex(r"[0-9a-z/:.,' -]{0,60}", fullmatch=True))
def test_any_text_gives_a_value_and_nothing_from_the_future(text: str) -> None:
    found, unclear = read(text, scene(WEDNESDAY))
    if found is not None:
        assert found.value.earliest < found.value.latest
        assert found.value.earliest <= WEDNESDAY + timedelta(minutes=10)
        assert found.heard in Page(text).text
    assert all(u.why for u in unclear)


PHRASES = sorted(
    " ".join(words)
    for lexicon in CALENDAR.languages.values()
    for known in lexicon.phrases.values()
    for words, _, _ in known.phrases
)


@given(st.lists(st.sampled_from([*PHRASES, "1", "12", "31", "2026", "6.30", "/", ",", "at", "."])))
def test_any_mix_of_the_calendars_own_words_gives_a_value(words: list[str]) -> None:
    for asked in ("", "when"):
        found, _ = read(" ".join(words), scene(WEDNESDAY, asked=asked, near=(-37.0, 146.5)))
        if found is not None:
            assert found.value.earliest <= WEDNESDAY + timedelta(minutes=10)


@pytest.mark.parametrize(
    "text",
    [
        "10/31/1974",
        "31 10 1974",
        "14april 2015",
        "March third 2015",
        "last week's Sunday",
        "Day before yesterday 8am",
        "Fri, Jul 18, 2014 19h00",
        "30 . 09 . 22 12.12",
        "26. 10.21",
        "06/Nov/2023:06:36:02",
        "About 23 hours ago",
        "Sat arvo",
        "Sun",
        "El lunes pasado",
        "Hace 3 días",
        "Il y a 3 jours",
        "Le 12 mai à 18 h 30",
        "tomorrow",
        "31 Feb",
        "Wednesday",
        "no",
    ],
)
def test_case_spaces_and_a_full_stop_change_nothing(text: str) -> None:
    frame = scene(datetime(2026, 11, 25, 14, 0, tzinfo=UTC))
    plain = outcome(text, frame)
    bare = text.rstrip(".")
    for other in (text.upper(), text.lower(), f"  {text}  ", f"{bare}.", text.replace(" ", "  ")):
        assert outcome(other, frame) == plain, other


HOSTILE = (
    "1/", "12 ", "a ", "1 nov ", "sat ", "mon 1 ", "il y a ", "twenty ", "12:", "1.", "2h ",
    "the ", "last ", "in the morning ", "early ", "day before ", "2014-", "1 1 19", "d'", "\x00",
    "shot sat ",
)  # fmt: skip


@pytest.mark.parametrize("pattern", HOSTILE)
def test_time_grows_with_length_and_no_faster(pattern: str) -> None:
    def seconds(length: int) -> float:
        text = (pattern * 2000)[:length]
        best = 9.0
        for _ in range(7):
            start = time.process_time()
            read(text, scene(WEDNESDAY))
            best = min(best, time.process_time() - start)
        return best

    # Four times the length: four times the time, and half as much again for a busy machine.
    # Square growth would be sixteen.
    assert seconds(2000) < 10 * max(seconds(500), 0.0005)


# ------------------------------------------------------------------------------ the word files


@pytest.mark.parametrize(
    ("change", "complaint"),
    [
        (("[verbs]", "[verb]"), "xx.toml: .*verb"),
        (("weekdays = [", "weekdays = [[],"), "xx.toml: weekdays"),
        (("ago_after", "ago_aftre"), "xx.toml: marks.ago_aftre"),
        (('"-2" =', '"two back" ='), 'xx.toml: days."two back"'),
        (('early = ["early"', 'early = ["yesterday"'), "xx.toml: 'yesterday' stands under"),
        (("[units]", "[units"), "xx.toml: "),
    ],
)
def test_a_faulty_word_file_is_named_with_its_key(change: tuple[str, str], complaint: str) -> None:
    text = (FOLDER / "en.toml").read_text("utf-8")
    assert change[0] in text
    with pytest.raises(CalendarError, match=complaint):
        load_calendar({"xx.toml": text.replace(*change, 1)})
