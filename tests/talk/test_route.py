"""Whose text it is and which conversation it belongs to, as a table of plain facts."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from bot.programme import Programme
from bot.reading.read import read
from bot.reading.values import Reading
from bot.scenes import scene_for
from bot.talk.dialog import Dialog
from bot.talk.route import Facts, OpenTalk, Route, route

NOW = datetime(2026, 11, 21, 20, 10, tzinfo=UTC)
ASKING = OpenTalk("K7R-4TR", "asking", NOW - timedelta(hours=1), "when", core_known=False)
SETTLED = OpenTalk("K7R-4TR", "settled", NOW - timedelta(hours=1), "", core_known=True)
TOLD = OpenTalk(
    *("K7R-4TR", "asking", NOW - timedelta(days=2), "land"),
    core_known=True,
    dead_by=NOW - timedelta(days=2, hours=1),
)
CLOSED = OpenTalk("K7R-4TR", "closed", NOW - timedelta(days=1), "", core_known=True)
OLD = OpenTalk("K7R-4TR", "settled", NOW - timedelta(days=20), "", core_known=True)


def heard(body: str, dialog: Dialog, programme: Programme) -> Reading:
    return read(body, scene_for(programme, dialog.words, NOW))


@pytest.mark.parametrize(
    ("talks", "body", "code"),
    [
        ((), "boar with pus in the jaw", ""),
        ((ASKING,), "yesterday arvo", "K7R-4TR"),
        ((ASKING,), "another one, sow with lumps in the throat", "K7R-4TR"),  # still half told
        ((SETTLED,), "thanks mate", "K7R-4TR"),
        ((SETTLED,), "no, it was Sunday", "K7R-4TR"),
        ((SETTLED,), "got another, sow with lumps in the throat", ""),
        ((SETTLED,), "sow with pus in the jaw at Tallow Saddle", ""),
        ((CLOSED,), "thanks mate", "K7R-4TR"),
        ((CLOSED,), "sow with pus in the jaw", ""),
        ((OLD,), "sow with pus in the jaw", ""),
        ((CLOSED,), "about k7r 4tr, sow it was", "K7R-4TR"),
        ((TOLD,), "sow with pus in the jaw, shot yesterday", ""),
        ((TOLD,), "sow with pus in the jaw, shot sunday", "K7R-4TR"),
        ((TOLD,), "no, it was yesterday", "K7R-4TR"),
        ((CLOSED, OpenTalk("W9R-X4H", "asking", NOW, "when")), "yesterday", "W9R-X4H"),
    ],
)
def test_which_of_a_hunters_own_talks(
    talks: tuple[OpenTalk, ...], body: str, code: str, dialog: Dialog, programme: Programme
) -> None:
    got = route(Facts(NOW, talks), body, heard(body, dialog, programme), field_reply=False)
    assert got == Route("find", code)
