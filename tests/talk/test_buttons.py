"""Every button's words are heard, in each language, as what stands on the button."""

from __future__ import annotations

import re

import msgspec
import pytest

from bot.messages import Photo, TakenOver
from bot.programme import Programme, load_programme
from bot.reading.read import read
from bot.reading.values import Checked
from bot.scenes import scene_for
from bot.talk.buttons import buttons_for, place_wanted
from bot.talk.dialog import Dialog
from bot.talk.state import Asked, Place, Said, Seen, When
from tests.talk.conftest import START, Talk

LANGUAGES = ("en", "es", "fr")


@pytest.fixture(scope="module")
def speaking(programme: Programme) -> Programme:
    """The same programme in three languages, with the guided check switched on."""
    text = re.sub(
        r"languages = .*", 'languages = ["en", "es", "fr"]', programme.files["programme.toml"]
    )
    return load_programme({**programme.files, "programme.toml": f"guided_check = true\n{text}"})


@pytest.fixture
def talk(real_dialog: Dialog, speaking: Programme) -> Talk:
    return Talk(real_dialog, speaking)


def labels(talk: Talk) -> list[str]:
    return [button.label for button in buttons_for(talk.now, talk.dialog, talk.programme)]


def press(talk: Talk, number: int) -> None:
    talk.text(buttons_for(talk.now, talk.dialog, talk.programme)[number].words)


def ask(talk: Talk, question: str, language: str, **fields: object) -> None:
    asked = Asked(question, talk.at)
    talk.now = msgspec.structs.replace(talk.now, asked=asked, language=language, **fields)


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize(("number", "key"), [(0, "want"), (1, "no")])
def test_a_yes_or_no_answers_about_the_jaw(talk: Talk, language: str, number: int, key: str):
    ask(talk, "jaw", language, kind="head")
    press(talk, number)
    assert talk.now.answers["jaw"].value == Said((key,))


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize(
    ("step", "number", "state"),
    [
        ("jaw_left", 0, "clear"),
        ("jaw_left", 2, "not_found"),
        ("lungs", 0, "clear"),
        ("lungs", 2, "not_looked"),
    ],
)
def test_a_step_of_the_look_is_answered(talk: Talk, language: str, step, number, state):
    ask(talk, "gland_check", language, kind="clean", checking=step)
    press(talk, number)
    (checked,) = talk.now.answers["seen"].value.checked
    assert isinstance(checked, Checked)
    assert checked.state == state


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_lump_under_the_thumb_ends_the_look_as_a_sign(talk: Talk, language: str):
    ask(talk, "gland_check", language, kind="clean", checking="jaw_left")
    press(talk, 1)
    seen = talk.now.answers["seen"].value
    assert isinstance(seen, Seen)
    assert [(s.site, s.side, s.look) for s in seen.signs] == [("jaw_node", "left", "lumps")]
    assert (talk.now.checking, talk.now.kind) == ("", "head")


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_look_begins_and_can_be_left_by_a_press(talk: Talk, language: str):
    ask(talk, "gland_check", language, kind="clean", checking="ready")
    press(talk, 0)
    assert talk.now.checking == "jaw_left"
    press(talk, 3)
    assert talk.now.checking == ""


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize(
    ("question", "number", "key"),
    [("hand_in", 0, "did"), ("hand_in", 1, "fetch"), ("access", 0, "no")],
)
def test_each_word_that_answers_a_question_is_heard(
    talk: Talk, language: str, question, number, key
):
    ask(talk, question, language, kind="head")
    words = buttons_for(talk.now, talk.dialog, talk.programme)[number].words
    reading = read(words, scene_for(talk.programme, talk.dialog.words, talk.at, question))
    assert key in {w.key for w in reading.words}


@pytest.mark.parametrize("language", LANGUAGES)
def test_two_readings_are_two_buttons_and_a_way_out(talk: Talk, language: str):
    talk.text("boar, pus in the jaw gland, Sandy Creek, yesterday")
    talk.now = msgspec.structs.replace(talk.now, language=language)
    offered = talk.now.asked.choices
    assert len(offered) > 1
    assert labels(talk)[0].startswith("1: ")
    question = talk.now.asked.question
    declined, taken = Talk(talk.dialog, talk.programme, talk.now, talk.at), talk
    press(taken, 1)
    assert taken.now.answers[question].value == offered[1].value
    press(declined, len(offered))
    assert question not in declined.now.answers


def test_the_time_of_a_photo_is_taken_by_a_yes(talk: Talk):
    photo = Photo("k", None, START)
    talk.text("boar, pus in the jaw gland, -36.85 147.15", photos=(photo,))
    assert labels(talk) == ["Yes", "No"]
    press(talk, 0)
    assert isinstance(talk.now.answers["when"].value, When)


def test_words_are_wanted_where_words_are_needed(talk: Talk):
    assert buttons_for(None, talk.dialog, talk.programme) == ()
    talk.text("boar, pus in the jaw gland")
    assert talk.now.asked.question == "kill_place"
    assert labels(talk) == []


def test_a_person_who_has_the_talk_is_answered_in_words(talk: Talk):
    ask(talk, "jaw", "en", kind="head")
    assert labels(talk) == ["Yes", "No"]
    talk.feed(TakenOver(talk.at, "ines"))
    assert labels(talk) == []


def test_a_position_is_asked_for_only_while_it_answers_something(talk: Talk):
    def wanted() -> str:
        return place_wanted(talk.now, talk.dialog, talk.programme)

    assert place_wanted(None, talk.dialog, talk.programme) == "kill_place"
    talk.text("boar, pus in the jaw gland, yesterday 5pm")
    assert wanted() == "kill_place"
    talk.text("-36.85 147.15")
    assert isinstance(talk.now.answers["kill_place"].value, Place)
    assert (talk.now.asked.question, wanted()) == ("head_at", "head_at")
    talk.text("-36.86 147.16")
    assert wanted() == ""
