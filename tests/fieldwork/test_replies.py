"""What staff text back, as tables. The phrases are common practice, from memory: no corpus of
such replies is published. What must hold is the law of the file: one way, or asked."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.fieldwork.replies import (
    Ask,
    JobView,
    Noted,
    NothingOpen,
    NotStaff,
    OfferView,
    PassOn,
    StaffReply,
    read_reply,
)
from bot.fieldwork.staff_dialog import StaffDialog

ONE = (OfferView("7K4T"),)
TWO = (OfferView("7K4T"), OfferView("9QRM"))
LAPSED = (OfferView("7K4T", open=False),)
TAKEN = (JobView("7K4T"),)
HELD = (JobView("7K4T", "collected"),)
BOTH_TAKEN = (JobView("7K4T"), JobView("9QRM"))

YES = [
    ("yes", ""),
    ("Yes", ""),
    ("YES!", ""),
    ("y", ""),
    ("yep can do", ""),
    ("yeah mate", ""),
    ("yesss", ""),
    ("ok", ""),
    ("OK.", ""),
    ("sure", ""),
    ("no worries, will do", ""),
    ("No worries", ""),
    ("not a problem", ""),
    ("no dramas, on it", ""),
    ("will do", ""),
    ("I'll get it", ""),
    ("I’ll take it", ""),
    ("on my way, there by 4", "by 4"),
    ("omw", ""),
    ("yes 7K4T", ""),
    ("Yes 7k4t", ""),
    ("YES 7K 4T", ""),
    ("7K4T yes", ""),
    ("yes, be there at 16:30", "at 16:30"),
    ("yep, about 4pm", "about 4pm"),
    ("can do tomorrow arvo", "tomorrow arvo"),
    ("yes 7K4T first thing tomorrow", "first thing tomorrow"),
    ("yes in 2 hours", "in 2 hours"),
    ("ok leaving now, 40 min", "40 min"),
    ("yep before dark", "before dark"),
    ("not too far, will do", ""),
    ("too easy", ""),
    ("yes got it", ""),
    ("happy to", ""),
    ("accpeted", ""),
    ("👍", ""),
    ("dont worry, I can get it", ""),
    ("yes will get the pig", ""),
    ("yes, 10km is nothing", ""),
    ("yes, back 2nite", "2nite"),
]

NO = [
    "no",
    "n",
    "No sorry",
    "nope",
    "nah mate",
    "no can do",
    "can't",
    "cant do it today",
    "Can’t, sorry",
    "not today",
    "can't pick it up",
    "no 7K4T",
    "not able to sorry",
    "cannot get there",
    "too far for me",
    "ok, but not today",
    "unavailble",
    "won't be there",
    "I'm off sick",
]

UNCLEAR = [
    "yeah nah",
    "nah yeah",
    "maybe",
    "can't say yes yet",
    "cant say yet",
    "let me check",
    "not sure",
    "yes?",
    "yes 7K4T?",
    "yes no",
    "yes but not today",
    "not yet",
    "got it",
    "thanks",
    "tomorrow",
    "where is it",
    "?",
    "...",
    "7K4T",
    "might be able to",
    "yes if I can",
    "see you at night",
    'Liked "Pickup 7K4T: pig. Reply YES 7K4T or NO 7K4T"',
]


@pytest.mark.parametrize(("body", "words"), YES)
def test_one_open_offer_yes(body: str, words: str, dialog: StaffDialog) -> None:
    assert read_reply(body, ONE, (), dialog.words) == StaffReply("7K4T", "yes", words, body)


@pytest.mark.parametrize("body", NO)
def test_one_open_offer_no(body: str, dialog: StaffDialog) -> None:
    reading = read_reply(body, ONE, (), dialog.words)
    assert isinstance(reading, StaffReply), reading
    assert (reading.code, reading.answer) == ("7K4T", "no")


@pytest.mark.parametrize("body", UNCLEAR)
def test_one_open_offer_asked_then_passed_on(body: str, dialog: StaffDialog) -> None:
    assert isinstance(read_reply(body, ONE, (), dialog.words), Ask)
    assert read_reply(body, ONE, (), dialog.words, misses=1) == PassOn(("7K4T",), body)


COLLECTED = [
    "got it",
    "have it",
    "got",
    "Got it mate",
    "picked up",
    "pikced up",
    "picked it up",
    "collected",
    "yep picked up, all good",
    "got the head",
    "in the esky",
    "GOT 7K4T",
    "DONE 7K4T",
    "done",
    "no worries, picked it up",
]

HANDED_IN = [
    "handed in",
    "HANDED IN 7K4T",
    "handed it in",
    "dropped at lab",
    "dropped it off",
    "delivered",
    "delivred to the lab",
    "left it at the depot",
    "picked up and handed in",
    "yep, handed over",
]

IN_VAIN = [
    ("nobody there", "nobody_home"),
    ("no one home", "nobody_home"),
    ("noone here", "nobody_home"),
    ("nobdy there", "nobody_home"),
    ("NOBODY HOME 7K4T", "nobody_home"),
    ("can't do it, nobody home", "nobody_home"),
    ("gate locked, no access", "no_access"),
    ("NO ACCESS 7K4T", "no_access"),
    ("cant get in, nobody home", "no_access"),
    ("track's washed out, can't get through", "no_access"),
    ("dogs loose, couldnt get in", "no_access"),
    ("head gone", "not_there"),
    ("it's gone", "not_there"),
    ("head's gone", "not_there"),
    ("can't find it", "not_there"),
    ("nobody home and the freezer is empty", "not_there"),
    ("wrong head", "wrong_head"),
    ("WRONG HEAD 7K4T", "wrong_head"),
    ("head there but the card says another code", "wrong_head"),
    ("not the right one", "wrong_head"),
]
"""Why nothing was fetched. Common practice, from memory; each has a next step of its own."""
NOT_THERE = [body for body, _ in IN_VAIN]


@pytest.mark.parametrize(
    ("body", "jobs", "answer"),
    [
        *((b, TAKEN, "collected") for b in COLLECTED),
        *((b, HELD, "handed_in") for b in HANDED_IN),
        *((b, TAKEN, "handed_in") for b in HANDED_IN),
        *((b, TAKEN, answer) for b, answer in IN_VAIN),
        ("can't make it after all", TAKEN, "no"),
        ("no 7K4T", TAKEN, "no"),
        ("running late, there by 6pm", TAKEN, "yes"),
        ("tomorrow arvo", TAKEN, "yes"),
        ("yes 7K4T", TAKEN, "yes"),
    ],
)
def test_one_job(body: str, jobs: tuple[JobView, ...], answer: str, dialog: StaffDialog) -> None:
    reading = read_reply(body, (), jobs, dialog.words)
    assert isinstance(reading, StaffReply), reading
    assert (reading.code, reading.answer) == ("7K4T", answer)


@pytest.mark.parametrize(
    ("body", "offers", "jobs", "expected"),
    [
        ("yes", TWO, (), Ask("which", ("7K4T", "9QRM"), "yes")),
        ("yes 9QRM", TWO, (), StaffReply("9QRM", "yes", "", "yes 9QRM")),
        ("yes 9qrm by 5pm", TWO, (), StaffReply("9QRM", "yes", "by 5pm", "yes 9qrm by 5pm")),
        ("yes 7K4T no 9QRM", TWO, (), Ask("which", ("7K4T", "9QRM"), "yes 7K4T no 9QRM")),
        ("yes 8K4T", ONE, (), Ask("code", ("7K4T",), "yes 8K4T")),
        ("yes O1L0", (OfferView("0110"),), (), StaffReply("0110", "yes", "", "yes O1L0")),
        ("yes", LAPSED, (), StaffReply("7K4T", "yes", "", "yes")),
        ("yes 7K4T", LAPSED, TAKEN[:0], StaffReply("7K4T", "yes", "", "yes 7K4T")),
        ("yes", (OfferView("9QRM"),), TAKEN, StaffReply("9QRM", "yes", "", "yes")),
        ("no", (OfferView("9QRM"),), TAKEN, StaffReply("9QRM", "no", "no", "no")),
        ("got it", (OfferView("9QRM"),), TAKEN, Ask("meaning", ("9QRM", "7K4T"), "got it")),
        (
            "picked up",
            (OfferView("9QRM"),),
            TAKEN,
            StaffReply("7K4T", "collected", "", "picked up"),
        ),
        ("got it", (), BOTH_TAKEN, Ask("which", ("7K4T", "9QRM"), "got it")),
        ("got 9QRM", (), BOTH_TAKEN, StaffReply("9QRM", "collected", "", "got 9QRM")),
        ("no", (), TAKEN, Ask("meaning", ("7K4T",), "no")),
        # A bare refusal gives nothing back that is in the hand.
        ("cant hand it in", (), HELD, Ask("meaning", ("7K4T",), "cant hand it in")),
        ("ok thanks", (), TAKEN, Noted("ok thanks")),
        ("cheers", (), HELD, Noted("cheers")),
        ("no worries", (), TAKEN, Noted("no worries")),
        (
            "haven't picked it up yet",
            (),
            TAKEN,
            Ask("unsure", ("7K4T",), "haven't picked it up yet"),
        ),
        ("not handed in", (), HELD, Ask("unsure", ("7K4T",), "not handed in")),
        ("picked up?", (), TAKEN, Ask("unsure", ("7K4T",), "picked up?")),
        ("the gate code?", (), TAKEN, Ask("meaning", ("7K4T",), "the gate code?")),
    ],
)
def test_which_job(body, offers, jobs, expected, dialog: StaffDialog) -> None:
    assert read_reply(body, offers, jobs, dialog.words) == expected


@pytest.mark.parametrize(
    ("body", "offers", "expected"),
    [
        ("yes", (), NothingOpen),
        ("ok thanks", (), NothingOpen),
        ("handed in", (), NothingOpen),
        ("yes got a boar with lumps", (), NotStaff),
        ("no lumps in this one", (), NotStaff),
        ("where do I send the bill", (), NotStaff),
        ("shot a boar with lumps at Brindle", (), NotStaff),
        ("Shot a boar at Brindle, swollen glands", ONE, NotStaff),
        ("found a dead sow", ONE, NotStaff),
        ("report", ONE, NotStaff),
        ("ok, also shot a boar with pus in the jaw", ONE, Ask),
        ("yes 7K4T. it had lumps?", ONE, StaffReply),
        ("the pig?", ONE, Ask),
    ],
)
def test_staff_or_hunter(body, offers, expected, dialog: StaffDialog) -> None:
    assert isinstance(read_reply(body, offers, (), dialog.words), expected)


PIECES = [
    "yes",
    "no",
    "not",
    "got it",
    "can't",
    "picked up",
    "7K4T",
    "9QRM",
    "by 4pm",
    "handed in",
    "?",
]
bodies = st.one_of(
    st.text(max_size=2000),
    st.lists(st.sampled_from(PIECES)).map(" ".join),
)


@given(bodies, st.integers(0, 2), st.integers(0, 2))
def test_any_text_is_read_or_asked(dialog: StaffDialog, body: str, offers: int, jobs: int) -> None:
    """No exception, and never an answer about a job that is not his."""
    mine = TWO[:offers], BOTH_TAKEN[:jobs]
    reading = read_reply(body, *mine, dialog.words)
    if isinstance(reading, StaffReply):
        assert reading.code in {v.code for group in mine for v in group}


@given(st.sampled_from([b for b, _ in YES] + NO + UNCLEAR + COLLECTED + HANDED_IN + NOT_THERE))
def test_capitals_and_spaces_change_nothing(dialog: StaffDialog, body: str) -> None:
    plain = read_reply(body, ONE, (), dialog.words)
    loud = read_reply(f"  {body.upper().replace(' ', '   ')} ", ONE, (), dialog.words)
    assert type(plain) is type(loud)
    if isinstance(plain, StaffReply) and isinstance(loud, StaffReply):
        assert (plain.code, plain.answer) == (loud.code, loud.answer)
