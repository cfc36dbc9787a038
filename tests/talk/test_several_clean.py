"""Several clean heads in one text: read with count and sorts, kept, thanked once, counted."""

from __future__ import annotations

from datetime import timedelta

import pytest

from bot.evidence.columns import find_of, finds_of
from bot.evidence.finds import looks_of, sort_finds
from bot.evidence.grid import grid_over
from bot.evidence.sentences import load_sentences
from bot.messages import KeepFind
from bot.programme import Programme
from bot.reading.animals import read_animal
from bot.reading.listening import listen
from bot.reading.page import Page
from bot.reading.values import Animal, Checked
from bot.shipped import dialog_files
from bot.talk.dialog import Dialog
from bot.talk.state import Conversation, Seen, dump, load
from bot.talk.wording import Speaker
from tests.talk.conftest import START, Talk

BOOK = load_sentences(dialog_files()["evidence.toml"])

ISSUE = "3 clean, 2 sows 1 boar, top of Brindle Ck, Sat"
SIX = "3 clean, all six glands both sides clear, 2 sows 1 boar, top of Brindle Ck, Sat"


@pytest.mark.parametrize(
    ("text", "count", "sorts"),
    [
        (ISSUE, 3, (("sow", 2), ("boar", 1))),
        ("2 sows and a boar, all clean", 3, (("sow", 2), ("boar", 1))),
        ("3 clean, 2 sows", 3, ()),
        ("3 clean pigs", 3, ()),
        ("4 clean heads, all pigs", 4, ()),
        ("4 pigs, 3 clean", 3, ()),
        ("1 sow 6 piglets", 1, ()),
        ("a sow with six piglets", 1, ()),
        ("tres limpios, todos cerdos", 3, ()),
        ("trois propres, des sangliers", 3, ()),
        ("tres limpios, 2 jabalies", 3, ()),
        ("tres limpios: 2 jabalíes y 1 cerda", 3, ()),
        ("dos jabalies limpios", 2, ()),
        ("deux sangliers, propres", 2, ()),
    ],
)
def test_how_many_of_which(text: str, count: int, sorts: object, real_dialog: Dialog) -> None:
    found, _ = read_animal(listen(Page(text), real_dialog.words))
    assert found is not None
    assert (found.value.count, found.value.sorts) == (count, sorts)


@pytest.mark.parametrize(
    ("text", "several"),
    [
        ("viene de una de las dos canales", True),
        ("uno de los tres jabalies, no se cual", True),
        ("il vient d'un des deux sangliers", True),
        ("2 jabalies", False),
        ("deux sangliers", False),
    ],
)
def test_two_animals_are_not_one_of_two(text: str, several: bool, real_dialog: Dialog) -> None:
    """Articles are dropped from phrases, so that a phrase of articles alone would be any two."""
    heard = listen(Page(text), real_dialog.words)
    assert bool(heard.of("candidates")) is several


@pytest.mark.parametrize("text", ["two clean shots, boar", "boar, 2 clean cuts"])
def test_clean_shots_are_no_clean_heads(text: str, talk: Talk) -> None:
    talk.text(text)
    assert talk.now.kind == ""


def test_one_text_is_a_whole_clean_report(talk: Talk) -> None:
    said = talk.text(ISSUE)
    assert "[clean_done_many]" in said
    assert "[clean_done]" not in said
    assert "ask]" not in said
    assert talk.all(KeepFind) == [KeepFind("clean")]
    assert talk.reasons == ()


def test_count_and_sorts_are_said_back(real_dialog: Dialog, programme: Programme) -> None:
    said = Talk(real_dialog, programme).text(ISSUE)
    assert "2 x sow, 1 x boar" in said
    assert "3 clean animals" in said


def test_sorts_are_kept_through_storage(talk: Talk) -> None:
    talk.text(ISSUE)
    assert load(dump(talk.now)) == talk.now
    talk.text("they were pigs")
    value = talk.now.answers["species"].value
    assert isinstance(value, Animal)
    assert value.sorts == (("sow", 2), ("boar", 1))


def test_what_was_looked_at_counts_for_each_animal(talk: Talk) -> None:
    talk.text(SIX)
    seen = talk.now.answers["seen"].value
    assert isinstance(seen, Seen)
    assert Checked("head_nodes", "both") in seen.checked
    find = find_of("A", talk.now.kept, "", talk.now)
    assert find is not None
    assert find.looked.count == 6
    grid = grid_over(talk.programme.area, 5.0)
    first = START - timedelta(days=30)
    rows = looks_of(grid, sort_finds(BOOK, finds_of([find])), first, talk.programme.zone)
    assert len(rows.se) == 3
    tested = find_of("A", talk.now.kept, "negative", talk.now)
    assert tested is not None
    one = looks_of(grid, sort_finds(BOOK, finds_of([tested])), first, talk.programme.zone)
    assert len(one.se) == 1, "a laboratory had one of them"


def test_a_sort_that_does_not_add_up_is_not_said(dialog: Dialog, programme: Programme) -> None:
    speaker = Speaker(Conversation("A", START), dialog, programme)
    assert speaker.animal(Animal("pig", "", 5, sorts=(("sow", 2),))) == "5 x [animals.pig]"
