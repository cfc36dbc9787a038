"""The guided look at the glands, as stories: off by itself, one step a text, stops at a sign.

The rules are those of the trade (common practice, no published source): gloves and a clean knife
first, left and right, nobody opens a lump or cuts into lungs, and no verdict on the meat.
"""

from __future__ import annotations

import re
from dataclasses import replace

import msgspec
import pytest

from bot.messages import OpenPickup, SendText, TakenOver
from bot.programme import Programme, load_programme
from bot.reading.values import Checked, Sign
from bot.shipped import dialog_files
from bot.talk.dialog import Dialog, load_dialog
from bot.talk.segments import MOST_SEGMENTS, segments_of, spell_for_sms
from bot.talk.state import Seen, dump, load
from tests.talk.conftest import Talk

REPORT = "sow, nothing odd, shot yesterday 5pm, 3 km NW of Brindle Hut"
STEPS = [step.key for step in load_dialog(dialog_files()).check_steps]
VERDICT = re.compile(r"\b(safe|eat|edible|fit|comer|apto|segura?|manger|comestible)\b", re.I)
DONE = "[gland_check.done]"


@pytest.fixture(scope="session")
def guiding(programme: Programme) -> Programme:
    """The same programme with the guided check switched on."""
    text = "guided_check = true\n" + programme.files["programme.toml"]
    return load_programme({**programme.files, "programme.toml": text})


@pytest.fixture
def talk(dialog: Dialog, guiding: Programme) -> Talk:
    return Talk(dialog, guiding)


def seen(talk: Talk) -> Seen:
    value = talk.now.answers["seen"].value
    assert isinstance(value, Seen)
    return value


def begun(talk: Talk, answers: int = 0) -> Talk:
    for words in ("CHECK", "ready", *["ok"] * answers):
        talk.text(words)
    return talk


def test_it_is_off_until_a_programme_switches_it_on(dialog: Dialog, programme: Programme) -> None:
    assert not programme.head.guided_check
    talk = Talk(dialog, programme)
    assert "gland_check" not in talk.text(REPORT) + talk.text("CHECK")
    assert talk.now.checking == ""


def test_it_is_offered_once_after_nothing_odd(talk: Talk) -> None:
    assert "[gland_check.offer]" in talk.text(REPORT)
    assert "[gland_check.offer]" not in talk.text("it was a big sow")


def test_it_is_not_offered_to_whoever_looked_at_all_six(talk: Talk) -> None:
    assert "offer" not in talk.text("all six glands both sides clear, sow, yesterday 5pm")


def test_it_begins_with_gloves_and_asks_one_step_a_text(talk: Talk) -> None:
    assert "[gland_check.begin]" in talk.text("check")
    said = [talk.text(words) for words in ("ready", *["ok"] * len(STEPS))]
    asked = [[k for k in STEPS if f"[gland_check.{k}]" in reply] for reply in said]
    assert asked == [*([key] for key in STEPS), []]
    assert DONE in said[-1]
    assert talk.now.checking == ""


def test_every_answer_is_kept_with_its_side(talk: Talk) -> None:
    begun(talk)
    for words in ("ok", "can't find it", "fine", "no lumps", "cant find it", "ok", "not open"):
        talk.text(words)
    said = talk.text("not open")
    assert seen(talk).checked == (
        Checked("jaw_node", "left", "clear"),
        Checked("jaw_node", "right", "not_found"),
        Checked("ear_node", "left", "clear"),
        Checked("ear_node", "right", "clear"),
        Checked("throat_node", "left", "not_found"),
        Checked("throat_node", "right", "clear"),
        Checked("lung", "", "not_looked"),
        Checked("gut", "", "not_looked"),
    )
    assert "[gland_check.missed]" in said
    assert talk.now.kind == "clean"


@pytest.mark.parametrize(
    ("words", "sign"),
    [
        ("lumps", Sign("jaw_node", "right", "lumps")),
        ("LUMPS", Sign("jaw_node", "right", "lumps")),
        ("yellow pus", Sign("jaw_node", "right", "pus")),
        ("big", Sign("jaw_node", "right", "suspected")),
        ("not sure", Sign("jaw_node", "right", "suspected")),
        ("gland is swollen", Sign("jaw_node", "right", "swollen")),
        ("pus in the gland behind the tongue", Sign("throat_node", "", "pus")),
    ],
)
def test_the_first_sign_ends_it_with_the_ordinary_advice(
    words: str, sign: Sign, talk: Talk
) -> None:
    begun(talk, 1)
    said = talk.text(words)
    assert said.startswith("[kind.head]")
    assert sign in seen(talk).signs
    assert not seen(talk).clean
    assert talk.now.checking == ""
    assert "gland_check" not in said
    assert "[kill_place.ask]" in said


