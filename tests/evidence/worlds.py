"""Invented worlds in which the truth is known: where the disease lies, who has it, what was found.

Law: the truth uses none of the formulas that are judged. A world draws infected cells, lets each
animal catch the disease from each of them, and lets one look at each sick animal find it or not.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.random import Generator

from bot.evidence.freedom import pfree_over_time
from bot.evidence.spatial import RADIUS_95, cover, kernels, zone_sensitivity
from tests.evidence.areas import square

SIDE = 20
CELLS = SIDE * SIDE
GRID, ZONES = square(SIDE, SIDE)


@dataclass(frozen=True)
class World:
    """How a world really is, and (`assumed_*`) what the statement takes it to be."""

    pstar: float = 0.01
    radius: float = 6.0
    catch: float = 0.3
    se: float = 0.722
    clustered: bool = False
    one_corner: bool = False
    assumed_radius: float = 6.0
    assumed_catch: float = 0.3
    assumed_se: float = 0.722


HONEST = World()
BROKEN = {
    "infected cells in one cluster": replace(HONEST, clustered=True),
    "all animals from one corner": replace(HONEST, one_corner=True),
    "range half of what is assumed": replace(HONEST, radius=3.0),
    "catch half of what is assumed": replace(HONEST, catch=0.15),
    "looking half as good": replace(HONEST, se=0.361),
}
"""Worlds in which one assumption is wrong."""


@dataclass(frozen=True)
class Outcome:
    """One zone after its months, (months,) each: was it infected, was it found, what was stated."""

    infected: np.ndarray
    found: np.ndarray
    sse: np.ndarray
    pfree: np.ndarray


def infected_cells(draw: Generator, world: World) -> np.ndarray:
    """Centres (k, 2) in km of the infected cells: P* of them, at random or in one block."""
    centre = np.arange(SIDE) + 0.5 - SIDE / 2
    places = np.stack(np.meshgrid(centre, centre), axis=-1).reshape(-1, 2)
    number = max(1, round(world.pstar * CELLS))
    if not world.clustered:
        return places[draw.choice(CELLS, number, replace=False)]
    middle = places[draw.integers(CELLS)]
    return places[np.argsort(((places - middle) ** 2).sum(axis=1), kind="stable")[:number]]


def kills(draw: Generator, world: World, n: int) -> np.ndarray:
    """Where n animals were shot, (n, 2) in km."""
    half = SIDE / 2
    return draw.uniform(-half, 0.0 if world.one_corner else half, (n, 2))


def any_found(draw: Generator, world: World, at: np.ndarray, infected: np.ndarray) -> bool:
    """Whether looking at these animals finds the disease: each catches it or not from each
    infected cell, and one look at it shows that or not."""
    square_km = ((at[:, None, :] - infected[None, :, :]) ** 2).sum(axis=-1)
    chance = world.catch * np.exp(-square_km / (2 * (world.radius / RADIUS_95) ** 2))
    caught = (draw.random(chance.shape) < chance).any(axis=1)
    return bool((draw.random(len(at))[caught] < world.se).any())


def stated(world: World, at: np.ndarray) -> float:
    """The sensitivity that bot.evidence states for these animals, all of them clean."""
    p = world.assumed_catch * world.assumed_se
    mean = cover(GRID, ZONES, kernels(at[:, 0], at[:, 1], p, world.assumed_radius)).mean
    return float(zone_sensitivity(mean, CELLS, world.pstar)[0])


def at_design_prevalence(
    seed: int, world: World, zones: int, most: int = 60
) -> Iterator[tuple[float, bool]]:
    """(stated sensitivity, found) of zones that are all infected at the design prevalence, looked
    at in one season with 1 to `most` animals."""
    draw = np.random.default_rng(seed)
    for _ in range(zones):
        at = kills(draw, world, int(draw.integers(1, most + 1)))
        yield stated(world, at), any_found(draw, world, at, infected_cells(draw, world))


def stopping_at(
    seed: int, world: World, zones: int, target: float = 0.95, most: int = 600
) -> Iterator[tuple[float, bool]]:
    """The same, but each zone is looked at until the target is just reached, and no further: the
    sharpest test of it. Whether to go on depends on places only, never on what was found."""
    draw = np.random.default_rng(seed)
    for _ in range(zones):
        at = kills(draw, world, most)
        n = bisect_left(range(most), target, lo=1, key=lambda n, at=at: stated(world, at[:n]))
        yield stated(world, at[:n]), any_found(draw, world, at[:n], infected_cells(draw, world))


def from_the_prior(
    seed: int, world: World, zones: int, months: int = 18, prior: float = 0.5, p_intro: float = 0.01
) -> Iterator[Outcome]:
    """Zones that start infected with 1 - prior, catch the disease with p_intro before each month,
    keep it, and are looked at each month with 0 to 12 animals."""
    draw = np.random.default_rng(seed)
    for _ in range(zones):
        starts = draw.random() > prior
        comes = np.cumsum(draw.random(months) < p_intro) > 0
        infected = comes | starts
        places = infected_cells(draw, world)
        at = [kills(draw, world, int(draw.integers(0, 13))) for _ in range(months)]
        sse = np.array([stated(world, where) for where in at])
        found = np.array(
            [
                ill and any_found(draw, world, where, places)
                for ill, where in zip(infected, at, strict=True)
            ]
        )
        _, pfree = pfree_over_time(prior, sse, p_intro, first="discounted", confirmed=found)
        yield Outcome(infected, found, sse, pfree)
