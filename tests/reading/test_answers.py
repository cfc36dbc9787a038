"""Small answers: what counts anywhere, what only as a whole text, what only when it was asked.

Stop words: 47 CFR 64.1200(a)(10) names stop, quit, end, revoke, opt out, cancel, unsubscribe; a
stop word opts out only as the whole text, whatever its case. The hunters' words are our own.
"""

from __future__ import annotations

import pytest

from bot.reading.answers import read_answers, whole_answer
from bot.reading.listening import listen
from bot.reading.page import Page
from bot.reading.people import find_phones, read_names
from bot.reading.words import Words


def answers(text: str, words: Words, asked: str = "") -> set[tuple[str, str]]:
    page = Page(text)
    whole = whole_answer(page, words, asked)
    if whole is not None:
        return {(whole.kind, whole.key)}
    return {(w.kind, w.key) for w in read_answers(listen(page, words), asked)}


ANYWHERE = [
    ("head bagged twice, in the freezer", {("storage", "bagged_twice"), ("storage", "frozen")}),
    ("it's not bagged, still warm", {("storage", "not_bagged"), ("storage", "warm")}),
    ("got no bags and no freezer", {("storage", "no_bags"), ("storage", "no_freezer")}),
    ("on ice in the esky", {("storage", "chilled")}),
    ("chucked it in the tip", {("storage", "binned")}),
    ("was boiling out the jaw", {("storage", "boiled")}),
    ("dog ran off with the head", {("storage", "dog_took")}),
    ("left it where it fell", {("storage", "left_there")}),
    ("head still on the carcass", {("where_now", "with_carcase")}),
    ("it's in the back of the ute", {("where_now", "vehicle")}),
    ("head is at home", {("where_now", "home")}),
    ("crown land", {("land", "public")}),
    ("my own place", {("land", "own")}),
    ("told the farmer", {("land", "owner_told")}),
    ("haven't told the owner yet", {("land", "owner_not_told")}),
    ("owner doesn't know", {("land", "owner_not_told")}),
    ("cut my finger gutting it", {("exposure", "cut")}),
    ("pus squirted in my eye", {("exposure", "splash")}),
    ("we ate the backstraps", {("exposure", "eaten")}),
    ("sausages already shared out", {("exposure", "shared")}),
    ("gave the dogs some liver", {("exposure", "dogs_fed")}),
    ("boar bit me", {("exposure", "bitten")}),
    ("touched it with bare hands", {("exposure", "touched")}),
    ("kid cut her hand on its jaw", {("exposure", "cut")}),
    ("I'm lost", {("trouble", "lost")}),
    ("my girl put her fingers in the pus", {("exposure", "touched")}),
    ("dog is sick after eating pig guts", {("exposure", "dogs_fed")}),
    ("coughing up blood since that pig", {("trouble", "sick")}),
    ("think ive got TB", {("trouble", "sick")}),
    ("can I feed it to the dogs", {("wish", "can_eat")}),
    ("snake bit me", {("trouble", "hurt")}),
    ("got bitten by a snake", {("trouble", "hurt")}),
    ("my mate got shot", {("trouble", "hurt")}),
    ("someone been shot", {("trouble", "hurt")}),
    ("me mate shot himself in the leg", {("trouble", "hurt")}),
    ("shot myself a boar", set()),
    ("he was shot at the creek", {("died", "died")}),
    ("who are you", {("wish", "who")}),
    ("will it cost me", {("wish", "who")}),
    ("how long", {("wish", "status")}),
    ("mate's cut bad, bleeding bad", {("trouble", "hurt")}),
    ("my mate is feeling crook", {("trouble", "sick")}),
    ("feeling really crook", {("trouble", "sick")}),
    ("we're bogged", {("trouble", "stuck")}),
    ("dont text me again", {("wish", "stop")}),
    ("can someone call me", {("wish", "person")}),
    ("is anyone coming", {("wish", "status")}),
    ("rather not say where", {("wish", "not_say")}),
    ("no need to come", {("wish", "call_off")}),
    ("don't tell the owner it was me", {("wish", "owner_private")}),
    ("would like the jaw back", {("jaw", "want")}),
    ("don't want the jaw", {("jaw", "no")}),
    ("I'm the butcher at Corrie, one head", {("texter", "butcher")}),
    ("texting for a mate", {("texter", "mate")}),
    ("another pig today", {("another", "another")}),
    ("one of three carcases", {("candidates", "candidates")}),
    ("wrong place, it was further up", {("correction", "place")}),
    ("wrong day", {("correction", "when")}),
    ("yep, bagged twice", {("yes_no", "yes"), ("storage", "bagged_twice")}),
    ("No, in the ute", {("yes_no", "no"), ("where_now", "vehicle")}),
    # Spanish and French.
    ("congelada en dos bolsas", {("storage", "frozen"), ("storage", "bagged_twice")}),
    ("el dueño ya lo sabe", {("land", "owner_told")}),
    ("me corté el dedo", {("exposure", "cut")}),
    ("estamos perdidos", {("trouble", "lost")}),
    ("se puede comer", {("wish", "can_eat")}),
    ("es tuberculosis", {("wish", "what_is_it")}),
    ("je peux le manger", {("wish", "can_eat")}),
    ("c'est la tuberculose", {("wish", "what_is_it")}),
    ("quiero hablar con una persona", {("wish", "person")}),
    ("au congélateur dans deux sacs", {("storage", "frozen"), ("storage", "bagged_twice")}),
    ("le propriétaire est au courant", {("land", "owner_told")}),
    ("je me suis coupé le doigt", {("exposure", "cut")}),
    ("je suis perdu", {("trouble", "lost")}),
    ("en français svp", {("language", "fr")}),
]


