"""Every sentence that the evidence can produce, read for what must never be said."""

from __future__ import annotations

import itertools
import re
from datetime import datetime
from pathlib import Path
from string import Formatter
from typing import get_args
from zoneinfo import ZoneInfo

import pytest
from msgspec import structs
from msgspec.structs import replace

import bot.web
from bot.evidence.ageing import Age, age_by_teeth, age_in_laboratory, load_teeth
from bot.evidence.letter import LETTER, PAGE, Letter, Page, Season, Standing, write_letter
from bot.evidence.sentences import (
    SENTENCES,
    EvidenceError,
    Say,
    load_sentences,
    tell_window,
    tell_zone,
)
from bot.evidence.window import Band, distance_band, infection_window
from bot.evidence.zones import Assumptions, Month, ZoneResult, withheld
from bot.reading.values import When
from bot.shipped import dialog_files
from bot.talk.segments import MOST_SEGMENTS, segments_of, spell_for_sms
from bot.web.ages import in_words
from bot.web.zone_pdf import HEAD

TEXT = dialog_files()["evidence.toml"]
TEETH = load_teeth(dialog_files()["teeth.toml"])
BOOK = load_sentences(TEXT)
ZONE = ZoneInfo("Australia/Melbourne")
KILL = When(datetime(2026, 11, 14, tzinfo=ZONE), datetime(2026, 11, 16, tzinfo=ZONE))

NEVER = [
    r"\bsafe\b",
    r"\bfree\b",
    r"\b(fit|unfit|pass|passed|condemn\w*|edible|eat\w*|cook\w*|meat|venison|pork|carcass?e?)\b",
    r"\b(farms?|farmer|property|station|paddock|owner|homestead|landowner|address)\b",
    r"\bno (disease|TB)\b",
    r"\b(clean|clear|negative) (zone|area)\b",
    r"\b(guarantee|certain|proves?|proven)\b",
]
"""Section 0 of the trade's figures: no "safe", no verdict on meat, no farm, and "free" not at all
("probability of freedom" only where it is withheld)."""


def results() -> list[ZoneResult]:
    months = (Month(0.3, 0.495, 0.6),)
    moves = dict.fromkeys(("pstar", "reach", "catch", "se", "prior", "p_intro"), (0.2, None))
    base = ZoneResult("Tallow North", 12, 0, 900, 0.2, 0.63, 0.72, months, Assumptions(), moves)
    return [
        base,
        replace(base, animals=1),
        replace(base, animals=0),
        replace(base, sse=None, pfree=None),
        replace(base, pfree=None),
        replace(base, pfree=1.0, sse=0.999999),
        replace(base, sse=1e-7),
        replace(base, confirmed=1, pfree=None),
        replace(base, confirmed=3, pfree=None),
        replace(base, confirmed=1, pending=1, pfree=None),
        withheld(base, 1),
        withheld(base, 2),
    ]


def windows() -> list[tuple[str, ...]]:
    ages = [
        None,
        *(age_in_laboratory("pig", low, up) for low, up in [(0, 1), (0, 6), (18, 28), (26, None)]),
    ]
    kinds = ["pig", "deer", "red_deer", "white_tailed_deer", "possum"]
    return [
        tell_window(
            BOOK,
            infection_window(KILL, age, lag),
            distance_band(BOOK.ranges, BOOK.several, species, sex, age),
        )
        for age, species, sex, lag in itertools.product(ages, kinds, ("male", "female", ""), (0, 2))
    ]


def letters(language: str) -> set[str]:
    """Every sentence of the season letter, with zones of every standing, and its one text."""
    zones = tuple((f"Tallow {how}", how, 3) for how in get_args(Standing))
    season = Season("Tallow Range", "Tallow Range", "1 Jun", "24 Nov", 9, 3, 1, 1, 1, 1, zones)
    written = write_letter(BOOK.letter[language], season)
    lines = {written.title, written.text, *written.paragraphs, *written.zones, *written.ending}
    assert not any("{" in line for line in lines)
    return lines


