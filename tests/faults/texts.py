"""Hunters' texts for the faults suite: whole talks, each text with an id of its own, delivered
one to four times, shuffled within ten seconds, as careless carriers do.

Numbers are of the range that the Australian regulator keeps for fiction: fixed lines 5550 xxxx
and 7010 xxxx in each of four areas (figures from memory of its list).
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass

SHUFFLED_S = 10.0
MOST_DELIVERIES = 4

TALKS = (
    (
        "Shot a big boar at {where} yesterday about 9pm, pus in the gland under the jaw left side. "
        "Head double bagged in the freezer at {head}. State forest. Name's Gil, want the jaw back",
        "thanks mate",
        "when are they coming",
    ),
    (
        "found something not right in a pig",
        "lumps in the throat full of yellow stuff",
        "{where}",
        "this morning round 7",
        "in the chest freezer at {head}, sow by the way",
        "2 bags yeah and frozen",
        "neighbours place, hes been told",
        "bess",
        "nah dont want it",
    ),
    (
        "clean head, boar, looked at all the glands, nothing. {where} yesterday arvo",
        "yes",
        "cheers",
    ),
    ("red stag with gritty lungs at {where} this morning", "no idea", "no idea", "leave it"),
    ("Sow at {where}, swollen jaw gland, yesterday", "head is in the esky at {head}",
     "wrong, {where}", "two bags", "crown land", "Tam"),
    ("who is this", "do I have to pay", "STOP"),
)  # fmt: skip


@dataclass(frozen=True, slots=True, order=True)
class Delivery:
    """One try of the carrier to bring one text in, so many seconds after the beginning."""

    at: float
    id: str
    sender: str
    body: str
    tries: int = 0


def number_of(n: int) -> str:
    """The n-th number kept for fiction, up to 80,000."""
    area, rest = divmod(n, 20_000)
    block, line = divmod(rest, 10_000)
    return f"+61{'2378'[area]}{('5550', '7010')[block]}{line:04}"


def deliveries(texts: int, hunters: int, span_s: float, seed: int) -> Iterator[Delivery]:
    """Every delivery of so many texts of so many hunters, spread over a span; each hunter's own
    texts in the order in which he wrote them, until the carrier shuffles them."""
    dice = random.Random(seed)
    share, more = divmod(texts, hunters)
    for hunter in range(hunters):
        bodies = _talk(dice, share + (hunter < more))
        moments = sorted(dice.uniform(0, span_s) for _ in bodies)
        for n, (at, body) in enumerate(zip(moments, bodies, strict=True)):
            for _ in range(dice.randint(1, MOST_DELIVERIES)):
                late = dice.uniform(0, SHUFFLED_S)
                yield Delivery(at + late, f"h{hunter}-{n}", number_of(hunter), body)


def _talk(dice: random.Random, length: int) -> list[str]:
    bodies: list[str] = []
    while len(bodies) < length:
        where = f"{dice.uniform(-37.2, -36.65):.4f}, {dice.uniform(146.85, 147.4):.4f}"
        head = dice.choice(("Kerrin Flat depot", "Brindle Hut", "Wirrabel Station"))
        bodies += [body.format(where=where, head=head) for body in dice.choice(TALKS)]
    return bodies[:length]
