"""The review list's order, one rule at a time. The order is this project's own."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from msgspec import Struct

from bot.reading.values import When
from bot.shipped import dialog_files
from bot.talk.dialog import load_dialog
from bot.talk.state import Answer, Conversation, PickupView, Said
from bot.talk.urgency import DANGER, most_urgent_first, warm_for, worst_first

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)


class Row(Struct, frozen=True):
    name: str
    reasons: tuple[str, ...] = ("no_answer",)
    at_once: bool = False
    warm: timedelta | None = None
    overdue: timedelta | None = None
    opened_at: datetime = NOON


@pytest.mark.parametrize(
    ("first", "second"),
    [
        (Row("a", at_once=True), Row("b", ("person_in_trouble",), warm=99 * HOUR)),
        (Row("a", ("exposure",)), Row("b", warm=99 * HOUR)),
        (Row("a", ("no_answer", "exposure")), Row("b", ("sign_in_body",))),
        (Row("a", ("person_in_trouble",), True), Row("b", ("blisters",), True)),
        (Row("a", ("exposure",)), Row("b", ("no_access",), overdue=99 * HOUR)),
        (Row("a", ("nobody_home",)), Row("b", overdue=99 * HOUR)),
        (Row("a", ("no_answer", "wrong_head")), Row("b", warm=99 * HOUR)),
        (Row("a", overdue=HOUR), Row("b", warm=99 * HOUR, opened_at=NOON - HOUR)),
        (Row("a", overdue=9 * HOUR), Row("b", overdue=8 * HOUR, warm=99 * HOUR)),
        (Row("a", ("exposure",)), Row("b", overdue=99 * HOUR)),
        (Row("a", warm=9 * HOUR), Row("b", warm=8 * HOUR, opened_at=NOON - HOUR)),
        (Row("a", warm=HOUR), Row("b", opened_at=NOON - 99 * HOUR)),
        (Row("a", opened_at=NOON - HOUR), Row("b")),
    ],
)
def test_the_first_comes_first(first: Row, second: Row) -> None:
    assert most_urgent_first([second, first]) == (first, second)
    assert most_urgent_first([first, second]) == (first, second)


def test_reasons_of_one_find_are_worst_first() -> None:
    assert worst_first(["no_answer", "sign_in_body", "exposure"]) == (
        "exposure",
        "sign_in_body",
        "no_answer",
    )


def test_every_reason_that_cannot_wait_counts_as_danger() -> None:
    """What advice.toml calls a person for at any hour, and all that is about people."""
    advice = load_dialog(dialog_files()).advice
    urgent = [block for block in advice.kind.values() if block.at_once]
    blocks = [*urgent, *advice.exposure.values(), *advice.trouble.values()]
    reasons = {block.review for block in blocks}
    assert reasons <= set(DANGER)
    assert len(reasons) > 5


def head(**fields) -> Conversation:
    fields = {"kind": "head", "started_at": NOON - 2 * HOUR, **fields}
    return Conversation("K7R-4TX", **fields)


def said(question: str, *keys: str) -> dict[str, Answer]:
    return {question: Answer(question, Said(keys), "", NOON)}


DIED = {"when": Answer("when", When(NOON - 9 * HOUR, NOON - 8 * HOUR), "", NOON)}


@pytest.mark.parametrize(
    ("conversation", "warm"),
    [
        (head(), 2 * HOUR),
        (head(answers=DIED), 9 * HOUR),
        (head(answers=DIED | said("storage", "bagged")), 9 * HOUR),
        (head(answers=DIED | said("storage", "bagged", "frozen")), None),
        (head(answers=DIED | said("storage", "chilled")), None),
        (head(answers=DIED | said("storage", "dog_took")), None),
        (head(answers=DIED, pickup=PickupView("taken")), 9 * HOUR),
        (head(answers=DIED, pickup=PickupView("collected")), None),
        (head(kind="body"), None),
        (head(kind=""), None),
    ],
)
def test_how_long_a_head_has_been_warm(conversation: Conversation, warm: timedelta | None) -> None:
    assert warm_for(conversation, NOON) == warm


def test_a_death_still_to_come_is_not_warm_before_it() -> None:
    assert warm_for(head(started_at=NOON), NOON - HOUR) == timedelta()
