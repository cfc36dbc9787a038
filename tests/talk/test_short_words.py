"""Short words that are no answer: cross, misdialled, joking; and a question put once too often."""

from __future__ import annotations

import pytest

from tests.talk.conftest import Talk

SETTLED = (
    "Shot a boar Sat 6pm, pus in the jaw gland. 36 52.2 S 147 09.1 E. Head is in 2 bags in the "
    "freezer at Brindle Hut. State forest. Name's Dave Kerr, want the jaw back"
)


@pytest.mark.parametrize(
    ("words", "said", "reasons"),
    [
        ("nobody came", "[nobody_came]", ("nobody_came",)),
        ("he never showed up", "[nobody_came]", ("nobody_came",)),
        ("you lot are bloody useless", "[angry]", ("angry",)),
        ("nobody turned up, useless mob", "[nobody_came]", ("nobody_came", "angry")),
        ("blue wellies and a hat", "[passed_on]", ("wrote_more",)),
        ("thanks mate", "", ()),
        ("ok", "[right_or_wrong]", ()),
        ("yep", "[right_or_wrong]", ()),
        ("no", "[right_or_wrong]", ()),
        ("thats right", "[right_or_wrong]", ()),
        ("\N{THUMBS UP SIGN}", "[right_or_wrong]", ()),
    ],
)
def test_after_all_is_settled_nothing_cross_meets_silence(
    words: str, said: str, reasons: tuple[str, ...], talk: Talk
) -> None:
    talk.text(SETTLED)
    assert talk.text(words) == said
    assert talk.reasons == reasons


def test_a_yes_or_no_to_what_was_read_back_is_answered_once(talk: Talk) -> None:
    """To "wrong?" either may mean either: who says no again has more to say than that."""
    talk.text(SETTLED)
    assert [talk.text(t) for t in ("yep", "all good")] == ["[right_or_wrong]", ""]
    assert talk.reasons == ()
    assert talk.text("no") == "[passed_on]"
    assert talk.reasons == ("wrote_more",)


@pytest.mark.parametrize(
    "words", ["she didnt show any signs", "he never came near the dogs", "had enough light"]
)
def test_what_is_not_cross(words: str, talk: Talk) -> None:
    talk.text(SETTLED)
    talk.text(words)
    assert not {"nobody_came", "angry"} & set(talk.reasons)


def test_what_a_person_will_read_is_said_once(talk: Talk) -> None:
    talk.text(SETTLED)
    assert [talk.text(t) for t in ("blue wellies", "red wellies")] == ["[passed_on]", ""]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("wrong number", "[wrong_number]"),
        ("sorry wrong number mate", "[wrong_number]"),
        ("lol", "[joke]"),
        ("just testing", "[joke]"),
    ],
)
def test_no_report_gets_one_line_and_no_greeting(words: str, said: str, talk: Talk) -> None:
    assert talk.text(words) == said
    assert not talk.waits
    assert talk.reasons == ()
    assert "[privacy_free]" in talk.text("boar with pus in the jaw gland"), "greeted when it is one"


def test_whoever_has_a_find_is_promised_no_silence(talk: Talk) -> None:
    talk.text(SETTLED)
    assert talk.text("wrong number") == "[wrong_number_known]"


def test_a_joke_about_a_sign_is_a_sign(talk: Talk) -> None:
    said = talk.text("this is a test of the nose: boar with pus in the jaw gland")
    assert "[kind.head]" in said
    assert "[joke]" not in said


def test_one_question_is_worded_otherwise_each_time_and_then_left(talk: Talk) -> None:
    replies = [talk.text("boar with pus in the jaw gland")]
    replies += [talk.text(t) for t in ("its bagged", "its in the freezer", "state forest")]
    parts = [
        next((p for p in ("ask", "again", "remind") if f"[kill_place.{p}]" in r), "")
        for r in replies
    ]
    assert parts == ["ask", "again", "remind", ""]
    assert "[left_for_now]" in replies[-1]
    assert talk.reasons == ("unread_kill_place",)
