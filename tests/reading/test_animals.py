"""Animals: species, sort, count, weight, tag; and the words that name two kinds, asked about.

The ambiguous words are those of hunters' glossaries (deernz.org/glossary, lifestyleblock.co.nz,
kaufarmer.blogspot.com): weaner, stag, calf, buck, kid; a hogget is a sheep, a hog deer a deer.
"""

from __future__ import annotations

import pytest

from bot.reading.animals import read_animal
from bot.reading.listening import listen
from bot.reading.page import Page
from bot.reading.values import Animal, Unclear
from bot.reading.words import Words, WordsError, load_words
from bot.shipped import dialog_files


def understood(text: str, words: Words) -> tuple[Animal | None, tuple[Unclear, ...]]:
    found, unclear = read_animal(listen(Page(text), words))
    return (found.value if found else None), unclear


KINDS = [
    ("shot a boar", "pig", "boar"),
    ("old wet sow", "pig", "sow"),
    ("a tusker with good cutters", "pig", "boar"),
    ("Captain Cooker", "pig", ""),
    ("wild boar", "pig", ""),
    ("feral pig", "pig", ""),
    ("razorback", "pig", ""),
    ("a striper", "pig", "piglet"),
    ("shoat", "pig", "piglet"),
    ("barrow hog", "pig", "barrow"),
    ("red stag", "deer", "stag"),
    ("hind", "deer", "hind"),
    ("spiker", "deer", "yearling"),
    ("spikehorn", "deer", "yearling"),
    ("fallow buck", "deer", "stag"),
    ("a doe", "deer", "hind"),
    ("fawn", "deer", "calf"),
    ("cow elk", "deer", "hind"),
    ("bull wapiti", "deer", "stag"),
    ("sambar", "deer", ""),
    ("hog deer", "deer", ""),
    ("hogget", "sheep", ""),
    ("possum", "possum", ""),
    ("ferret", "ferret", ""),
    ("billy goat", "goat", ""),
    ("hare", "hare", ""),
    ("badger", "badger", ""),
    ("heifer", "cattle", ""),
    ("pet pig", "domestic_pig", ""),
    ("stag pig", "pig", "stag"),
    ("a stag, a pig that is", "pig", "stag"),
    ("stag with big antlers", "deer", "stag"),
    ("bull tahr", "goat", ""),
    ("jabalí macho", "pig", "boar"),
    ("una jabalina", "pig", "sow"),
    ("rayón", "pig", "piglet"),
    ("cierva", "deer", "hind"),
    ("corzo", "deer", ""),
    ("sanglier", "pig", ""),
    ("laie", "pig", "sow"),
    ("marcassin", "pig", "piglet"),
    ("biche", "deer", "hind"),
    ("brocard", "deer", "stag"),
    ("blaireau", "badger", ""),
    # What is said to be clean is named by that, and a hind leg is no hind.
    ("nice clean boar", "pig", "boar"),
    ("jabalí limpio", "pig", ""),
    ("sanglier sain", "pig", ""),
    ("boar, hind leg had an abscess", "pig", "boar"),
    ("nanny with pus in the lungs", "goat", ""),
]


@pytest.mark.parametrize(("text", "species", "sort"), KINDS)
def test_species_and_sort(text: str, species: str, sort: str, words: Words) -> None:
    for written in (text, text.upper(), f"Shot it Sat: {text}."):
        animal, unclear = understood(written, words)
        assert animal is not None
        assert (animal.species, animal.sort, unclear) == (species, sort, ())


@pytest.mark.parametrize(
    ("text", "choices"),
    [
        ("shot a stag", {("deer", "stag"), ("pig", "stag")}),
        ("nice buck", {("deer", "stag"), ("goat", ""), ("rabbit", "")}),
        ("a calf", {("deer", "calf"), ("cattle", "")}),
        ("weaner", {("pig", "piglet"), ("deer", "calf")}),
        ("shot a kid", {("deer", "calf"), ("goat", "")}),
        ("big bull", {("deer", "stag"), ("cattle", "")}),
        ("yearling", {("deer", "yearling"), ("pig", "")}),
        ("cabrito", {("goat", ""), ("deer", "calf")}),
    ],
)
def test_a_word_for_two_species_is_asked_about(
    text: str, choices: set[tuple[str, str]], words: Words
) -> None:
    animal, unclear = understood(text, words)
    assert animal is None
    (asked,) = unclear
    assert (asked.question, asked.why) == ("species", "two_species")
    values = [c.value for c in asked.choices]
    assert {(v.species, v.sort) for v in values if isinstance(v, Animal)} == choices


def test_a_boar_beside_a_bear_is_asked_about(words: Words) -> None:
    animal, unclear = understood("boar, a black bear I mean", words)
    assert animal is None
    assert unclear[0].why == "two_animals"
    found, _ = understood("boar bear", words)
    assert found is not None
    assert found.species == "bear"


