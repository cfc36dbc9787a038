"""Signs and what was looked at: where, how, which side; doubt is a sign, a negation never is.

The sites are those of published carcase inspection: three pairs of head nodes (mandibular,
parotid, retropharyngeal), lungs and chest wall, liver, spleen, mesenteric nodes (US form OMB
0579-0146; Canada, Meat Hygiene Manual chapter 5 annex E). The hunters' words are our own.
"""

from __future__ import annotations

import pytest

from bot.reading.animals import read_animal
from bot.reading.listening import listen
from bot.reading.page import Page
from bot.reading.signs import read_signs
from bot.reading.words import Words

Signs = set[tuple[str, str, str]]


def understood(text: str, words: Words, asked: str = "") -> tuple[Signs, Signs]:
    """The signs (site, side, look) and the checks (site, side, state) of a text."""
    heard = listen(Page(text), words)
    signs, checked = read_signs(heard, read_animal(heard)[0], asked)
    return (
        {(f.value.site, f.value.side, f.value.look) for f in signs},
        {(f.value.site, f.value.side, f.value.state) for f in checked},
    )


SIGNS = [
    ("pus in left jaw gland", {("jaw_node", "left", "pus")}),
    ("lump on the jaw", {("jaw_node", "", "lumps")}),
    ("submandibular node swollen on the right", {("jaw_node", "right", "swollen")}),
    ("cheesy stuff behind the tongue", {("throat_node", "", "cheesy")}),
    ("enlarged retropharyngeals, both sides", {("throat_node", "both", "swollen")}),
    ("size of a golf ball under the ear", {("ear_node", "", "swollen")}),
    ("parotid gritty when cut", {("ear_node", "", "gritty")}),
    ("thick yellow pus in the glands", {("gland", "", "pus")}),
    ("lungs and liver full of lumps", {("lung", "", "lumps"), ("liver", "", "lumps")}),
    ("little white nodules on the ribs", {("chest_wall", "", "lumps")}),
    ("abscess in the spleen", {("spleen", "", "abscess")}),
    ("big gland in the guts", {("gut", "", "swollen")}),
    ("lumps all over inside", {("whole_body", "", "lumps")}),
    ("blisters on the mouth and feet", {("mouth", "", "blisters"), ("feet", "", "blisters")}),
    ("blood coming out the nose", {("nose", "", "blood")}),
    ("bleeding badly from the nose", {("nose", "", "blood")}),
    ("skin all scabby", {("skin", "", "sores")}),
    ("gritty when I cut it, jaw gland both sides", {("jaw_node", "both", "gritty")}),
    ("lumps", {("", "", "lumps")}),
    # Typing errors, one slip.
    ("absess in the jaw", {("jaw_node", "", "abscess")}),
    ("swolen throat gland", {("throat_node", "", "swollen")}),
    ("retropharangeal node full of pus", {("throat_node", "", "pus")}),
    # Doubt counts as a sign.
    ("probably just an abscess in the throat", {("throat_node", "", "abscess")}),
    ("bit swollen but prob nothing", {("", "", "swollen")}),
    ("not sure if it's a lump in the lung", {("lung", "", "lumps")}),
    ("not just one lump, heaps", {("", "", "lumps")}),
    ("swollen jaw gland without pus", {("jaw_node", "", "swollen")}),
    ("swollen jaw gland, no pus, no blood", {("jaw_node", "", "swollen")}),
    ("never seen lumps like that in the throat", {("throat_node", "", "lumps")}),
    ("no luck with the gps so far lump in the jaw gland", {("jaw_node", "", "lumps")}),
    ("no lumps except one in the left jaw gland", {("jaw_node", "left", "lumps")}),
    ("all glands normal apart from the left one", {("gland", "left", "odd")}),
    ("lungs don't look right", {("lung", "", "odd")}),
    ("might be nothing but the liver looks weird", {("liver", "", "odd")}),
    ("lumps in the neck", {("neck", "", "lumps")}),
    # The head that is kept is no place of a sign.
    ("lump in jaw yest 6pm head in freezer", {("jaw_node", "", "lumps")}),
    ("lump in jaw head double bagged", {("jaw_node", "", "lumps")}),
    ("boar. pus. jaw.", {("jaw_node", "", "pus")}),
    ("lump on head bagged twice", {("head", "", "lumps")}),
    # Spanish and French.
    ("pus en el ganglio de la mandíbula izquierda", {("jaw_node", "left", "pus")}),
    ("bultos en los pulmones y el hígado", {("lung", "", "lumps"), ("liver", "", "lumps")}),
    ("tenía un absceso detrás de la lengua", {("throat_node", "", "abscess")}),
    ("sangre en la nariz", {("nose", "", "blood")}),
    ("ganglion gonflé sous la mâchoire à gauche", {("jaw_node", "left", "swollen")}),
    ("des nodules sur les poumons", {("lung", "", "lumps")}),
    ("du pus dans la gorge", {("throat_node", "", "pus")}),
    ("une cloque sur la langue du sanglier", {("mouth", "", "blisters")}),
]


