"""Microseconds a text: the whole reading, and dateparser's search alone, over the same texts.

Run by hand: `python -m tests.bench.reading`, with `--million` for the memory of a million texts.
500 landmarks, three languages, no text twice, all in one process and turn about, so that the ratio
holds on a busy machine too.
"""

from __future__ import annotations

import argparse
import gc
import itertools
import random
import resource
import statistics
import sys
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from dateparser.date import DateDataParser  # noqa: E402
from dateparser.search import search_dates  # noqa: E402

from bot.programme import FILES, load_programme  # noqa: E402
from bot.reading.read import read  # noqa: E402
from bot.reading.scene import Scene  # noqa: E402
from bot.reading.words import load_words  # noqa: E402
from bot.scenes import scene_for  # noqa: E402
from bot.shipped import dialog_files, shipped  # noqa: E402
from tests.bench.texts import names, point, texts  # noqa: E402

NOW = datetime(2026, 11, 25, 3, 0, tzinfo=UTC)
LANDMARKS = 500
SEARCHED = 10
"""One text in so many is given to dateparser too: it takes its time."""

WARMED = 50
"""Texts that both read before the clock runs."""


def scene() -> Scene:
    """The demo's scene, with invented landmarks up to 500."""
    folder = shipped("demo_conversations") / "programme"
    files = {name: (folder / name).read_text("utf-8") for name in FILES}
    dice = random.Random(2)
    rows = files["landmarks.csv"].rstrip("\n").split("\n")
    for name in names(LANDMARKS - len(rows) + 1):
        lat, lon = point(dice)
        rows.append(f"{name},{lat:.4f},{lon:.4f},,")
    files["landmarks.csv"] = "\n".join(rows) + "\n"
    return scene_for(load_programme(files), load_words(dialog_files()), NOW)


class Calls:
    """Counts the texts over which dateparser was asked anything at all, by whatever way."""

    def __init__(self) -> None:
        self.made = 0
        ask: Callable[..., object] = DateDataParser.get_date_data

        def counted(*given: object, **named: object) -> object:
            self.made += 1
            return ask(*given, **named)

        setattr(DateDataParser, "get_date_data", counted)  # noqa: B010 (a method is replaced)

    def over(self, text: str, frame: Scene) -> bool:
        """Whether the reading of a text asked dateparser."""
        before = self.made
        read(text, frame)
        return self.made > before


def timed(job: Callable[[str], object], text: str) -> float:
    """Microseconds of one call, by the clock on the wall."""
    start = time.perf_counter()
    job(text)
    return (time.perf_counter() - start) * 1e6


def told(name: str, took: list[float]) -> float:
    """Print median and 99th percentile; give the median."""
    median, high = statistics.median(took), statistics.quantiles(took, n=100)[98]
    print(f"{name:<28}{median:>9.0f} us median{high:>9.0f} us 99th{len(took):>9} texts")
    return median


def search(text: str) -> object:
    """dateparser's own search, told the languages and the moment as the reading is."""
    settings = {"RELATIVE_BASE": NOW.replace(tzinfo=None), "PREFER_DATES_FROM": "past"}
    return search_dates(text, languages=["en", "es", "fr"], settings=settings)


def resident_mb() -> float:
    """The memory of this process in MB, as Linux counts it."""
    pages = int(Path("/proc/self/statm").read_text("ascii").split()[1])
    return pages * resource.getpagesize() / 1e6


def speed(frame: Scene, over: Iterator[str], number: int) -> None:
    """Time both over the same texts, turn about, and print the ratio of their medians."""
    asks = Calls()
    ours, theirs, share = [], [], 0
    for place, text in enumerate(itertools.islice(over, number)):
        ours.append(timed(lambda t: read(t, frame), text))
        if place % SEARCHED == 0:
            theirs.append(timed(search, text))
        share += asks.over(text, frame)
    mine, other = told("whole reading", ours), told("dateparser search alone", theirs)
    print(f"dateparser / reading        {other / mine:>9.1f} times")
    print(f"texts that ask dateparser   {100 * share / number:>9.2f} %")


def memory(frame: Scene, over: Iterator[str], number: int) -> None:
    """Read so many further texts and print how the memory of the process grew."""
    gc.collect()
    before = resident_mb()
    print(f"memory before               {before:>9.1f} MB", flush=True)
    for part in range(1, 5):
        for text in itertools.islice(over, number // 4):
            read(text, frame)
        grown = resident_mb() - before
        print(f"after {part * number // 4:>9} texts       {grown:>+9.1f} MB", flush=True)


def main() -> None:
    """Speed first, then memory over further texts."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--texts", type=int, default=20_000, help="for memory")
    asked.add_argument("--million", action="store_const", const=1_000_000, dest="texts")
    number = asked.parse_args().texts
    frame = scene()
    over = texts([mark.name for mark in frame.landmarks.places] if frame.landmarks else [])
    for text in itertools.islice(over, WARMED):
        read(text, frame)
        search(text)
    gc.freeze()
    speed(frame, over, 2_000)
    memory(frame, over, number)


if __name__ == "__main__":
    main()
