"""A find's code as staff write it back: with its dash, without, in two words, in any case."""

from __future__ import annotations

import pytest

from bot.fieldwork.replies import JobView, OfferView, StaffReply, read_reply
from bot.service.codes import seeded
from tests.fieldwork.rosters import DIALOG

DRAWN = [seeded(n)() for n in range(12)]


def forms(code: str) -> tuple[str, ...]:
    plain = code.replace("-", "")
    return code, plain, code.replace("-", " "), code.lower(), plain.lower()


@pytest.mark.parametrize("code", DRAWN)
@pytest.mark.parametrize("form", range(5))
@pytest.mark.parametrize(("words", "answer"), [
    ("YES", "yes"), ("NO", "no"), ("GOT", "collected"), ("HANDED IN", "handed_in"),
    ("NOBODY HOME", "nobody_home"), ("NO ACCESS", "no_access"),
    ("HEAD GONE", "not_there"), ("WRONG HEAD", "wrong_head"),
])  # fmt: skip
def test_a_code_as_it_is_drawn_is_known_again(code, form, words, answer) -> None:
    other = next(c for c in DRAWN if c != code)
    body = f"{words} {forms(code)[form]}"
    offers, jobs = (OfferView(code), OfferView(other)), ()
    if answer not in ("yes", "no"):
        offers, jobs = (), (JobView(code), JobView(other, "collected"))
    said = read_reply(body, offers, jobs, DIALOG.words)
    assert isinstance(said, StaffReply), said
    assert (said.code, said.answer) == (code, answer)


@pytest.mark.parametrize("code", DRAWN)
def test_a_codes_digits_are_no_time(code) -> None:
    said = read_reply(f"yes {code.replace('-', ' ')} at 4pm", (OfferView(code),), (), DIALOG.words)
    assert (said.code, said.words) == (code, "at 4pm")
