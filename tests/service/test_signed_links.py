"""Signed links: one purpose, one age, short enough for a text."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.service.links import AGES, JOB, SPECIMEN, LinkError, LinkExpired, Links

NOW = datetime(2026, 11, 25, 7, 0, tzinfo=UTC)
LINKS = Links("a secret for tests and nothing else", "https://post.example")


def token(address: str) -> str:
    return address.rsplit("/", 1)[1]


def test_a_link_opens_what_it_was_made_for() -> None:
    assert LINKS.open_job(token(LINKS.job("K7R-4TR", "f1", NOW)), NOW) == ("K7R-4TR", "f1")
    assert LINKS.open_specimen(token(LINKS.specimen("K7R-4TR/2", NOW)), NOW) == "K7R-4TR/2"


def test_a_link_of_one_purpose_opens_nothing_else() -> None:
    with pytest.raises(LinkError):
        LINKS.open_specimen(token(LINKS.job("K7R-4TR", "f1", NOW)), NOW)
    with pytest.raises(LinkError):
        LINKS.open_job(token(LINKS.specimen("K7R-4TR", NOW)), NOW)


@pytest.mark.parametrize("purpose", [JOB, SPECIMEN])
def test_a_link_ages(purpose: str) -> None:
    made = LINKS.token(purpose, "K7R-4TR~f1", NOW)
    good, late = NOW + AGES[purpose], NOW + AGES[purpose] + timedelta(seconds=1)
    opens = LINKS.open_job if purpose == JOB else LINKS.open_specimen
    assert opens(made, good)
    with pytest.raises(LinkExpired):
        opens(made, late)


def test_another_secret_opens_nothing() -> None:
    other = Links("another secret for tests", "https://post.example")
    with pytest.raises(LinkError):
        other.open_job(token(LINKS.job("K7R-4TR", "f1", NOW)), NOW)


@given(st.integers(0, 60), st.characters(codec="ascii", categories=["L", "N"]))
def test_one_wrong_character_opens_nothing(at: int, character: str) -> None:
    made = token(LINKS.job("K7R-4TR", "f1", NOW))
    at %= len(made)
    # The last character of an unpadded base64 of 12 bytes carries six whole bits: none is idle.
    forged = made[:at] + character + made[at + 1 :]
    if forged == made:
        return
    with pytest.raises(LinkError):
        LINKS.open_job(forged, NOW)


@given(st.text(max_size=80))
def test_nonsense_is_refused_and_never_breaks(text: str) -> None:
    with pytest.raises(LinkError):
        LINKS.open_job(text, NOW)


def test_a_link_is_short() -> None:
    """An offer of 230 characters keeps to two segments (306 septets) with it."""
    assert len(LINKS.job("K7R-4TR", "f1", NOW)) <= 64


def test_without_a_public_address_there_is_no_link() -> None:
    assert Links("secret").job("K7R-4TR", "f1", NOW) == ""