def test_a_sign_in_the_lungs_leaves_the_animal_and_calls_a_person(talk: Talk) -> None:
    begun(talk, STEPS.index("lungs"))
    assert talk.text("lumps").startswith("[kind.body]")
    assert talk.reasons == ("sign_in_body",)


def test_a_sign_opens_the_pickup_as_ever(talk: Talk) -> None:
    talk.text("boar, yesterday 5pm, 3 km NW of Brindle Hut, looked clean")
    begun(talk, 2)
    talk.text("lumps")
    talk.text("head is in the freezer at Brindle Hut")
    assert talk.all(OpenPickup)


@pytest.mark.parametrize("sign", ["pus in the jaw gland", "lumps in the lungs", "found it dead"])
def test_nobody_looks_further_once_a_sign_was_told(sign: str, talk: Talk) -> None:
    talk.text(sign)
    said = talk.text("check")
    assert "[gland_check.not_now]" in said
    assert "[gland_check.begin]" not in said


def test_unread_words_are_asked_once_and_then_a_person_looks(talk: Talk) -> None:
    begun(talk, 1)
    assert "[gland_check.again]" in talk.text("the flurb is grommy")
    said = talk.text("quite grommy indeed")
    assert "[unread]" in said
    assert talk.reasons == ("unread_seen",)
    assert talk.now.checking == ""


def test_not_knowing_is_asked_again_and_declines_nothing(talk: Talk) -> None:
    begun(talk, 1)
    assert "[gland_check.again]" in talk.text("dunno")
    assert "gland_check" not in talk.now.answers


@pytest.mark.parametrize("words", ["leave", "enough", "no more"])
def test_he_may_leave_and_the_report_goes_on(words: str, talk: Talk) -> None:
    begun(talk, 2)
    said = talk.text(words)
    assert "[gland_check.left]" in said
    assert "[kill_place.ask]" in said
    assert len(seen(talk).checked) == 2


def test_silence_ends_it_without_alarm(talk: Talk) -> None:
    begun(talk, 2)
    said = talk.silence()
    assert "[gland_check.left]" in said
    assert "[kill_place.ask]" in said
    assert talk.reasons == ()


def test_stop_is_heard_before_any_step(talk: Talk) -> None:
    begun(talk, 2)
    assert "[stopped]" in talk.text("STOP")
    assert talk.now.opted_out


def test_a_person_who_writes_is_not_talked_over(talk: Talk) -> None:
    begun(talk, 1)
    talk.feed(TakenOver(talk.at, "Ros"))
    assert "gland_check" not in talk.text("ok") + talk.text("check")


def test_a_check_under_way_survives_storage(talk: Talk) -> None:
    begun(talk, 3)
    talk.now = load(dump(talk.now))
    assert f"[gland_check.{STEPS[4]}]" in talk.text("ok")


@pytest.mark.parametrize(
    ("language", "words", "clear", "odd"),
    [
        ("en", "check", "ok", "lumps"),
        ("es", "revisar", "bien", "bultos"),
        ("fr", "controle", "bien", "bosses"),
    ],
)
def test_in_each_language(
    language: str, words: str, clear: str, odd: str, dialog: Dialog, guiding: Programme
) -> None:
    head = msgspec.structs.replace(guiding.head, languages=(language,))
    speaking = replace(guiding, head=head)
    talk = Talk(dialog, speaking)
    go = {"en": "ready", "es": "listo", "fr": "pret"}[language]
    said = [talk.text(w) for w in (words, go, clear, odd)]
    assert "[gland_check.begin]" in said[0]
    assert f"[gland_check.{STEPS[1]}]" in said[2]
    assert said[3].startswith("[kind.head]")


def test_what_is_asked_never_opens_or_cuts_anything(real_dialog: Dialog) -> None:
    for language in ("en", "es", "fr"):
        own = {k: s for k, s in real_dialog.sentences[language].items() if "gland_check." in k}
        assert set(own) == {k for k in real_dialog.sentences["en"] if "gland_check." in k}
        for sentence in own.values():
            assert not VERDICT.search(sentence)
            assert segments_of(spell_for_sms(sentence)) <= MOST_SEGMENTS
    english = real_dialog.sentences["en"]
    assert "gloves" in english["gland_check.begin"]
    assert "clean knife" in english["gland_check.begin"]
    for key in ("lungs", "gut"):
        assert "don't cut" in english[f"gland_check.{key}"]


def test_it_reads_aloud(real_dialog: Dialog, guiding: Programme) -> None:
    talk = Talk(real_dialog, guiding)
    begun(talk, 3)
    for words in ("ok", "can't find it", "ok", "not open"):
        talk.text(words)
    said = talk.text("not open")
    assert "left throat node, lungs, gut" in said
    assert "both sides jaw node" in said
    texts = [e.body for e in talk.effects if isinstance(e, SendText)]
    assert all(segments_of(text) <= MOST_SEGMENTS for text in texts)
