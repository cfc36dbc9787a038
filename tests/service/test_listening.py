"""A line's texts through the real intake: kept once, however often a broken line brings them."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta

import pytest

from bot.commands.carry import Carrier, carry_once, keep_line
from bot.commands.opening import Opened
from bot.gateways.protocol import LINE_DOWN, Ear, LineDown, NotSent, Report, Sent
from bot.messages import Address, Heard
from bot.programme import Programme
from bot.service import tables as t
from bot.service.database import Database
from bot.service.intake import Intake
from bot.service.listening import Listener, lines_of
from tests.service.fakes import MATE, NOON, FakeGateway, column, heard, new_intake, rows


@pytest.fixture
def intake(sqlite: Database, programme: Programme) -> Intake:
    return new_intake(sqlite, programme)


class Clock:
    def __init__(self) -> None:
        self.at = NOON

    def __call__(self) -> datetime:
        return self.at


@dataclass
class FakeLine(FakeGateway):
    """Does one step of its script a round: a text or report to bring, or a fault to raise."""

    script: list[Heard | Report | Exception | None] = field(default_factory=list)
    opened: int = 0
    renames: bool = True
    at_end: object = None
    down: int = 0

    def open(self) -> None:
        self.opened += 1
        if self.opened <= self.down:
            raise LineDown("unreachable")

    def close(self) -> None:
        pass

    def listen(self, ear: Ear, wait_s: float) -> None:
        step = self.script.pop(0) if self.script else None
        if isinstance(step, Exception):
            raise step
        if isinstance(step, Report):
            ear.report(step)
        elif step is not None:
            ear.hear(step)
        elif self.at_end:
            self.at_end()

    def send(self, address: Address, body: str, key: str) -> Sent:
        if self.opened <= self.down:
            raise NotSent(LINE_DOWN, retry=True)
        super().send(address, body, key)
        return Sent(f"c-{key}", (f"c-{key}",))


class Stop:
    """Set by the end of a script; waits no time."""

    def __init__(self) -> None:
        self.is_on = False
        self.waits: list[float] = []

    def is_set(self) -> bool:
        return self.is_on

    def set(self) -> None:
        self.is_on = True

    def wait(self, seconds: float) -> None:
        self.waits.append(seconds)


def carried(intake: Intake, line: FakeLine, clock: Clock) -> Stop:
    stop = Stop()
    line.at_end = stop.set
    carrier = Carrier(Opened(intake, {"paddock": line}, None), "paddock", line, line, clock)
    keep_line(carrier, stop)
    return stop


def bodies(intake: Intake) -> list[str]:
    return column(intake.database, t.TextIn.body, order=t.TextIn.id)


def test_texts_come_in_and_answers_go_out_and_are_reported(intake: Intake) -> None:
    line = FakeLine(script=[heard("one"), None, Report("c-out-1", "delivered", NOON)])
    line.script.insert(2, heard("two", "2"))
    carried(intake, line, Clock())
    assert [body for _, body in line.sent] == ["noted one"]
    line.script = [heard("two", "2"), Report("c-out-1", "delivered", NOON)]
    carried(intake, line, Clock())
    assert bodies(intake) == ["one", "two"]
    reported = rows(intake.database, t.TextOut.id, t.TextOut.report)
    assert reported == [(1, "delivered"), (2, "")]


def test_a_line_that_breaks_is_opened_again_later_each_time(intake: Intake) -> None:
    line = FakeLine(script=[LineDown("dropped"), LineDown("silent"), ValueError("ours"), None])
    stop = carried(intake, line, Clock())
    assert line.opened == 4
    assert [0.5 * 2**n <= wait <= 2**n for n, wait in enumerate(stop.waits[:3])] == [True] * 3


def test_while_a_line_is_down_tries_count_and_then_it_goes_at_once(intake: Intake) -> None:
    intake.hear(heard("one"), NOON)
    line = FakeLine(down=2, script=[None])
    carried(intake, line, Clock())
    assert [body for _, body in line.sent] == ["noted one"]
    # One try in vain; the second time its wait was not over.
    assert column(intake.database, t.TextOut.attempts) == [2]


def test_what_comes_again_after_a_break_is_kept_once(intake: Intake) -> None:
    # Twice the same words before the break, and three times after it: one is new.
    line = FakeLine(script=[heard("yes", "a-1"), heard("yes", "a-2"), LineDown("dropped")])
    line.script += [heard("yes", f"b-{n}") for n in range(3)] + [heard("yes", "b-9", MATE)]
    carried(intake, line, Clock())
    assert bodies(intake) == ["yes"] * 4


@pytest.mark.parametrize(
    ("before", "after"), [(timedelta(minutes=11), timedelta()), (timedelta(), timedelta(minutes=6))]
)
def test_the_same_words_much_later_are_another_text(intake: Intake, before, after) -> None:
    clock = Clock()
    intake.hear(heard("yes", "a-1"), clock.at)
    clock.at += before
    ear = Listener(intake, "paddock", clock)
    clock.at += after
    ear.hear(heard("yes", "b-1"))
    assert bodies(intake) == ["yes", "yes"]


def test_a_line_whose_texts_keep_their_names_may_bring_the_same_words(intake: Intake) -> None:
    line = FakeLine(renames=False, script=[heard("yes", "1"), LineDown("x"), heard("yes", "2")])
    line.script.append(heard("yes", "2"))
    carried(intake, line, Clock())
    assert bodies(intake) == ["yes", "yes"]


def test_once_brings_in_sends_and_ends(intake: Intake, capsys) -> None:
    line = FakeLine(script=[heard("one"), heard("two", "2", MATE)])
    carrier = Carrier(Opened(intake, {"paddock": line}, None), "paddock", line, line, Clock())
    assert carry_once(carrier) == 0
    assert bodies(intake) == ["one", "two"]
    assert len(line.sent) == 2
    line.script = [LineDown("dropped")]
    assert carry_once(carrier) == 1
    assert "the line is down: dropped" in capsys.readouterr().err


def test_only_gateways_with_a_line_are_left_to_whoever_has_it() -> None:
    assert lines_of({"hill": FakeGateway(), "ridge": FakeLine()}) == ("ridge",)
