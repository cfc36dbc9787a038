"""Microseconds of processor time for the landmarks alone: 500 invented names, texts of 120 to 160
characters.

Run: python tests/bench/landmarks.py. Not collected as a test: it measures, and asserts nothing.
"""

from __future__ import annotations

import random
import statistics
import sys
import time
from dataclasses import replace
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "reading")]

from landmark_frame import WORDS, Mark, frame  # noqa: E402

from bot.reading.landmarks import Landmarks, read_landmarks  # noqa: E402
from bot.reading.page import Page  # noqa: E402

KINDS = ("hut", "creek", "track", "saddle", "station", "mountain", "ridge", "gully")
KIND_WORDS = ("Hut", "Creek", "Track", "Saddle", "Station", "Mountain", "Ridge", "Gully")
HEADS = "bar cor dal fen gar hol kin lar mor nor pel quin ros tal var wim"
TAILS = "ander berry combe dwick ellan feldt garra holme inya keller lowan mere nook"
FILLING = (
    "shot a big boar on {when} and when I opened the throat there were lumps in the glands, ",
    "got a young sow {when}, pus in the jaw nodes, head is bagged and on ice at home now, ",
    "dogs bailed a pig {when}, looked a bit crook inside so kept the head for you blokes, ",
)
ENDS = ("3 km NW of {}", "near {}", "500m past {}", "at {}", "halfway between {} and {}", "no idea")


def invented(number: int, dice: random.Random) -> list[Mark]:
    marks: dict[str, Mark] = {}
    while len(marks) < number:
        kind = dice.randrange(len(KINDS))
        stem = (dice.choice(HEADS.split()) + dice.choice(TAILS.split())).title()
        name = f"{stem} {KIND_WORDS[kind]}"
        at = (dice.uniform(-37.4, -36.5), dice.uniform(146.6, 147.6))
        marks[name] = Mark(name, *at, (), KINDS[kind])
    return list(marks.values())


def written(marks: list[Mark], dice: random.Random) -> str:
    names = [dice.choice(marks).name for _ in range(2)]
    if dice.random() < 0.3:
        at = dice.randrange(1, len(names[0].split()[0]) - 1)
        names[0] = names[0][:at] + names[0][at + 1 :]
    text = dice.choice(FILLING).format(when=dice.choice(("Sat arvo", "yesterday", "last Tues")))
    return (text + dice.choice(ENDS).format(*names) + ", call me on the usual number ok")[:160]


def main() -> None:
    dice = random.Random(3)
    marks = invented(500, dice)
    start = time.thread_time()
    landmarks = Landmarks.build(marks, WORDS)
    print(f"built in {1e3 * (time.thread_time() - start):.0f} ms: {len(marks)} landmarks")
    scene = replace(frame(), landmarks=landmarks)
    texts = [written(marks, dice) for _ in range(5000)]
    for title, lot in (("first time", texts[:2500]), ("later", texts[2500:])):
        taken, found = [], 0
        for text in lot:
            page = Page(text)
            start = time.thread_time()
            found += bool(read_landmarks(page, scene))
            taken.append(1e6 * (time.thread_time() - start))
        taken.sort()
        print(
            f"{title}: median {statistics.median(taken):.0f} us, 99th "
            f"{taken[len(taken) * 99 // 100]:.0f} us, {found} of {len(lot)} texts with a landmark"
        )


if __name__ == "__main__":
    main()
