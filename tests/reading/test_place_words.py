"""dialogs/places.toml as it is loaded, and what a fault in it says."""

from __future__ import annotations

import pytest
from landmark_frame import WORDS

from bot.reading.place_tokens import PhraseTable, tokens_of
from bot.reading.place_words import PlaceWordsError, load_place_words
from bot.reading.scan import scan_of
from bot.shipped import shipped

TEXT = (shipped("dialogs") / "places.toml").read_text(encoding="utf-8")

# 3GPP TS 23.038, the default alphabet without its extension, as far as letters and marks go.
GSM7 = set("@£$¥èéùìòÇØøÅåÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?¡ÄÖÑÜ§¿äöñüà") | set(
    "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz{}_"  # {} and _ name the placeholders.
)


@pytest.mark.parametrize(
    ("kind", "metres"),
    [("hut", 100), ("creek", 1500), ("mountain", 700), ("Creek", 1500), ("stn", 1000), ("", 500),
     ("shopping centre", 500)],
)  # fmt: skip
def test_a_kind_has_its_reach(kind: str, metres: float):
    """Common practice, no source: what matters is that a creek reaches further than a hut."""
    assert WORDS.radius(kind) == metres


def test_every_language_says_the_same_things_within_gsm7():
    assert set(WORDS.frames) == set(WORDS.assumed) == {"en", "es", "fr"}
    for language in WORDS.frames:
        frame, assumed = WORDS.frames[language], WORDS.assumed[language]
        said = [frame.at, frame.away, *frame.points]
        said += [getattr(assumed, field) for field in assumed.__struct_fields__]
        assert set("".join(said)) <= GSM7
        assert "{landmark}" in frame.at
        assert all(part in frame.away for part in ("{distance}", "{direction}", "{landmark}"))
        assert len(set(frame.points)) == 8


@pytest.mark.parametrize(
    ("change", "named"),
    [
        (("[names]", "[name]"), "name"),
        (("radius = 100\n", 'radius = "far"\n'), "radius"),
        (("[frames.en]", "[frames.en\n"), "places.toml"),
        (('away = "{distance} {direction} of {landmark}"', ""), "away"),
    ],
)
def test_a_fault_names_the_file_and_the_key(change: tuple[str, str], named: str):
    assert change[0] in TEXT
    with pytest.raises(PlaceWordsError, match=r"places\.toml") as fault:
        load_place_words(TEXT.replace(*change, 1))
    assert named in str(fault.value)


@pytest.mark.parametrize(
    ("text", "tokens"),
    [
        ("3kmNW of Mt. Teverin", [("3", ""), ("km", ""), ("nw", ""), ("of", ""), ("mt", ""),
                                  ("teverin", ".")]),
        ("3kms", [("3", ""), ("kms", "")]),
        ("1-2 km", [("1", ""), ("2", "-"), ("km", "")]),
        ("½ km, d'Orrin", [("½", ""), ("km", ""), ("d", ","), ("orrin", "")]),
        ("Harlan's (3,5)", [("harlans", ""), ("3,5", "-")]),
        ("CAFÉ  hut", [("cafe", ""), ("hut", "")]),
    ],
)  # fmt: skip
def test_tokens_and_the_marks_before_them(text: str, tokens: list[tuple[str, str]]):
    keys, starts, ends, marks = tokens_of(scan_of(text))
    assert list(zip(keys, marks, strict=True)) == tokens
    for start, end in zip(starts, ends, strict=True):
        assert 0 <= start < end <= len(text)


def test_a_letter_that_grows_when_made_small_moves_no_stretch():
    text = "\u0130\u0130 hut"
    tokens = tokens_of(scan_of(text))
    assert text[tokens.starts[-1] : tokens.ends[-1]] == "hut"


def test_the_longest_phrase_wins_and_none_runs_over_a_comma():
    table = PhraseTable([("close", 1), ("close to", 2), ("close to the edge", 3)])
    for text, expected in [("close to the edge", (4, 3)), ("close to home", (2, 2)),
                           ("close, to the edge", (1, 1)), ("closer", None)]:  # fmt: skip
        tokens = tokens_of(scan_of(text))
        assert table.at(tokens, 0, len(tokens.keys)) == expected