@pytest.mark.parametrize(("text", "expected"), SIGNS)
def test_a_sign_is_read_with_site_side_and_look(text: str, expected: Signs, words: Words) -> None:
    assert understood(text, words)[0] == expected


@pytest.mark.parametrize(("text", "expected"), SIGNS)
def test_case_and_a_full_stop_change_nothing(text: str, expected: Signs, words: Words) -> None:
    assert understood(text.upper(), words)[0] == expected
    assert understood(text + ".", words)[0] == expected
    assert understood("  " + text.replace(" ", "  "), words)[0] == expected


CLEAR = [
    ("no lumps", {("", "", "clear")}),
    ("no lumps, pus or swelling", {("", "", "clear")}),
    ("no lumps no pus anywhere", {("", "", "clear")}),
    ("all six clear", {("head_nodes", "", "clear")}),
    ("all 6 glands fine", {("head_nodes", "", "clear")}),
    ("nothing odd at all mate", {("", "", "clear")}),
    ("nothing in the lungs", {("lung", "", "clear")}),
    ("glands looked fine", {("gland", "", "clear")}),
    ("lumps: none", {("", "", "clear")}),
    ("lumps? no. pus? none", {("", "", "clear")}),
    ("lumps not seen", {("", "", "clear")}),
    ("didn't find anything", {("", "", "clear")}),
    ("no obvious lumps or really big swelling", {("", "", "clear")}),
    ("nothing in the guts or the lungs", {("gut", "", "clear"), ("lung", "", "clear")}),
    ("didn't see any lumps in the lungs or liver", {("lung", "", "clear"), ("liver", "", "clear")}),
    ("lungs and liver clear", {("lung", "", "clear"), ("liver", "", "clear")}),
    ("neither jaw gland swollen", {("jaw_node", "", "clear")}),
    ("couldn't find the small ones", {("throat_node", "", "not_found")}),
    ("didn't check the lungs", {("lung", "", "not_looked")}),
    ("sin bultos en los pulmones", {("lung", "", "clear")}),
    ("no vi ningún bulto", {("", "", "clear")}),
    ("no encontré los ganglios pequeños", {("throat_node", "", "not_found")}),
    ("pas de bosses dans les poumons", {("lung", "", "clear")}),
    ("pas vu d'abcès ni de bosses", {("", "", "clear")}),
    ("ganglions normaux", {("gland", "", "clear")}),
]


@pytest.mark.parametrize(("text", "expected"), CLEAR)
def test_a_plain_negation_is_never_a_sign(text: str, expected: Signs, words: Words) -> None:
    signs, checked = understood(text, words)
    assert not signs
    assert checked == expected


