"""What a hunter hears of a result and of the jaw, when, and how often."""

from __future__ import annotations

from datetime import timedelta

import msgspec
import pytest

from bot.messages import AskCoordinator, AuthorityTold, JawNews, Result, ResultApproved, SendText
from bot.programme import Programme, load_programme
from bot.talk.dialog import Dialog
from bot.talk.results_talk import TooSoon
from bot.talk.segments import segments_of, spell_for_sms
from bot.talk.state import dump, load
from tests.talk.conftest import Talk

HEAD = "boar with pus in the jaw gland, want the jaw back"
OUTCOMES = ("positive", "negative", "not_testable")


def lab(talk: Talk, outcome: str) -> str:
    talk.at += timedelta(days=20)
    return talk.feed(Result(talk.at, "ines", outcome))


def approve(talk: Talk) -> str:
    return talk.feed(ResultApproved(talk.at, "ines"))


def authority(talk: Talk) -> str:
    return talk.feed(AuthorityTold(talk.at, "ines"))


@pytest.fixture
def reported(talk: Talk) -> Talk:
    talk.text(HEAD)
    return talk


@pytest.fixture
def straight(programme: Programme, dialog: Dialog) -> Talk:
    """A programme that tells results without a coordinator's approval."""
    text = programme.files["programme.toml"] + "\n[results]\napprove = false\n"
    talk = Talk(dialog, load_programme({**programme.files, "programme.toml": text}))
    talk.text(HEAD)
    return talk


@pytest.mark.parametrize("outcome", ["negative", "not_testable"])
def test_a_result_is_told_once_after_approval(reported: Talk, outcome: str) -> None:
    assert lab(reported, outcome) == ""
    assert "result_to_approve" in reported.reasons
    assert approve(reported) == f"[result_{outcome}]"
    assert "result_to_approve" not in reported.reasons
    assert approve(reported) == ""
    assert lab(reported, outcome) == ""
    assert "result_to_approve" not in reported.reasons


def test_the_authority_hears_of_a_positive_before_the_hunter(reported: Talk) -> None:
    assert lab(reported, "positive") == ""
    assert AskCoordinator("positive_result", "", at_once=True) in reported.effects
    with pytest.raises(TooSoon, match="authority"):
        approve(reported)
    assert authority(reported) == ""
    assert approve(reported) == "[result_positive]"
    assert not {"positive_result", "result_to_approve"} & set(reported.reasons)


@pytest.mark.parametrize(("first", "then"), [
    ("negative", "positive"), ("positive", "negative"), ("negative", "not_testable"),
])  # fmt: skip
def test_an_amended_result_is_told_once_more(reported: Talk, first: str, then: str) -> None:
    for outcome in (first, then):
        lab(reported, outcome)
        if "positive_result" in reported.reasons:
            authority(reported)
        said = approve(reported)
    assert said == f"[result_amended_{then}]"
    assert approve(reported) == ""


def test_a_positive_taken_back_concerns_the_authority_too(reported: Talk) -> None:
    lab(reported, "positive")
    authority(reported)
    approve(reported)
    lab(reported, "negative")
    assert "positive_result" in reported.reasons
    with pytest.raises(TooSoon):
        approve(reported)


def test_what_is_amended_before_it_was_told_is_told_once(reported: Talk) -> None:
    lab(reported, "not_testable")
    lab(reported, "negative")
    assert approve(reported) == "[result_negative]"


def test_there_is_nothing_to_approve_before_the_laboratory_has_spoken(reported: Talk) -> None:
    with pytest.raises(TooSoon, match="no result"):
        approve(reported)


def test_a_programme_may_tell_results_at_once_but_for_a_positive(straight: Talk) -> None:
    assert lab(straight, "negative") == "[result_negative]"
    assert lab(straight, "positive") == ""
    assert authority(straight) == "[result_amended_positive]"


def test_who_wants_no_texts_is_told_by_a_person(reported: Talk) -> None:
    reported.text("stop")
    lab(reported, "negative")
    assert approve(reported) == ""
    assert "result_untold" in reported.reasons


def test_a_result_goes_to_the_reporting_number_only(reported: Talk) -> None:
    lab(reported, "negative")
    approve(reported)
    assert [e.to for e in reported.effects if isinstance(e, SendText)] == [None]


def test_status_after_a_result_says_that_it_was_told(reported: Talk) -> None:
    lab(reported, "negative")
    approve(reported)
    assert "[status_result]" in reported.text("status")


@pytest.mark.parametrize("how", ["kept", "handed_back", "sent"])
def test_what_becomes_of_the_jaw_is_told_once(reported: Talk, how: str) -> None:
    news = JawNews(reported.at, "ines", how)
    assert reported.feed(news) == f"[jaw_{how}]"
    assert reported.feed(news) == ""


def test_nobody_hears_of_a_jaw_that_he_did_not_ask_for(talk: Talk) -> None:
    talk.text("boar with pus in the jaw gland")
    assert talk.feed(JawNews(talk.at, "ines", "sent")) == ""


@pytest.mark.parametrize("language", ["en", "es", "fr"])
@pytest.mark.parametrize("key", [f"result_{a}{o}" for a in ("", "amended_") for o in OUTCOMES])
def test_the_careful_words_fit_two_segments(real_dialog, programme, language: str, key: str):
    said = real_dialog.say(language, key, code="WWWW-WWWW", keeper=programme.head.privacy.keeper)
    assert segments_of(spell_for_sms(said)) <= 2


CAREFUL = {
    "en": ("not the same as free", "nothing about the meat"),
    "es": ("No es lo mismo que estar libre", "nada dice de la carne"),
    "fr": ("ne veut pas dire indemne", "ne dit rien de la viande"),
}


@pytest.mark.parametrize(("language", "words"), CAREFUL.items())
def test_a_negative_is_never_said_to_be_free_of_disease(real_dialog, language, words) -> None:
    """Culture itself finds about 82 % of infected boar (Santos et al. 2010, PLoS ONE 5:e12663)."""
    for key in ("result_negative", "result_amended_negative"):
        assert all(w in real_dialog.sentences[language][key] for w in words)


def test_a_conversation_stored_before_results_still_loads(reported: Talk) -> None:
    stored = msgspec.json.decode(dump(reported.now))
    for name in ("result", "result_told", "authority_told", "jaw"):
        del stored[name]
    assert load(msgspec.json.encode(stored)) == reported.now
