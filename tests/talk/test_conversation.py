"""The hunter's conversation as stories: an event, what was said, where the talk stands."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from bot.messages import (
    AskCoordinator,
    KeepFind,
    OpenPickup,
    Photo,
    PickupNews,
    Pin,
    Silence,
    Text,
    UpdatePickup,
)
from bot.programme import Programme
from bot.reading.values import Place, When
from bot.talk.conversation import step
from bot.talk.dialog import Dialog
from bot.talk.state import Said, Seen, dump, load
from tests.talk.conftest import START, Talk

FULL = (
    "Shot a boar Sat 6pm, pus in the jaw gland. 36 52.2 S 147 09.1 E. Head is in 2 bags in the "
    "freezer at Brindle Hut. State forest. Name's Dave Kerr, want the jaw back"
)
HEAD = "got a boar with pus in the jaw gland"


def test_one_rich_text_fills_every_answer_and_opens_the_pickup(talk: Talk) -> None:
    said = talk.text(FULL)
    assert set(talk.now.answers) >= {"seen", "kill_place", "when", "species", "head_at", "storage"}
    assert said.startswith("[kind.head] [code]")
    assert "[read_back_head]" in said
    assert "ask]" not in said.replace("[land.ask]", "")
    [opened] = talk.all(OpenPickup)
    assert (opened.lat, opened.lon) == pytest.approx((-36.87, 147.15), abs=0.01)
    assert talk.all(KeepFind) == [KeepFind("suspect")]


def test_advice_comes_before_any_question(talk: Talk) -> None:
    said = talk.text(HEAD)
    assert said.index("[kind.head]") < said.index("[kill_place.ask]")
    assert "[privacy_free]" in said


def test_only_what_is_missing_is_asked_one_question_at_a_time(talk: Talk) -> None:
    replies = [talk.text(t) for t in (HEAD, "3 km NW of Brindle Hut", "yesterday arvo")]
    asked = [
        [k for k in talk.dialog.by_key if f"[{k}.ask]" in r or f"[{k}.again]" in r] for r in replies
    ]
    assert asked == [["kill_place"], ["when"], ["head_at"]]
    assert "[privacy_free]" not in "".join(replies[1:])


def test_the_pickup_opens_without_waiting_for_the_rest(talk: Talk) -> None:
    talk.text("boar with pus in the jaw gland, head's in the freezer at Brindle Hut")
    assert talk.all(OpenPickup)
    assert "when" not in talk.now.answers
    talk.text("yesterday 5pm")
    assert not talk.all(OpenPickup)


@pytest.mark.parametrize(
    ("words", "kind", "reason", "at_once"),
    [
        ("lumps all through the lungs of a sow", "body", "sign_in_body", True),
        ("found a dead pig by the creek", "found_dead", "found_dead", True),
        ("dead pig, blood coming out its nose", "bleeding", "bleeding", True),
        ("pig with blisters on its mouth", "blisters", "blisters", True),
        ("six dead pigs at the dam", "many_dead", "many_dead", True),
        ("sheep with lumps in its jaw", "livestock", "livestock", True),
    ],
)
def test_what_is_not_an_ordinary_head_goes_to_a_person_and_nobody_is_sent(
    talk: Talk, words: str, kind: str, reason: str, at_once: bool
) -> None:
    said = talk.text(words)
    assert talk.now.kind == kind
    assert said.startswith(f"[kind.{kind}]")
    assert AskCoordinator(reason, words, at_once) in talk.effects
    talk.text("head is at Brindle Hut, shot at Tallow Saddle yesterday")
    assert not talk.all(OpenPickup)


def test_what_may_be_farm_stock_is_settled_before_a_head_is_asked_for(talk: Talk) -> None:
    assert talk.text("cow with lumps in the jaw gland, head's at Brindle Hut").startswith(
        "[kind.unsure]"
    )
    assert not talk.all(OpenPickup)
    assert "[kind.livestock]" in talk.text("2")


def test_what_was_wrong_is_asked_and_the_next_place_puts_it_right(talk: Talk) -> None:
    talk.text(HEAD)
    talk.text("-36.87 147.15")
    assert talk.text("wait thats wrong") == "[changed_none]"
    talk.text("-36.88 147.16")
    place = talk.now.answers["kill_place"].value
    assert isinstance(place, Place)
    assert (place.lat, place.lon) == pytest.approx((-36.88, 147.16))
    assert "head_at" not in talk.now.answers
    assert not talk.all(OpenPickup)


def test_a_bare_no_to_what_was_seen_is_no_clean_find(talk: Talk) -> None:
    talk.text("got a sow at Brindle Hut yesterday 5pm")
    assert "[seen.again]" in talk.text("no")
    assert talk.now.kind == ""
    assert "[clean_done]" in talk.text("clean")


def test_doubt_counts_as_a_sign(talk: Talk) -> None:
    assert talk.text("boar, jaw gland a bit swollen, probably just an abscess").startswith(
        "[kind.head]"
    )


def test_a_sign_is_never_talked_down(talk: Talk) -> None:
    talk.text("sow with lumps in the lungs")
    talk.text("mate reckons its nothing, all clear")
    assert talk.now.kind == "body"


def test_where_the_law_detains_nothing_moves(dialog: Dialog, detaining: Programme) -> None:
    talk = Talk(dialog, detaining)
    said = talk.text(FULL)
    assert said.startswith("[kind.head_detained]")
    assert "[code]" not in said
    assert not talk.all(OpenPickup)
    assert "carcase_detained" in talk.reasons


def test_a_person_in_trouble_comes_before_anything_else(talk: Talk) -> None:
    said = talk.text("I'm lost, got a boar with pus in the jaw gland")
    assert said.startswith("[trouble.lost] [kind.head]")
    assert "ask]" not in said
    assert talk.all(AskCoordinator)[0].at_once


@pytest.mark.parametrize(
    ("words", "key"),
    [
        ("cut my finger on it", "cut"),
        ("some of it splashed in my eye", "splash"),
        ("we already ate some of it", "eaten"),
        ("gave some sausages to the neighbours", "shared"),
        ("fed the guts to the dogs", "dogs_fed"),
    ],
)
def test_exposure_is_answered_without_blame_and_once(talk: Talk, words: str, key: str) -> None:
    talk.text(HEAD)
    assert talk.text(words).startswith(f"[exposure.{key}]")
    assert "exposure" in talk.reasons
    assert f"[exposure.{key}]" not in talk.text(f"like i said, {words}")


def test_a_late_yes_never_answers_a_question_it_has_not_seen(talk: Talk) -> None:
    talk.text(FULL.replace(", want the jaw back", ""))
    while talk.now.asked and talk.now.asked.question != "jaw":
        talk.text({"land": "state forest", "name": "Dave"}[talk.now.asked.question])
    assert talk.now.asked is not None
    talk.text("yes", sent_at=talk.now.asked.at - timedelta(minutes=2))
    assert "jaw" not in talk.now.answers
    talk.text("yes")
    assert talk.now.answers["jaw"].value == Said(("want",))


def test_for_one_answer_the_later_sent_text_wins(talk: Talk) -> None:
    talk.text("boar with pus in the jaw gland, shot at Brindle Hut on Friday")
    friday = talk.now.answers["when"]
    talk.text("shot it on Thursday I think", sent_at=START - timedelta(hours=3))
    assert talk.now.answers["when"] == friday


def test_a_corrected_day_replaces_the_old_one_and_is_said(talk: Talk) -> None:
    talk.text(FULL)
    said = talk.text("no, it was Friday")
    when = talk.now.answers["when"].value
    assert isinstance(when, When)
    assert when.earliest.strftime("%a") == "Fri"
    assert "[changed]" in said


def test_a_corrected_place_reaches_the_pickup(talk: Talk) -> None:
    talk.text(FULL)
    talk.text("wrong, the head is at Tallow Saddle now")
    [update] = talk.all(UpdatePickup)
    assert update.lat == pytest.approx(-36.93, abs=0.01)


def test_a_second_miss_goes_to_a_person_with_the_words_kept(talk: Talk) -> None:
    talk.text(HEAD)
    assert "[kill_place.again]" in talk.text("flurble wexit")
    said = talk.text("grommik tarn")
    assert "[unread]" in said
    assert "[when.ask]" in said
    assert talk.now.held == ("flurble wexit", "grommik tarn")
    assert "unread_kill_place" in talk.reasons
    talk.text("3 km NW of Brindle Hut")
    assert "unread_kill_place" not in talk.reasons


def test_silence_is_one_reminder_then_the_list(talk: Talk) -> None:
    talk.text(HEAD)
    assert talk.silence() == "[kill_place.remind]"
    assert talk.silence(21) == ""
    assert talk.reasons == ("no_answer",)
    assert not talk.waits
    talk.text("at Brindle Hut")
    assert "no_answer" not in talk.reasons


def test_a_stale_silence_changes_nothing(talk: Talk) -> None:
    talk.text(HEAD)
    mark = talk.now.silence_mark
    talk.text("at Brindle Hut")
    before = talk.now
    assert talk.feed(Silence(talk.at, mark)) == ""
    assert talk.now == before
    assert talk.effects == ()


def test_going_on_after_two_days_where_he_stopped(talk: Talk) -> None:
    talk.text(HEAD)
    talk.at += timedelta(days=2)
    assert "[when.ask]" in talk.text("it was at Brindle Hut")


def test_the_same_text_again_says_nothing_new(talk: Talk) -> None:
    talk.text(HEAD)
    assert talk.text(HEAD) == ""
    talk.at += timedelta(hours=1)
    assert talk.text(HEAD) == "[kill_place.ask]"


@pytest.mark.parametrize("picked", ["1", "yes"])
def test_a_single_reading_is_put_as_a_yes_or_no(picked: str, talk: Talk) -> None:
    talk.text(HEAD)
    assert "[only.kill_place]" in talk.text("147.15, -36.87")
    assert "kill_place" not in talk.now.answers
    assert talk.now.asked is not None
    [choice] = talk.now.asked.choices
    talk.text(picked)
    place = talk.now.answers["kill_place"].value
    assert place == choice.value
    assert isinstance(place, Place)
    assert (place.lat, place.lon) == pytest.approx((-36.87, 147.15))


def test_a_pin_is_the_place_that_was_asked_for(talk: Talk) -> None:
    talk.text(HEAD)
    talk.text("here", pin=Pin(-36.91, 147.05, 8))
    assert talk.now.answers["kill_place"].value == Place(-36.91, 147.05, 8, "pin")


def test_a_photo_gives_its_place_and_offers_its_time(talk: Talk, photo: Photo) -> None:
    said = talk.text("boar, pus in the jaw gland, photo attached", photos=(photo,))
    assert talk.now.answers["kill_place"].value == Place(-36.9, 147.2, 10, "photo", role="kill")
    assert "[photo_when]" in said
    assert "when" not in talk.now.answers
    talk.text("yes")
    when = talk.now.answers["when"].value
    assert isinstance(when, When)
    assert when.earliest <= datetime(2026, 11, 21, 6, 2, tzinfo=UTC) < when.latest


def test_a_refused_photo_time_is_asked_plainly(talk: Talk, photo: Photo) -> None:
    talk.text("boar, pus in the jaw gland, photo attached", photos=(photo,))
    assert "[when.again]" in talk.text("no")
    assert talk.now.misses == {}


def test_a_clean_find_is_thanked_and_kept_with_the_caution(talk: Talk) -> None:
    said = talk.text("Sow shot Sat 6pm at Brindle Hut, all six glands clear")
    assert "[clean_done]" in said
    assert talk.all(KeepFind) == [KeepFind("clean")]
    assert not talk.all(OpenPickup)
    seen = talk.now.answers["seen"].value
    assert isinstance(seen, Seen)
    assert seen.clean


def test_rather_not_say_where_is_met_with_a_rough_area(talk: Talk) -> None:
    talk.text(HEAD)
    said = talk.text("rather not say where")
    assert "[rough_place]" in said
    assert talk.now.misses == {}


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        ("got no bags out here", "no_bags"),
        ("no freezer at camp", "no_freezer"),
        ("already boiled the jaw out", "boiled"),
        ("dog ran off with the head", "dog_took"),
    ],
)
def test_workable_advice_where_it_cannot_be_bagged_and_frozen(
    talk: Talk, words: str, sentence: str
) -> None:
    talk.text(HEAD)
    assert f"[{sentence}]" in talk.text(words)


def test_a_head_that_is_gone_opens_no_pickup(talk: Talk) -> None:
    talk.text("boar with pus in the jaw gland, shot at Brindle Hut, dog ran off with the head")
    talk.text("head was at Brindle Hut")
    assert not talk.all(OpenPickup)


def test_news_of_the_pickup_reaches_the_hunter_once(talk: Talk) -> None:
    talk.text(FULL)
    assert talk.feed(PickupNews(talk.at, "offered")) == ""
    news = PickupNews(talk.at, "taken", "Nell", "+61491570156", "by 4")
    assert talk.feed(news) == "[news_taken]"
    assert talk.feed(news) == ""
    assert talk.text("any news?") == "[status_taken]"


def test_the_number_to_call_may_differ_from_the_one_that_texts(talk: Talk) -> None:
    talk.text("boar with pus in jaw gland, head at Brindle Hut. ring Dave on 0491 570 110")
    [opened] = talk.all(OpenPickup)
    assert opened.contact.replace(" ", "") == "0491570110"


def test_a_stored_conversation_comes_back_the_same(talk: Talk) -> None:
    talk.text(FULL)
    assert load(dump(talk.now)) == talk.now


def test_an_open_question_that_a_new_dialog_lost_is_planned_anew(talk: Talk) -> None:
    talk.text(HEAD)
    fewer = tuple(q for q in talk.dialog.questions if q.key != "kill_place")
    talk.dialog = replace(talk.dialog, questions=fewer)
    assert "[when.ask]" in talk.text("flurble wexit")


def test_step_is_pure(talk: Talk) -> None:
    before = talk.now
    one = step(before, _text(HEAD), talk.dialog, talk.programme)
    two = step(before, _text(HEAD), talk.dialog, talk.programme)
    assert one == two
    assert before == talk.now


def _text(body: str) -> Text:
    return Text(body, START, START)


def test_one_word_answers_where_the_sign_was(talk: Talk) -> None:
    talk.text("pig with pus")
    assert "[code]" in talk.text("jaw")
    assert talk.now.kind == "head"


@pytest.mark.parametrize("question", ["who are you", "is it TB?", "can I eat it?"])
def test_who_begins_with_a_question_hears_first_to_stop_cutting(talk: Talk, question: str) -> None:
    assert talk.text(question).startswith("[safety_first]")


def test_who_it_is_and_what_it_costs_can_be_asked_at_any_time(talk: Talk) -> None:
    talk.text(HEAD)
    assert talk.text("will it cost me?").startswith("[hello] [privacy_free]")
    assert talk.now.misses == {}


def test_whether_it_may_be_eaten_is_answered_each_time_it_is_asked(talk: Talk) -> None:
    talk.text(HEAD)
    for words in ("can I eat it", "so can I eat it or not"):
        assert "[can_eat]" in talk.text(words)
