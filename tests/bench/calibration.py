"""Is a stated confidence met? Zones with a known truth, counted: python -m tests.bench.calibration

Claim 1: of zones infected AT the design prevalence and looked at until the stated sensitivity just
reaches 0.95, at most 5 % show no positive. Claim 2: of zones drawn from the stated prior, with the
stated risk of introduction, that show no positive and reach a probability of freedom of 0.95, at
most 5 % carry the disease. Both within sampling error. Then the same with one assumption wrong at a
time: there the claims are expected to break, and the table says by how much.

`--picture FILE` draws the first table as an SVG: each tenth of stated sensitivity against the share
of infected zones that were really found, with the sampling error as a bar.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TypeVar

import numpy as np
from scipy.stats import binom

from tests.evidence.worlds import (
    BROKEN,
    HONEST,
    Outcome,
    World,
    at_design_prevalence,
    from_the_prior,
    stopping_at,
)

T = TypeVar("T")


def watched(items: Iterable[T], of: int, words: str) -> Iterator[T]:
    """The same items, with a count on standard error."""
    for number, item in enumerate(items, 1):
        if number % max(1, of // 100) == 0:
            print(f"\r{words}: {number}/{of}", end="", file=sys.stderr)
        yield item
    print(file=sys.stderr)


def allowed(tried: int, share: float = 0.05) -> int:
    """The most misses of a share that sampling error explains, one time in a thousand."""
    return int(binom.ppf(0.999, tried, share))


def missed_at_095(pairs: Iterable[tuple[float, bool]]) -> tuple[int, int]:
    """(zones that reach 0.95, of these without a positive)."""
    reached = [found for sse, found in pairs if sse >= 0.95]
    return len(reached), reached.count(False)


def wrongly_called(outcomes: Iterable[Outcome]) -> tuple[int, int]:
    """(zone-months called free at 0.95, of these infected), each zone at its first such month."""
    called = wrong = 0
    for outcome in outcomes:
        months = np.flatnonzero(outcome.pfree >= 0.95)
        if len(months):
            called += 1
            wrong += bool(outcome.infected[months[0]])
    return called, wrong


def reliability(pairs: Iterable[tuple[float, bool]], bins: int = 10) -> Iterator[tuple[float, ...]]:
    """(from, to, zones, mean stated, share found) for each tenth of stated sensitivity."""
    rows = np.array([(sse, found) for sse, found in pairs], dtype=float)
    for low in np.arange(bins) / bins:
        inside = rows[(rows[:, 0] >= low) & (rows[:, 0] < low + 1 / bins + 1e-12 * (low > 0.85))]
        if len(inside):
            yield low, low + 1 / bins, len(inside), inside[:, 0].mean(), inside[:, 1].mean()


SIDE, EDGE = 360, 48


def picture(rows: Iterable[tuple[float, ...]], words: str) -> str:
    """The reliability table as an SVG: a point on the diagonal means that what is stated is met."""

    def at(share: float) -> float:
        return round(EDGE + share * (SIDE - 2 * EDGE), 1)

    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {SIDE} {SIDE}" '
        'font-family="serif" font-size="12">',
        f'<rect width="{SIDE}" height="{SIDE}" fill="#fffdf6"/>',
        f'<path d="M{at(0)} {at(1)} L{at(1)} {at(0)}" stroke="#857a5c" stroke-dasharray="5 4"/>',
        f'<path d="M{at(0)} {at(0)} V{at(1)} H{at(1)}" stroke="#23241c" fill="none"/>',
    ]
    for tick in (0, 0.5, 1):
        parts.append(f'<text x="{at(tick)}" y="{at(1) + 16}" text-anchor="middle">{tick:g}</text>')
        parts.append(
            f'<text x="{EDGE - 6}" y="{at(1 - tick) + 4}" text-anchor="end">{tick:g}</text>'
        )
    for _, _, zones, stated, found in rows:
        low, high = (binom.ppf(p, zones, found) / zones for p in (0.025, 0.975))
        x, y = at(stated), at(1 - found)
        parts.append(f'<path d="M{x} {at(1 - low)} V{at(1 - high)}" stroke="#2b4a3d"/>')
        parts.append(f'<circle cx="{x}" cy="{y}" r="3.5" fill="#2b4a3d"/>')
    middle = SIDE / 2
    parts.append(
        f'<text x="{middle}" y="{SIDE - 12}" text-anchor="middle">stated sensitivity</text>'
    )
    parts.append(f'<text x="{EDGE - 4}" y="24">share of infected zones found; {words}</text></svg>')
    return "\n".join(parts) + "\n"


def line(words: str, tried: int, missed: int) -> str:
    """One row: how many, how many missed, and whether that is within 5 % and sampling error."""
    share = f"{100 * missed / tried:6.2f} %" if tried else "not available"
    verdict = "met" if tried and missed <= allowed(tried) else "BROKEN"
    return f"{words:34} {tried:7d} {missed:7d}  {share:>9}  {verdict}"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--zones", type=int, default=4000, help="zones for each row")
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--picture", type=Path, help="write the first table there as an SVG")
    args = parser.parse_args()
    worlds: dict[str, World] = {"as assumed": HONEST, **BROKEN}
    pairs = list(
        watched(at_design_prevalence(args.seed, HONEST, args.zones), args.zones, "calibration")
    )
    if args.picture:
        words = f"{args.zones} zones, seed {args.seed}"
        args.picture.write_text(picture(reliability(pairs), words), encoding="utf-8")
        return
    print(f"seed {args.seed}, {args.zones} zones a row, design prevalence {HONEST.pstar:.0%}\n")
    print("stated        zones   stated    found")
    for low, high, zones, mean, found in reliability(pairs):
        print(f"{low:.1f} to {high:.1f}  {int(zones):7d}   {mean:6.3f}   {found:6.3f}")
    print(
        "\nsensitivity of 0.95 reached          zones  missed     share  (sampling error allowed)"
    )
    for words, world in worlds.items():
        rows = stopping_at(args.seed + 1, world, args.zones)
        print(line(words, *missed_at_095(watched(rows, args.zones, words))))
    print("\ncalled free at 0.95                  zones  carried   share")
    for words, world in worlds.items():
        months = from_the_prior(args.seed + 2, world, args.zones)
        print(line(words, *wrongly_called(watched(months, args.zones, words))))


if __name__ == "__main__":
    main()
