"""Long texts in parts: any order, doubled, missing one, the reference begun anew; and erased."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from itertools import permutations

import pytest
from msgspec.structs import replace

from bot.messages import Part
from bot.programme import Programme
from bot.service import tables as t
from bot.service.erasing import erase, hunters_of
from bot.service.intake import Intake
from tests.service.fakes import HUNTER, MATE, NOON, column, heard, rows

WORDS = ("a boar with pus ", "under the jaw, 3 km ", "north of the hut")
WHOLE = "".join(WORDS)
PATIENCE = timedelta(minutes=5)


def part(number: int, body: str | None = None, ref: int = 7, of: int = 3, sender: str = HUNTER):
    words = WORDS[number - 1] if body is None else body
    told = heard(words, f"{ref}-{number}-{len(words)}", sender)
    return replace(told, part=Part(ref, of, number, "12345"))


def bodies(intake: Intake) -> list[str]:
    return column(intake.database, t.TextIn.body, order=t.TextIn.id)


def reviews(intake: Intake) -> list[tuple]:
    return rows(intake.database, t.Review.reason, t.Review.heard)


def test_parts_in_any_order_are_one_text(intake: Intake) -> None:
    for ref, order in enumerate(permutations((1, 2, 3))):
        for number in order:
            intake.hear(part(number, ref=ref), NOON)
            intake.hear(part(number, ref=ref), NOON + PATIENCE / 2)
    assert bodies(intake) == [WHOLE] * 6
    assert intake.run_due(NOON + PATIENCE) == 0
    assert reviews(intake) == []


def test_no_words_stay_where_parts_were_kept(intake: Intake) -> None:
    for number in (1, 2, 3):
        intake.hear(part(number), NOON)
    assert not any(words in column(intake.database, t.LongText.parts)[0] for words in WORDS)
    intake.run_due(NOON + timedelta(days=2))
    assert column(intake.database, t.LongText.id) == []


@pytest.mark.parametrize(
    ("there", "words"),
    [
        ((1, 3), f"{WORDS[0].strip()}  [...] {WORDS[2]}"),
        ((2,), f"[...] {WORDS[1].strip()}  [...]"),
        ((1, 2), f"{WORDS[0]}{WORDS[1]} [...]"),
    ],
)
def test_a_part_that_stays_away_is_waited_for_and_marked(intake: Intake, there, words) -> None:
    for number in there:
        intake.hear(part(number), NOON)
    assert intake.run_due(NOON + PATIENCE - timedelta(seconds=1)) == 0
    assert bodies(intake) == []
    assert intake.run_due(NOON + PATIENCE) == 1
    assert intake.run_due(NOON + PATIENCE) == 0
    assert bodies(intake) == [words]
    assert reviews(intake) == [("text_incomplete", words)]


def test_a_part_that_comes_too_late_comes_alone(intake: Intake) -> None:
    intake.hear(part(1), NOON)
    intake.hear(part(3), NOON)
    intake.run_due(NOON + PATIENCE)
    for _ in range(2):
        intake.hear(part(2), NOON + 2 * PATIENCE)
    assert bodies(intake)[1:] == [f"[...] {WORDS[1].strip()}  [...]"]


def test_the_same_reference_with_other_words_is_another_text(intake: Intake) -> None:
    intake.hear(part(1), NOON)
    for number, words in ((1, "no "), (2, "wait "), (3, "a sow")):
        intake.hear(part(number, words), NOON + timedelta(minutes=1))
    assert bodies(intake) == [f"{WORDS[0].strip()}  [...]", "no wait a sow"]


def test_a_day_later_the_same_words_are_another_text(intake: Intake) -> None:
    for day in (0, 2):
        for number in (1, 2, 3):
            intake.hear(
                replace(part(number), id=f"{day}-{number}"), NOON + timedelta(days=day, minutes=1)
            )
    assert bodies(intake) == [WHOLE, WHOLE]


def test_two_senders_with_one_reference_stay_apart(intake: Intake) -> None:
    for number in (1, 2, 3):
        intake.hear(part(number), NOON)
        intake.hear(part(number, f"{number} ", sender=MATE), NOON)
    assert bodies(intake) == [WHOLE, "1 2 3"]


def test_halves_of_characters_are_joined(intake: Intake) -> None:
    """The parts of a telephone that splits pairs, which TS 23.040 forbids; and one left over."""
    boar = "\N{BOAR}".encode("utf-16-be", "surrogatepass")
    halves = [boar[n : n + 2].decode("utf-16-be", "surrogatepass") for n in (0, 2)]
    intake.hear(part(1, f"seen {halves[0]}", 1, 2), NOON)
    intake.hear(part(2, f"{halves[1]} dead", 1, 2), NOON)
    intake.hear(part(1, "costs 5 \x1b", 2, 2), NOON)
    intake.hear(part(2, "e a kilo", 2, 2), NOON)
    intake.hear(part(1, f"odd {halves[0]}", 3, 2), NOON)
    intake.hear(part(2, "end", 3, 2), NOON)
    assert bodies(intake) == ["seen \N{BOAR} dead", "costs 5 € a kilo", "odd \ufffdend"]


def test_parts_at_the_same_time_are_one_text(intake: Intake) -> None:
    parts = [part(n, ref=ref) for ref in range(4) for n in (1, 2, 3)]
    with ThreadPoolExecutor(6) as pool:
        list(pool.map(lambda each: intake.hear(each, NOON), parts))
    assert bodies(intake) == [WHOLE] * 4


def test_a_machine_that_raises_loses_no_joined_text(intake: Intake) -> None:
    intake.hear(part(1, "boom", 1, 2), NOON)
    intake.hear(part(2, " now", 1, 2), NOON)
    intake.hear(part(1, "boom", 2, 2), NOON)
    intake.run_due(NOON + PATIENCE)
    assert bodies(intake) == ["boom now", "boom [...]"]
    assert {reason for reason, _ in reviews(intake)} == {"software_fault", "text_incomplete"}


def test_erasing_takes_waiting_parts_along(intake: Intake, programme: Programme) -> None:
    intake.hear(heard("hello"), NOON)
    intake.hear(part(1), NOON)
    intake.hear(part(1, sender=MATE), NOON)
    erase(intake.database, hunters_of(intake.database, programme, HUNTER), NOON)
    assert column(intake.database, t.LongText.sender) == [MATE]
