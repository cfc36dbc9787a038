"""A wait that would end at night ends in the morning, by the programme's own clock."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import msgspec
import pytest

from bot.commands.loading import loaded_programme
from bot.talk.turn import by_day

PROGRAMME = loaded_programme(None)


@pytest.mark.parametrize(
    ("night", "at", "then"),
    [
        ((21, 6), "2026-11-21T20:59", "2026-11-21T20:59"),
        ((21, 6), "2026-11-21T21:00", "2026-11-22T06:00"),
        ((21, 6), "2026-11-22T05:59", "2026-11-22T06:00"),
        ((21, 6), "2026-11-22T06:00", "2026-11-22T06:00"),
        ((1, 5), "2026-11-22T00:30", "2026-11-22T00:30"),
        ((1, 5), "2026-11-22T03:00", "2026-11-22T05:00"),
        ((0, 0), "2026-11-22T03:00", "2026-11-22T03:00"),
        # The clock goes back at 3:00 on 5 April 2026 (tz database, Australia/Melbourne).
        ((21, 6), "2026-04-04T23:00", "2026-04-05T06:00"),
    ],
)
def test_by_day(night: tuple[int, int], at: str, then: str) -> None:
    pickup = msgspec.structs.replace(PROGRAMME.head.pickup, night_from=night[0], night_to=night[1])
    head = msgspec.structs.replace(PROGRAMME.head, pickup=pickup)
    programme = replace(PROGRAMME, head=head)
    local = datetime.fromisoformat(at).replace(tzinfo=programme.zone)
    found = by_day(local.astimezone(UTC), programme)
    assert found.tzinfo is UTC
    assert found.astimezone(programme.zone).replace(tzinfo=None) == datetime.fromisoformat(then)
