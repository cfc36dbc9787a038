"""The transcript format: every form reads and writes back, and a bad line is named."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.demo.transcript import Line, Person, Snap, Transcript, TranscriptError, parse, write
from bot.messages import Pin

SAMPLE = """\
All in one text
Shows: one rich first text.
Starts: Sat 21 Nov 2026 06:10
hunter: 0491 570 006, Gil Marrow, with two dogs

+0:00 hunter> pus in a gland
    under the jaw
+0:00 bot> Stop cutting there.
+0:00 bot to f1> Pickup.
"""


def test_header_lines_and_facts_are_read():
    read = parse(SAMPLE + "\nAt the end\nfind: suspect\n")
    assert (read.title, read.shows) == ("All in one text", "one rich first text.")
    assert read.starts == datetime(2026, 11, 21, 6, 10)
    assert read.people == (Person("hunter", "0491 570 006", "Gil Marrow, with two dogs"),)
    assert read.lines[0].body == "pus in a gland under the jaw"
    assert read.lines[2] == Line(timedelta(0), "bot", body="Pickup.", to="f1")
    assert read.facts == (("find", "suspect"),)
    assert [line.who for line in read.script] == ["hunter"]


@pytest.mark.parametrize(
    ("row", "line"),
    [
        ("+6:10 hunter, sent +0:05> ok", Line(timedelta(hours=6, minutes=10), "hunter", body="ok",
                                              sent=timedelta(minutes=5))),
        ("+0:02 hunter, again>", Line(timedelta(minutes=2), "hunter", again=True)),
        ("+0:00 mate, pin -36.87000 147.15000 within 20 m> here",
         Line(timedelta(0), "mate", body="here", pin=Pin(-36.87, 147.15, 20.0))),
        ("+0:00 hunter, photo> look", Line(timedelta(0), "hunter", body="look", photo=Snap())),
        ("+0:00 hunter, photo at -36.87000 147.15000 taken -0:40> look",
         Line(timedelta(0), "hunter", body="look",
              photo=Snap(Pin(-36.87, 147.15), timedelta(minutes=-40)))),
        ("+2d 3:05 (nobody writes)", Line(timedelta(days=2, hours=3, minutes=5), act="waits")),
        ("+0:05 c1 corrects when> it was sunday",
         Line(timedelta(minutes=5), "c1", "corrects", "it was sunday", arg="when")),
        ("+0:05 c1 takes over", Line(timedelta(minutes=5), "c1", "takes over")),
        ("+0:05 c1 hands back", Line(timedelta(minutes=5), "c1", "hands back")),
        ("+0:05 c1 writes> Hi", Line(timedelta(minutes=5), "c1", "writes", "Hi")),
        ("+0:05 c1 closes as no_find", Line(timedelta(minutes=5), "c1", "closes", arg="no_find")),
        ("+0:05 c1 sends somebody", Line(timedelta(minutes=5), "c1", "sends")),
        ("+0:05 c1 gives it to f2", Line(timedelta(minutes=5), "c1", "gives", arg="f2")),
    ],
)  # fmt: skip
def test_every_form_reads_and_writes_back(row: str, line: Line):
    read = parse(SAMPLE + row + "\n")
    assert read.lines[-1] == line
    assert write(read).splitlines()[-1] == row


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("+0:99x hunter> ok", "line 10"),
        ("+0:00 hunter, upside down> ok", "upside down"),
        ("+0:00 c1 dances", "dances"),
        ("just words", "line 10"),
    ],
)
def test_a_line_that_cannot_be_read_is_named(row: str, says: str):
    with pytest.raises(TranscriptError, match=says):
        parse(SAMPLE + row + "\n")


def test_a_start_that_is_no_time_is_named():
    with pytest.raises(TranscriptError, match="Starts"):
        parse("Title\nStarts: tomorrow\n")


WORDS = st.lists(st.text("abc'?!,.>+():é0 ", min_size=1, max_size=12), max_size=40).map(
    lambda parts: " ".join(" ".join(parts).split())
)
LINES = st.builds(
    Line,
    at=st.integers(0, 20_000).map(lambda m: timedelta(minutes=m)),
    who=st.sampled_from(["hunter", "bot", "f1"]),
    body=WORDS,
)


@given(st.lists(LINES, min_size=1, max_size=6), WORDS)
def test_what_is_written_reads_as_the_same(lines: list[Line], shows: str):
    talk = Transcript("A talk", shows, datetime(2026, 11, 21, 6, 10), (), tuple(lines))
    assert parse(write(talk)) == talk
