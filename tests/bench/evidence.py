"""How fast is the evidence of a whole programme? python -m tests.bench.evidence

50 zones, 100,000 clean heads over two years, 1 km cells over 200 x 200 km: one pass, one find more,
the whole page with every assumption halved and doubled; beside them the plain loop over finds, and
how far the fast way is from it.
"""

from __future__ import annotations

import argparse
import resource
import time
from collections.abc import Callable
from typing import TypeVar

import numpy as np

from bot.evidence.grid import CellGrid, ZoneCells
from bot.evidence.months import Looks
from bot.evidence.spatial import add, cover, kernels, zone_sensitivity
from bot.evidence.zones import Assumptions, evidence
from tests.evidence.areas import plain_loop

T = TypeVar("T")
SIDE = 200


def timed(words: str, work: Callable[[], T], repeat: int = 1) -> T:
    """The result; the best wall and processor time of so many runs are printed."""
    best = (np.inf, np.inf)
    for _ in range(repeat):
        wall, processor = time.perf_counter(), time.process_time()
        result = work()
        best = min(best, (time.perf_counter() - wall, time.process_time() - processor))
    print(f"{words:46} {best[0]:9.4f} s wall  {best[1]:9.4f} s processor", flush=True)
    return result


def programme(seed: int, finds: int, months: int) -> tuple[CellGrid, ZoneCells, Looks]:
    """50 zones of 40 x 20 km; two of three finds lie in a third of the country, as hunters do."""
    draw = np.random.default_rng(seed)
    half = SIDE / 2
    grid = CellGrid(-37.0, 147.0, -half, -half, SIDE, SIDE)
    rows, columns = np.indices((SIDE, SIDE))
    labels = (rows // 20) * 5 + columns // 40
    zones = ZoneCells(tuple(f"zone {n}" for n in range(50)), labels.astype(np.intp))
    x, y = draw.uniform(-half, half, (2, finds))
    x = np.where(draw.random(finds) < 0.5, x, x / 3)
    nodes = draw.integers(1, 7, finds)
    radius = draw.choice([6.0, 7.57], finds)
    month = draw.integers(0, months, finds).astype(np.intp)
    return grid, zones, Looks(x, y, 0.722 * nodes / 6, radius, month)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--finds", type=int, default=100_000)
    parser.add_argument("--months", type=int, default=24)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--no-loop", action="store_true", help="leave the slow plain loop out")
    args = parser.parse_args()
    grid, zones, looks = programme(args.seed, args.finds, args.months)
    catch = Assumptions().catch
    animals = kernels(looks.x, looks.y, looks.se * catch, looks.radius_95_km)
    print(f"seed {args.seed}, {args.finds} finds, {len(zones.names)} zones, {SIDE} x {SIDE} cells")
    found = timed("one pass", lambda: cover(grid, zones, animals), 3)
    timed("one find more", lambda: add(found, kernels(3.3, 4.4, 0.1, 6.0)), 5)
    confirmed = np.zeros((len(zones.names), args.months))
    timed(
        f"the page: {args.months} months, all halved and doubled",
        lambda: evidence(grid, zones, looks, confirmed),
    )
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{'most memory':46} {peak:9.0f} MiB")
    if args.no_loop:
        return
    plain = timed("the plain loop over finds", lambda: plain_loop(grid, animals))
    judge = -np.expm1(plain)
    seen = zones.sums(judge) / zones.sizes
    # A prevalence at which the zones' sensitivities are not all 1, so that a fault would show.
    few = 1.0 / zones.sizes
    ways = [zone_sensitivity(mean, zones.sizes, few) for mean in (found.mean, seen)]
    print(f"{'largest deviation, SeU of a cell':46} {np.abs(found.unit / judge - 1).max():.2e}")
    print(f"{'largest deviation, log(1 - SeU)':46} {np.abs(found.log_miss / plain - 1).max():.2e}")
    print(
        f"{'largest deviation, sensitivity of a zone':46} {np.abs(ways[0] / ways[1] - 1).max():.2e}"
    )


if __name__ == "__main__":
    main()