def everything() -> set[str]:
    said = {line for lines in windows() for line in lines}
    said |= {
        line for r in results() for last in (None, KILL.latest) for line in tell_zone(BOOK, r, last)
    }
    raw = {getattr(BOOK.say, key) for key in SENTENCES}
    raw |= {getattr(BOOK.page, key) for key in PAGE}
    raw |= {*BOOK.say.names.values(), *BOOK.say.counts.values(), *ages(), *printed()}
    return said | raw | letters("en")


def ages() -> set[str]:
    """What is said of an age: on its page, on the card, and to whoever texts one."""
    texts = {text for text in structs.asdict(TEETH.texts).values() if isinstance(text, str)}
    asked = {q.ask for s in TEETH.species.values() for q in s.questions}
    states = {state.words for s in TEETH.species.values() for state in s.states}
    notes = {s.note for s in TEETH.species.values()}
    return texts | asked | states | notes | set(TEETH.why.values()) | aged()


def aged() -> set[str]:
    """How a card and the page of ages put an age into words, by either way, open or closed."""
    by_teeth = {
        in_words(age)
        for name, species in TEETH.species.items()
        for answers in itertools.product(*(q.answers for q in species.questions))
        for told in [dict(zip((q.key for q in species.questions), answers, strict=True))]
        if isinstance(age := age_by_teeth(TEETH, name, told), Age)
    }
    laboratory = {in_words(age_in_laboratory("pig", 20, upper, "cementum")) for upper in (26, None)}
    assert any("from" in words for words in by_teeth), "an open end is among them"
    return by_teeth | laboratory | {in_words(None)}


def printed() -> set[str]:
    """The words that stand in the templates of the evidence's pages, and its PDF's headings."""
    folder = Path(bot.web.__file__).parent / "templates" / "desk"
    words = set(HEAD)
    for name in ("evidence", "zone", "zone_figures", "letter", "age"):
        text = re.sub(
            r"(?s)\{\{.*?\}\}|\{%.*?%\}|\{#.*?#\}", " ", (folder / f"{name}.html").read_text()
        )
        words |= {part.strip() for part in re.split(r"<[^>]*>", text) if part.strip()}
    return words


@pytest.mark.parametrize("pattern", NEVER)
def test_what_is_never_said(pattern):
    found = [line for line in everything() if re.search(pattern, line, re.IGNORECASE)]
    assert not found


@pytest.mark.parametrize(
    "forbidden",
    [
        "The meat is safe.",
        "Tallow North is free of disease.",
        "Passed for cooking.",
        "It came from Miller's farm.",
        "This proves that there is no disease.",
    ],
)
def test_the_patterns_would_catch_it(forbidden):
    assert any(re.search(p, forbidden, re.IGNORECASE) for p in NEVER)


NEVER_ELSEWHERE = [
    r"\b(segur\w*|libre|aptas?|apto|carne|comer|comestible|granja|finca|dueño|propietario)\b",
    r"\b(sûre?s?|viande|manger|comestible|ferme|élevage|propriétaire|indemne|prouve\w*)\b",
    r"\b(garantiza\w*|garanti\w*|demuestra\w*)\b",
]
"""The same in Spanish and French."""


@pytest.mark.parametrize("pattern", NEVER_ELSEWHERE)
@pytest.mark.parametrize("language", ["es", "fr"])
def test_what_is_never_said_in_other_languages(language, pattern):
    assert not [s for s in letters(language) if re.search(pattern, s, re.IGNORECASE)]


@pytest.mark.parametrize("language", ["en", "es", "fr"])
def test_the_letter_never_says_where_animals_are_wanted(language):
    wanted = r"(more animals|would say most|unseen|más animales|plus d'animaux|invit)"
    assert not [s for s in letters(language) if re.search(wanted, s, re.IGNORECASE)]


