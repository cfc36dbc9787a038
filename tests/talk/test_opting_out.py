"""Who wants no more texts: one last text, a pickup that is under way, and a report after all."""

from __future__ import annotations

import pytest

from bot.messages import OptIn, OptOut
from tests.talk.conftest import Talk
from tests.talk.test_conversation import FULL, HEAD


@pytest.mark.parametrize("word", ["STOP", "stop.", "Unsubscribe"])
def test_a_bare_stop_word_opts_out_with_one_last_text(talk: Talk, word: str) -> None:
    talk.text(HEAD)
    assert talk.text(word) == "[stopped]"
    assert talk.all(OptOut)
    assert "[started]" in talk.text("START")
    assert talk.all(OptIn)


def test_a_stop_inside_a_sentence_does_not(talk: Talk) -> None:
    talk.text(HEAD)
    talk.text("stop, the dog's got it")
    assert not talk.all(OptOut)
    assert not talk.now.opted_out


def test_opting_out_of_an_open_pickup_is_for_a_person(talk: Talk) -> None:
    talk.text(FULL)
    assert talk.text("stop") == "[stopped_pickup]"
    assert "stopped_with_pickup_open" in talk.reasons


def test_who_stopped_and_reports_again_still_gets_the_advice(talk: Talk) -> None:
    talk.text("stop")
    assert talk.text(HEAD).startswith("[kind.head] [code] [after_stop]")
    assert "wrote_after_stop" in talk.reasons
    assert talk.text("righto then mate") == ""
