"""Whoever can't is told what truly becomes of the pickup: the next person, a wait, or nobody."""

from __future__ import annotations

from datetime import timedelta

import pytest

from bot.fieldwork.case import NO_NOTED
from bot.messages import SendText
from tests.fieldwork.test_pickups import NOON, NUMBERS, Story

NEXT, NOBODY, WAITS = "goes to the next person", "the coordinator has it now", "on duty now"


def answer_to(story: Story, who: str) -> str:
    """What the last event had somebody told."""
    [body] = [e.body for e in story.of(SendText) if e.to.number == NUMBERS[who]]
    return body


@pytest.mark.parametrize("taken", [False, True])
def test_the_next_person_is_named_only_while_there_is_one(taken: bool) -> None:
    story = Story()
    for who, words in (("near", NEXT), ("mid", NEXT), ("far", NOBODY)):
        if taken:
            story.says(who, "yes")
        story.says(who, "no")
        assert words in answer_to(story, who)
    assert story.pickup.state == "with_coordinator"


def test_a_no_to_the_last_offer_of_the_day_says_that_it_waits() -> None:
    story = Story()
    story.at = NOON + timedelta(hours=11)  # 23:00: the first comes on duty at 05:00.
    story.says("near", "no")
    assert story.pickup.state == "waiting"
    assert WAITS in answer_to(story, "near")


def test_every_state_that_a_search_ends_in_has_its_sentence() -> None:
    assert set(NO_NOTED) == {"offered", "waiting", "with_coordinator"}
