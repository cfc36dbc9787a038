"""Ages in the database: added one after another, never changed, read back in order."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from bot.commands.loading import loaded_dialog, loaded_programme
from bot.evidence.told_age import AgeTold
from bot.messages import Heard
from bot.service.ages import ages_of, all_ages, keep_age
from bot.service.finds import one_kept_find
from bot.service.wiring import open_intake

AT = datetime(2026, 11, 16, 19, 30, tzinfo=UTC)
TEXT = "sow shot 5am today at -36.70 147.20, pus in the jaw gland, head is in the ute"


@pytest.fixture
def code(database):
    intake = open_intake(database, loaded_dialog(None), loaded_programme(None))
    return intake.hear(Heard("t1", "paddock", "+61491570006", TEXT, AT), AT).code


def told(days: int, **more) -> AgeTold:
    return AgeTold(AT + timedelta(days=days), "f1", "teeth", "pig", {"molars": "first"}, **more)


def test_sayings_come_back_in_order(database, code):
    first, second = told(1), AgeTold(AT, "lab", "laboratory", "pig", lower=7, upper=9)
    for one in (first, second):
        with database.write() as connection:
            keep_age(connection, code, one)
    with database.read() as connection:
        assert ages_of(connection, code) == (first, second)
        assert ages_of(connection, "NOBODY") == ()
        assert all_ages(connection) == {code: (first, second)}


def test_no_age_without_a_find(database):
    with pytest.raises(LookupError, match="no find"), database.write() as connection:
        keep_age(connection, "NOBODY", told(0))


def test_one_find_is_read_as_all_are(database, code):
    with database.read() as connection:
        kept = one_kept_find(connection, code)
        assert one_kept_find(connection, "NOBODY") is None
    assert kept is not None
    assert (kept.code, kept.state, kept.outcome) == (code, "suspect", "")