@pytest.mark.parametrize("language", ["en", "es", "fr"])
def test_the_text_to_hunters_costs_two_segments_at_most(language):
    season = Season("Tallow Range Wildlife Health Programme", "", "", "", 9999, 0, 0, 999, 0, 0, ())
    text = write_letter(BOOK.letter[language], season).text
    assert segments_of(spell_for_sms(text)) <= MOST_SEGMENTS


def test_every_language_has_the_whole_letter():
    assert set(BOOK.letter) == {"en", "es", "fr"}
    assert set(Letter.__struct_fields__) == set(LETTER)
    assert set(Page.__struct_fields__) == set(PAGE)
    for letter in BOOK.letter.values():
        for key, allowed in LETTER.items():
            assert {n for _, n, _, _ in Formatter().parse(getattr(letter, key)) if n} == allowed


def test_every_sentence_is_known_and_every_known_sentence_is_used():
    keys = {f for f in Say.__struct_fields__ if f not in ("names", "counts")}
    assert keys == set(SENTENCES)
    said = everything()
    for key in SENTENCES:
        start = re.split(r"\{", getattr(BOOK.say, key))[0]
        if start:
            assert any(start in line and "{" not in line for line in said), key


def test_freedom_is_named_only_where_it_is_withheld():
    for line in everything():
        if "freedom" in line:
            assert line.startswith("The disease is confirmed")
            assert "No probability of freedom" in line


def test_a_probability_stands_beside_its_design_prevalence():
    for result in results():
        lines = tell_zone(BOOK, result)
        if result.pfree is not None and result.animals and not result.confirmed:
            assert "1 %" in lines[1]
            assert "no proof that the disease is absent" in lines[1]


def test_a_confirmed_zone_shows_no_figure_at_all():
    for result in results():
        if result.confirmed:
            (line,) = tell_zone(BOOK, result, KILL.earliest)
            assert "%" not in line
            assert "14 Nov 2026" in line


def test_a_suspect_that_waits_withholds_the_probability():
    shown = withheld(results()[0], 2)
    assert shown.pfree is None
    assert all(m.pfree is None for m in shown.months)
    (line,) = tell_zone(BOOK, shown)
    assert line.startswith("2 suspect animals from Tallow North still waiting")
    assert "%" not in line


def test_nothing_is_rounded_up_to_certainty():
    lines = tell_zone(BOOK, replace(results()[0], pfree=0.9999, sse=0.949))
    assert "over 99 %" in lines[1]
    assert "94 % of cases" in lines[0]
    assert "100 %" not in " ".join(lines)


def test_young_and_old_positives_differ_in_words():
    band = Band(6.0, 6.0, None)
    young, old, opened, unknown = (
        tell_window(BOOK, infection_window(KILL, age), band)[0]
        for age in (
            age_in_laboratory("pig", 0, 6),
            age_in_laboratory("pig", 18, 28),
            age_in_laboratory("pig", 26, None),
            None,
        )
    )
    assert len({young, old, opened, unknown}) == 4
    assert "between 14 May 2026 and 15 Sep 2026" in young
    assert "In that time the disease" in young
    assert "between 14 Jul 2024 and 15 Sep 2026" in old
    assert "says little about where the disease is now" in old
    assert "perhaps years before" in opened


def test_what_is_not_available_is_said_to_be_so():
    window = infection_window(KILL, None)
    lines = tell_window(BOOK, window, Band(None, None, None))
    assert "not available" in lines[0]
    assert any("How far such animals range: not available" in line for line in lines)
    lines = tell_window(BOOK, window, Band(3.1, None, None))
    assert any("move away when they grow up: not available" in line for line in lines)


@pytest.mark.parametrize(
    ("old", "new", "named"),
    [
        ("within {near} km of where it died. So", "on {farm}. So", "old_positive.*farm"),
        ('wide = "An', 'wider = "An', "wide"),
        ("km = 16.6", 'km = "far"', "km"),
    ],
)
def test_a_faulty_file_names_its_key(old, new, named):
    assert old in TEXT
    with pytest.raises(EvidenceError, match=named):
        load_sentences(TEXT.replace(old, new, 1))