BOTH = [
    (
        "no lumps in the lungs but pus in the jaw gland",
        {("jaw_node", "", "pus")},
        {("lung", "", "clear")},
    ),
    ("no lumps in lungs, pus in throat", {("throat_node", "", "pus")}, {("lung", "", "clear")}),
    (
        "left jaw gland swollen, right one fine",
        {("jaw_node", "left", "swollen")},
        {("jaw_node", "right", "clear")},
    ),
    (
        "Checked head. No swelling. Lungs clear. Liver spotty.",
        {("liver", "", "yellow")},
        {("", "", "clear"), ("lung", "", "clear")},
    ),
    (
        "sin bultos en los pulmones pero el hígado con nódulos",
        {("liver", "", "lumps")},
        {("lung", "", "clear")},
    ),
    (
        "pas de bosses dans les poumons mais du pus dans la gorge",
        {("throat_node", "", "pus")},
        {("lung", "", "clear")},
    ),
]


# Own: a question that one answers oneself, a nought, and Spanish and French ways of it.
@pytest.mark.parametrize(
    "text",
    [
        "lumps? nah none", "lumps=0", "0 lumps", "lumps x 0", "cant find any lumps",
        "bultos? ninguno", "0 bultos", "des bosses? non aucune", "je n'ai pas trouvé de pus",
        "lungs 0 lumps, jaw no pus", "dont reckon there was any pus",
    ],
)  # fmt: skip
def test_a_denied_look_is_no_sign(text: str, words: Words) -> None:
    assert understood(text, words)[0] == set()


def test_no_mate_is_said_to_a_friend(words: Words) -> None:
    assert ("animal", "", "dead") not in understood("lumps? no mate", words)[0]


@pytest.mark.parametrize(("text", "signs", "checked"), BOTH)
def test_a_negation_reaches_as_far_as_its_part(
    text: str, signs: Signs, checked: Signs, words: Words
) -> None:
    assert understood(text, words) == (signs, checked)


@pytest.mark.parametrize(
    "text",
    [
        "my hand is swollen",
        "crossed the river, board was broken",
        "jaw in freezer",
        "big boar jaw in the freezer",
        "shot through the lungs, heart shot",
        "blood everywhere on the leaves",
        "took the liver and heart for the dogs",
        "left it by the creek, right next to the hut",
        "the branches and lamps jumped",
        "head's in the esky",
        "a spike with antlers",
        "was skinning it on the back of the ute",
    ],
)
def test_everyday_words_are_no_signs(text: str, words: Words) -> None:
    assert understood(text, words) == (set(), set())


@pytest.mark.parametrize(
    ("text", "site"),
    [
        ("six dead pigs", "many"),
        ("mob of dead pigs by the dam", "many"),
        ("found several deer dead", "many"),
        ("found a dead sow", "animal"),
        ("boar was dead when we got there", "animal"),
        ("encontré un jabalí muerto", "animal"),
        ("seis jabalíes muertos", "many"),
        ("trouvé un sanglier mort", "animal"),
    ],
)
def test_found_dead_is_a_sign_of_its_own(text: str, site: str, words: Words) -> None:
    assert (site, "", "dead") in understood(text, words)[0]


@pytest.mark.parametrize("text", ["pig shot dead", "shot a boar last night, found it dead today"])
def test_a_shot_animal_is_not_found_dead(text: str, words: Words) -> None:
    assert understood(text, words)[0] == set()


def test_a_bare_site_answers_the_question_of_what_was_seen(words: Words) -> None:
    assert understood("behind the tongue", words, "seen")[0] == {("throat_node", "", "")}
    assert understood("behind the tongue", words)[0] == set()


@pytest.mark.parametrize(
    ("text", "signs"),
    [
        ("jaw", {("jaw_node", "", "")}),
        ("in the jaw", {("jaw_node", "", "")}),
        ("its in its neck", {("neck", "", "")}),
        ("throat", {("throat_node", "", "")}),
        ("both sides of the throat", {("throat_node", "both", "")}),
        ("head", {("head", "", "")}),
        ("head, lungs", {("head", "", ""), ("lung", "", "")}),
        ("got the head", set()),
        ("heads in the ute", set()),
        ("jaw back please", set()),
    ],
)
def test_a_place_in_the_body_alone_answers_where_it_was(
    text: str, signs: Signs, words: Words
) -> None:
    assert understood(text, words, "seen")[0] == signs
