"""What counts as asking for the round of the day, and what does not."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.fieldwork.asking_round import round_asked
from tests.fieldwork.rosters import DIALOG

# Texts of our own making, as people who drive a round may write them.
ASKED = [
    ("my round", "alone"),
    ("My round?", "alone"),
    ("what's my round", "alone"),
    ("Whats me round today mate", "alone"),
    ("todays jobs", "alone"),
    ("today's jobs please", "alone"),
    ("Hi, can you send me my jobs for today? thanks", "alone"),
    ("ROUND", "alone"),
    ("jobs", "alone"),
    ("where to next?", "alone"),
    ("what have I got on today", "alone"),
    ("pls show me the list again", "alone"),
    ("anything left on my round?", "alone"),
    ("how many jobs have I still got", "alone"),
    ("yes K7R-4TR, whats my round", "beside"),
    ("got the head, what are my jobs now", "beside"),
    ("found a sick stag on my round", "beside"),
    ("saw a dead cow on my round", "beside"),
    ("I'll be round at 4", ""),
    ("round 4pm", ""),
    ("on it, round dinner time", ""),
    ("yes", ""),
    ("yes please", ""),
    ("no thanks", ""),
    ("what", ""),
    ("thanks mate", ""),
    ("Boar with lumps, jaw, 2 km N of Brindle Hut", ""),
    ("shot one on the run to town", ""),
    ("", ""),
]


@pytest.mark.parametrize(("text", "asked"), ASKED)
def test_how_the_round_is_asked_for(text: str, asked: str) -> None:
    assert round_asked(text, DIALOG.words) == asked


@pytest.mark.parametrize(("text", "asked"), ASKED)
def test_case_and_spaces_change_nothing(text: str, asked: str) -> None:
    assert round_asked(f"  {text.upper().replace(' ', '   ')} ", DIALOG.words) == asked


@given(st.text(max_size=300), st.sampled_from(["my round", "jobs", ""]))
def test_any_text_is_one_of_three(words: str, with_them: str) -> None:
    assert round_asked(f"{words} {with_them}", DIALOG.words) in ("", "beside", "alone")