@pytest.mark.parametrize(("text", "expected"), ANYWHERE)
def test_an_answer_is_heard_anywhere(
    text: str, expected: set[tuple[str, str]], words: Words
) -> None:
    assert answers(text, words) == expected


@pytest.mark.parametrize(
    "text",
    ["stop", "STOP", " Stop. ", "quit", "end", "cancel", "unsubscribe", "opt out", "revoke",
     "arret", "ARRÊT", "baja"],
)  # fmt: skip
def test_a_bare_stop_word_opts_out(text: str, words: Words) -> None:
    assert answers(text, words) == {("wish", "stop")}


@pytest.mark.parametrize(
    "text",
    [
        "stop, the dog's got it",
        "deer at north end of lake, bus stop 3",
        "at the end of the track",
        "had to quit early",
        "stopped at the creek",
    ],
)
def test_a_stop_word_inside_a_text_does_not(text: str, words: Words) -> None:
    assert ("wish", "stop") not in answers(text, words)


@pytest.mark.parametrize(
    ("text", "key"),
    [("1", "1"), (" 2. ", "2"), ("a", "a"), ("B)", "b"), ("the second one", "2"),
     ("neither", "none"),
     ("option 3", "3"), ("la segunda", "2"), ("le premier", "1")],
)  # fmt: skip
def test_a_choice_is_the_whole_text(text: str, key: str, words: Words) -> None:
    assert answers(text, words) == {("choice", key)}


@pytest.mark.parametrize("text", ["2 pigs", "about 3", "a pig", "12"])
def test_a_number_in_a_text_is_no_choice(text: str, words: Words) -> None:
    assert not any(kind == "choice" for kind, _ in answers(text, words))


@pytest.mark.parametrize(
    ("text", "key"),
    [("yes", "yes"), ("Yep!", "yes"), ("all good", "yes"), ("nah", "no"), ("nope.", "no"),
     ("sí", "yes"), ("oui", "yes"), ("non merci", "no"), ("not yet", "no")],
)  # fmt: skip
def test_yes_and_no(text: str, key: str, words: Words) -> None:
    assert answers(text, words) == {("yes_no", key)}


@pytest.mark.parametrize(
    "text",
    [
        "lost the pig in the scrub",
        "boar bleeding bad, tracked it 200 m",
        "dog is hurt",
        "pigs were trapped",
        "shot a sick pig",
        "he's lost a lot of weight",
        "lost my knife",
    ],
)
def test_an_animals_trouble_is_no_persons(text: str, words: Words) -> None:
    assert not any(kind == "trouble" for kind, _ in answers(text, words))


@pytest.mark.parametrize(
    ("text", "asked", "expected"),
    [
        ("bag and cold", "storage", {("storage", "bagged"), ("storage", "chilled")}),
        ("cold morning and a warm bag of chips", "", set()),
        ("same place", "head_at", {("where_now", "with_carcase")}),
        ("same place", "", set()),
        ("he knows", "land", {("land", "owner_told")}),
        ("nothing", "seen", {("seen", "clear")}),
        ("fine", "seen", {("seen", "clear")}),
        ("fine", "storage", set()),
    ],
)
def test_a_loose_word_counts_only_when_asked(
    text: str, asked: str, expected: set[tuple[str, str]], words: Words
) -> None:
    assert answers(text, words, asked) == expected


@pytest.mark.parametrize(
    ("text", "asked", "name"),
    [
        ("name's Dave", "", "Dave"),
        ("It's Dave Kerr here", "", "Dave Kerr"),
        ("Kev here, found a pig", "", "Kev"),
        ("my name is Mere Te Ao", "", "Mere Te Ao"),
        ("I'm Ines, shot a boar", "", "Ines"),
        ("me llamo Lucía", "", "Lucía"),
        ("je m'appelle Luc", "", "Luc"),
        ("dave", "name", "dave"),
        ("Dave Kerr.", "name", "Dave Kerr"),
        ("I'm lost", "", None),
        ("dave", "", None),
        ("pig here", "", None),
    ],
)
def test_name(text: str, asked: str, name: str | None, words: Words) -> None:
    found = [w.key for w in read_names(listen(Page(text), words), asked)]
    assert found == ([name] if name else [])


@pytest.mark.parametrize(
    ("text", "number"),
    [
        # Numbers that ACMA and Ofcom reserve for fiction.
        ("call me on 0491 570 006", "0491 570 006"),
        ("Dave 0491570156", "0491570156"),
        ("my number is +61 491 570 157", "+61 491 570 157"),
        ("ring (03) 5550 0140", "(03) 5550 0140"),
        ("+44 7700 900123 is best", "+44 7700 900123"),
    ],
)
def test_a_phone_is_kept_as_written_and_struck(text: str, number: str) -> None:
    page = Page(text)
    (found,) = find_phones(page, "AU")
    assert (found.key, found.heard) == (number, number)
    assert not any(c.isdigit() for c in page.left)


@pytest.mark.parametrize(
    "text",
    [
        "55 273741 5796489",
        "273741 5796489",
        "-36.8700, 147.1500",
        "+401213-0750015/",
        "0273741 5796489",
        "30-06 at 200 m on 25/11/2026",
        "S36 52.123 E147 09.456",
    ],
)
def test_a_position_is_no_phone(text: str) -> None:
    page = Page(text)
    assert find_phones(page, "AU") == ()
    assert page.left == page.plain
