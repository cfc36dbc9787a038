"""Texts go in by the one door; the evidence reads the finds and the laboratory's word back."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from bot.commands.loading import loaded_dialog, loaded_programme
from bot.evidence.finds import find_of
from bot.fieldwork.custody import HUNTER, HandedOver, LabSaid
from bot.messages import Heard
from bot.service.custody import keep_custody
from bot.service.finds import kept_finds
from bot.service.wiring import open_intake

AT = datetime(2026, 11, 16, 19, 30, tzinfo=UTC)
CLEAN = "checked all six glands in the head, all clear. boar shot 5am today, -36.766 147.119"
SUSPECT = "sow shot 5am today at -36.70 147.20, pus in the jaw gland, head is in the ute"


@pytest.fixture
def texted(database):
    """A clean find and a suspect one, from two hunters."""
    intake = open_intake(database, loaded_dialog(None), loaded_programme(None))
    for number, (sender, body) in enumerate(
        [("+61491573770", CLEAN), ("+61491570006", SUSPECT)], 1
    ):
        intake.hear(Heard(f"t{number}", "paddock", sender, body, AT), AT)
    return database


def read(database, until=AT + timedelta(days=1)):
    with database.read() as connection:
        return list(kept_finds(connection, until))


def test_finds_come_back_as_evidence(texted):
    clean, suspect = (find_of(k.code, k.state, k.outcome, k.conversation) for k in read(texted))
    assert (clean.state, clean.outcome, clean.looked.count) == ("clean", "", 6)
    assert (clean.animal.species, clean.animal.sort) == ("pig", "boar")
    assert (clean.lat, clean.lon) == pytest.approx((-36.766, 147.119))
    assert suspect.state == "suspect"
    assert suspect.when.earliest < AT


def test_what_was_opened_later_is_not_read(texted):
    assert read(texted, AT) == []


@pytest.mark.parametrize(
    ("status", "outcome", "heard"),
    [("final", "positive", "positive"), ("final", "negative", "negative"), ("received", "", "")],
)
def test_the_laboratorys_word_stands_with_its_find(texted, status, outcome, heard):
    code = next(k.code for k in read(texted) if k.state == "suspect")
    given = HandedOver(AT, "f1", code, HUNTER, "f1")
    said = LabSaid(AT, "lab", code, status, outcome=outcome)
    with texted.write() as connection:
        keep_custody(connection, code, [given, said], AT)
    assert [k.outcome for k in read(texted)] == ["", heard]
