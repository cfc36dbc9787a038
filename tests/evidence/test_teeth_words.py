"""What staff text of a jaw becomes answers, or is given back as it was written."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.evidence.ageing import Age, age_by_teeth, load_teeth
from bot.evidence.teeth_words import asks_age, read_teeth, species_in, words_of
from bot.shipped import dialog_files

TEETH = load_teeth(dialog_files()["teeth.toml"])


def heard(species: str, body: str):
    return read_teeth(TEETH.texts, TEETH.species[species], body)


@pytest.mark.parametrize(
    ("species", "body", "answers"),
    [
        (
            "pig",
            "last molar three cusps, permanent premolars",
            {"molars": "third_complete", "last_premolar": "two"},
        ),
        ("pig", "third molar two humps", {"molars": "third_second_cusp"}),
        (
            "pig",
            "M3 first cusp; P4 2 lobes",
            {"molars": "third_first_cusp", "last_premolar": "two"},
        ),
        ("pig", "first and second molars through", {"molars": "second"}),
        ("pig", "only the first molar is through", {"molars": "first"}),
        ("pig", "No molars yet. Front teeth all milk", {"molars": "none", "front": "milk"}),
        ("pig", "premolars not changed", {"last_premolar": "three"}),
        (
            "pig",
            "last premolar three lobes, molar m2",
            {"last_premolar": "three", "molars": "second"},
        ),
        ("pig", "front: tusk permanent and i1", {"front": "middle"}),
        ("pig", "front all permanent", {"front": "second"}),
        ("pig", "sow, second molar", {"molars": "second"}),
        (
            "red_deer",
            "third molar complete, front all four",
            {"molars": "third_complete", "front": "four"},
        ),
        (
            "red_deer",
            "m3 not complete; incisors two changed",
            {"molars": "third_emerging", "front": "two"},
        ),
        (
            "white_tailed_deer",
            "six cheek teeth, third two humps white, wear none",
            {"cheek_teeth": "six", "third": "two_new", "wear": "none"},
        ),
        (
            "white_tailed_deer",
            "six cheek teeth, worn smooth the fifth",
            {"cheek_teeth": "six", "wear": "fifth_smooth"},
        ),
    ],
)
def test_words_become_answers(species, body, answers):
    found = heard(species, body)
    assert dict(found.answers) == answers
    assert found.unread == ()


@pytest.mark.parametrize(
    ("body", "unread"),
    [
        ("molar three cusps, looks about two years old", ("looks about two years old",)),
        ("third molar", ("third molar",)),
        ("second molar not complete", ("second molar not complete",)),
        ("i1 milk", ("i1 milk",)),
        ("premolars permanent, premolars milk", ("premolars milk",)),
        ("big animal", ("big animal",)),
        ("no third molar", ("no third molar",)),
        ("molars not seen", ("molars not seen",)),
        ("molar second or third cusp", ("molar second or third cusp",)),
    ],
)
def test_what_is_not_read_is_given_back(body, unread):
    assert heard("pig", body).unread == unread


@pytest.mark.parametrize("key", list(TEETH.species))
def test_every_answer_can_be_texted_and_the_example_is_read(key):
    species = TEETH.species[key]
    found = heard(key, species.like)
    assert not found.unread
    assert isinstance(age_by_teeth(TEETH, key, found.answers), Age), "the example is one animal"
    for question in species.questions:
        assert set(question.listen) == set(question.answers)
        for answer, phrases in question.listen.items():
            for phrase in phrases:
                about = question.about[0]
                assert dict(heard(key, f"{about} {phrase}").answers) == {question.key: answer}, (
                    phrase
                )


def test_no_phrase_stands_for_two_answers():
    for species in TEETH.species.values():
        for question in species.questions:
            phrases = [words_of(p) for listed in question.listen.values() for p in listed]
            assert len(phrases) == len(set(phrases)), question.key


@pytest.mark.parametrize(
    ("body", "asks"),
    [
        ("AGE K7R-4TX m3", True),
        ("age", True),
        ("Got K7R-4TX", False),
        ("", False),
        ("boar, age 2", False),
    ],
)
def test_only_a_text_that_begins_so_is_about_age(body, asks):
    assert asks_age(TEETH, body) is asks


def test_a_species_is_named_or_not():
    deer = TEETH.several["deer"]
    assert species_in(TEETH, "red deer, third molar complete", deer) == "red_deer"
    assert species_in(TEETH, "third molar complete", deer) == ""
    assert species_in(TEETH, "red deer or white-tailed deer", deer) == ""


@given(st.text(max_size=2000))
def test_any_text_is_read_or_given_back(body):
    found = heard("pig", body)
    assert set(found.answers) <= {q.key for q in TEETH.species["pig"].questions}
