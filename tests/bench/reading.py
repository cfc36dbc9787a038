"""Microseconds a text: the whole reading, and dateparser's search alone, over the same texts.

Run by hand: `python tests/bench/reading.py`. 500 landmarks, three languages, texts of 120 to 160
characters, all in one process and one run, so that the ratio holds on a busy machine too.
"""

from __future__ import annotations

import gc
import random
import statistics
import sys
import time
import tomllib
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from dateparser.search import search_dates  # noqa: E402

from bot.programme import FILES, load_programme  # noqa: E402
from bot.reading.read import read  # noqa: E402
from bot.reading.scene import Scene  # noqa: E402
from bot.reading.words import load_words  # noqa: E402
from bot.scenes import scene_for  # noqa: E402
from bot.shipped import dialog_files, shipped  # noqa: E402

NOW = datetime(2026, 11, 25, 3, 0, tzinfo=UTC)
FIRST = ("Ash", "Bel", "Cor", "Dun", "Ed", "Far", "Gan", "Hol", "Ir", "Kel", "Lor", "Mer", "Nar")
LAST = ("berry", "dale", "field", "gate", "ham", "ley", "mere", "ridge", "stone", "wick")
KIND = ("Hut", "Creek", "Saddle", "Track")


def scene() -> Scene:
    """The demo's scene, with invented landmarks up to 500."""
    folder = shipped("demo_conversations") / "programme"
    files = {name: (folder / name).read_text("utf-8") for name in FILES}
    names = [f"{a}{b} {c}" for a in FIRST for b in LAST for c in KIND]
    rows = files["landmarks.csv"].rstrip("\n").split("\n")
    rows += [f"{n},{-37 + i / 1000:.3f},{147 + i / 1000:.3f},," for i, n in enumerate(names)]
    files["landmarks.csv"] = "\n".join(rows[:501]) + "\n"
    return scene_for(load_programme(files), load_words(dialog_files()), NOW)


def texts() -> list[str]:
    """The tests' whole texts, cut or joined to 120 to 160 characters."""
    table = tomllib.loads((ROOT / "tests/reading/whole_texts.toml").read_text("utf-8"))["text"]
    said = [row["said"] for row in table]
    chance = random.Random(5)
    made = [". ".join(chance.sample(said, 2))[: chance.randint(120, 160)] for _ in range(200)]
    return [text for text in made if len(text) >= 120]


def timed(job: Callable[[str], object], over: list[str], rounds: int) -> list[float]:
    """Microseconds of every call, by the clock on the wall."""
    for text in over[:20]:
        job(text)
    took = []
    for text in over * rounds:
        start = time.perf_counter()
        job(text)
        took.append((time.perf_counter() - start) * 1e6)
    return took


def told(name: str, took: list[float]) -> float:
    """Print median and 99th percentile; give the median."""
    median, high = statistics.median(took), statistics.quantiles(took, n=100)[98]
    print(f"{name:<28}{median:>9.0f} us median{high:>9.0f} us 99th{len(took):>8} texts")
    return median


def main() -> None:
    """Time both, and print the ratio of their medians."""
    frame, over = scene(), texts()
    gc.freeze()
    ours = told("whole reading", timed(lambda text: read(text, frame), over, 20))
    base = {"RELATIVE_BASE": NOW.replace(tzinfo=None), "PREFER_DATES_FROM": "past"}
    theirs = told(
        "dateparser search alone",
        timed(lambda t: search_dates(t, languages=["en", "es", "fr"], settings=base), over, 1),
    )
    print(f"dateparser / reading        {theirs / ours:>9.1f} times")


if __name__ == "__main__":
    main()