@pytest.mark.parametrize(
    ("text", "count", "sort"),
    [
        ("two big sows", 2, "sow"),
        ("3 pigs", 3, ""),
        ("two sows and a boar", 3, ""),
        ("sow with six piglets", 1, "sow"),
        ("a couple of hinds", 2, "hind"),
        ("boar, 95kg, shot at 200 m", 1, "boar"),
        ("seis jabalíes", 6, ""),
        ("deux laies", 2, "sow"),
        ("60kg sow", 1, "sow"),
        ("a 60 kg sow", 1, "sow"),
        ("3 x 60kg sows", 3, "sow"),
        ("2 yr old boar", 1, "boar"),
        ("two 6 month old sows", 2, "sow"),
    ],
)
def test_count(text: str, count: int, sort: str, words: Words) -> None:
    animal, _ = understood(text, words)
    assert animal is not None
    assert (animal.count, animal.sort) == (count, sort)


@pytest.mark.parametrize(
    ("text", "weight"),
    [
        ("boar 95kg", 95.0),
        ("about 62,5 kg sow", 62.5),
        # 100 lb = 45.359237 kg, NIST Special Publication 811, appendix B.8.
        ("100 lb boar", 45.4),
        ("sow, gave away 3 kg of sausages", None),
        ("boar, 30-06 at 200 yards", None),
    ],
)
def test_weight(text: str, weight: float | None, words: Words) -> None:
    animal, _ = understood(text, words)
    assert animal is not None
    assert animal.weight_kg == weight


@pytest.mark.parametrize(
    ("text", "tag"),
    [("hind, ear tag 4213", "4213"), ("pig with ear tag no. AB-77", "AB-77"), ("pig tagged", "")],
)
def test_ear_tag(text: str, tag: str, words: Words) -> None:
    animal, _ = understood(text, words)
    assert animal is not None
    assert animal.tag_number == tag


@pytest.mark.parametrize(
    ("text", "dead"),
    [
        ("found a dead boar", True),
        ("dead pig, not shot", True),
        ("sow was dead when I got there", True),
        ("shot a boar dead", False),
        ("shot a boar at dusk, found it dead in the morning", False),
        ("found one pig dead then shot another pig", True),
        ("shot a boar", False),
        ("boar, shot it last night, found dead this morning", False),
        ("cerdo salvaje encontrado muerto", True),
        ("sanglier trouvé mort", True),
    ],
)
def test_found_dead_or_shot(text: str, dead: bool, words: Words) -> None:
    animal, _ = understood(text, words)
    assert animal is not None
    assert animal.found_dead is dead


@pytest.mark.parametrize(
    "text",
    [
        "up Pig Creek",
        "by the sheep station",
        "my kids saw it",
        "bull bar hit the fence",
        "the board was boarded and we were bored",
        "what does it cost",
        "not a pig",
        "fifty bucks",
    ],
)
def test_no_animal(text: str, words: Words) -> None:
    assert understood(text, words) == (None, ())


@pytest.mark.parametrize(
    ("text", "species"),
    [
        ("pig was with the neighbour's cattle", "pig"),
        ("not a pig, a deer", "deer"),
        ("shot a hind in the cow paddock", "deer"),
    ],
)
def test_what_stands_by_is_not_the_animal(text: str, species: str, words: Words) -> None:
    animal, unclear = understood(text, words)
    assert unclear == ()
    assert animal is not None
    assert animal.species == species


def test_two_animals_are_asked_about(words: Words) -> None:
    animal, unclear = understood("shot a pig and a red deer", words)
    assert animal is None
    assert [c.words for c in unclear[0].choices] == ["pig", "deer"]


@pytest.mark.parametrize(
    ("name", "old", "new", "named"),
    [
        ("species.toml", 'choices = ["deer/stag", "pig/stag"]', 'choices = ["deer/stag"]', "stag"),
        ("species.toml", '"deer/stag", "pig/stag"', '"deer/stag", "pig/duck"', "pig/duck"),
        ("species.toml", '"stag(s|)", "stagg"', '"stag(s|"', "two_species.stag.words.en"),
        ("signs.toml", 'sites = ["nose"', 'sites = ["elbow"', "elbow"),
        ("signs.toml", 'region = "head"', 'region = "hat"', "region"),
        ("languages/en.toml", "[numbers]", "[numbers", "languages/en.toml"),
    ],
)
def test_a_fault_in_a_file_is_named(name: str, old: str, new: str, named: str) -> None:
    files = dialog_files()
    assert old in files[name]
    files[name] = files[name].replace(old, new, 1)
    with pytest.raises(WordsError, match=named) as fault:
        load_words(files)
    assert str(fault.value).startswith(name)


def test_a_missing_file_is_named() -> None:
    files = dialog_files()
    del files["signs.toml"]
    with pytest.raises(WordsError, match=r"signs\.toml: no such file"):
        load_words(files)


def test_the_words_say_what_is_livestock(words: Words) -> None:
    assert words.livestock("cattle")
    assert not words.livestock("pig")
