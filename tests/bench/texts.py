"""Endless invented texts of 120 to 160 characters for the bench of the reading, no two alike.

English, Spanish and French in turn. Half give the place in figures (every notation that the round
trips write), half by one of 500 invented landmarks, alone or with an offset, one in five of them
misspelt; nine in ten tell the day. Some come without capitals, some without stops.
"""

from __future__ import annotations

import random
from collections.abc import Iterator

from tests.reading.places_written import DEGREES, UTM

SHORTEST, LONGEST = 120, 160
WEST, SOUTH, EAST, NORTH = 146.85, -37.2, 147.4, -36.65
"""A box inside the demo's area."""

WRITERS = (*DEGREES.values(), *UTM.values())
_HEADS = (
    "bar",
    "cor",
    "dal",
    "fen",
    "gar",
    "hol",
    "kin",
    "lar",
    "mor",
    "nor",
    "pel",
    "quin",
    "ros",
)
_TAILS = ("ander", "berry", "combe", "dwick", "ellan", "feldt", "garra", "holme", "inya", "keller")
_KINDS = ("Hut", "Creek", "Track", "Saddle", "Station", "Ridge", "Gully", "Spur")

Said = dict[str, tuple[str, ...]]

_EN: Said = {
    "what": ("shot a boar", "Got a big sow", "knocked over a red stag", "Found a dead pig",
             "Mate shot a young fallow buck", "Dogs bailed a tusker, about 85 kg",
             "2 pigs, a boar and a sow", "Shot a hind", "Boar"),
    "where": ("at {}", "near {}", "{}", "position {}", "up by {}"),
    "offset": ("3 km NW of {}", "500m past {}", "2k up the creek from {}", "at {}", "near {}",
               "{}", "halfway between {} and {}", "about 1.5 km south of {}", "on {}"),
    "when": ("Sat arvo", "yesterday", "this morning at 6.30", "last Tues", "on 21/11", "22 Nov",
             "2 days ago", "Sunday on dark", "last night about 9pm", "Monday 0730"),
    "more": ("pus in the left jaw gland", "Lungs fine",
             "lump under the ear the size of a golf ball",
             "head bagged twice and in the freezer", "Name's Dave", "call me on 0491 570 156",
             "Owner knows", "didn't like the look of it", "it's crown land", "liver was all spotty",
             "nothing in the chest", "Kev here", "meat is hung in the shed, not touched since",
             "the dogs had a go at the guts", "couldnt find the small glands", "want the jaw back",
             "cut my finger on the knife", "can drop it off on the way home if that helps"),
}  # fmt: skip
_ES: Said = {
    "what": ("Cacé un jabalí macho", "encontré una cierva muerta", "jabalina abatida",
             "Abatí un ciervo joven", "Un cochino grande de unos 90 kg", "dos jabalíes"),
    "where": ("en {}", "cerca de {}", "{}", "posición {}"),
    "offset": ("a 3 km al norte de {}", "cerca de {}", "en {}", "{}", "a 500 m de {}",
               "entre {} y {}"),
    "when": ("ayer por la tarde", "el domingo", "anteayer", "hace 2 días", "el 21/11",
             "hoy a las 8", "el sábado por la noche", "20 de noviembre"),
    "more": ("pus en el ganglio de la mandíbula izquierda", "pulmones limpios", "me llamo Luis",
             "la cabeza está congelada en dos bolsas", "mi número es 0491 570 157",
             "hígado con nódulos", "el dueño lo sabe", "no he tocado nada", "sin bultos",
             "los perros se comieron las tripas", "la tengo en casa y puedo esperar unos días",
             "quiero los colmillos"),
}  # fmt: skip
_FR: Said = {
    "what": ("Tiré une laie", "trouvé un sanglier mort", "Un brocard tiré", "deux marcassins",
             "j'ai tué un gros sanglier d'environ 80 kg", "Biche tirée"),
    "where": ("à {}", "près de {}", "{}", "position {}"),
    "offset": ("à 2 km au nord de {}", "près de {}", "à {}", "{}", "à 500 m de {}",
               "entre {} et {}"),
    "when": ("hier soir", "ce matin", "avant-hier", "dimanche", "le 21/11", "il y a 2 jours",
             "samedi vers 18h30", "le 20 novembre"),
    "more": ("ganglion gonflé sous la mâchoire à gauche", "tête au congélateur dans deux sacs",
             "des nodules sur les poumons", "pas touché", "je m'appelle Paul",
             "le propriétaire est au courant",
             "mon numéro 0491 570 158", "rien d'anormal au foie", "le chien n'a rien mangé",
             "je voudrais les défenses", "je peux attendre jusqu'à demain si besoin"),
}  # fmt: skip
_LANGUAGES = (_EN, _ES, _FR)


def names(number: int) -> list[str]:
    """So many invented names of places, no two alike."""
    every = [f"{head}{tail}".title() for head in _HEADS for tail in _TAILS]
    full = [f"{stem} {kind}" for kind in _KINDS for stem in every]
    return random.Random(1).sample(full, number)


def point(dice: random.Random) -> tuple[float, float]:
    """(lat, lon) somewhere in the box."""
    return dice.uniform(SOUTH, NORTH), dice.uniform(WEST, EAST)


def texts(known: list[str], seed: int = 5) -> Iterator[str]:
    """Texts without end; `known` are the names of the landmarks."""
    dice = random.Random(seed)
    number = 0
    while True:
        text = _text(_LANGUAGES[number % 3], known, number // 3 % 2 == 0, dice)
        if SHORTEST <= len(text) <= LONGEST:
            number += 1
            yield text


def _text(
    said: dict[str, tuple[str, ...]], known: list[str], figures: bool, dice: random.Random
) -> str:
    if figures:
        place = dice.choice(said["where"]).format(dice.choice(WRITERS)(*point(dice)))
    else:
        one, two = (_misspelt(name, dice) for name in dice.sample(known, 2))
        place = dice.choice(said["offset"]).format(one, two)
    when = dice.choice(said["when"]) if dice.random() < 0.9 else ""
    text = " ".join(filter(None, dice.sample([dice.choice(said["what"]), when, place], 3)))
    more = list(said["more"])
    dice.shuffle(more)
    stop = dice.choice((". ", ", ", " ", ", "))
    while len(text) < dice.randint(SHORTEST, LONGEST) and more:
        text += stop + more.pop()
    return text.lower() if dice.random() < 0.3 else text


def _misspelt(name: str, dice: random.Random) -> str:
    """One name in five with a letter lost or two exchanged."""
    if dice.random() >= 0.2:
        return name
    at = dice.randrange(1, len(name.split()[0]) - 1)
    if dice.random() < 0.5:
        return name[:at] + name[at + 1 :]
    return name[:at] + name[at + 1] + name[at] + name[at + 2 :]
