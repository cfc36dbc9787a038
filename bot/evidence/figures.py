"""The numbers that the formulas take: arrays of floats, each checked under its own name.

NaN ("not available") passes every check and comes out as NaN. Anything else outside its range
is a FigureError that names the argument, since a wrong share would still give a likely number.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

SLACK = 1e-9
"""How far a product may miss a whole number by floating point: 0.07 * 100 is 7.000000000000001,
and seven infected of a hundred must not become eight."""


class FigureError(ValueError):
    """A number is outside the range that its formula allows; the message names the argument."""


def between(name: str, value: ArrayLike, low: float, high: float) -> Array:
    """`value` as an array, every element in [low, high] or NaN; FigureError otherwise."""
    try:
        array = np.asarray(value, dtype=np.float64)
    except (TypeError, ValueError):
        raise FigureError(f"{name}: {value!r} is not a number") from None
    outside = (array < low) | (array > high)
    if outside.any():
        worst = np.atleast_1d(array)[np.atleast_1d(outside)][0]
        limit = f"between {low:g} and {high:g}" if np.isfinite(high) else f"{low:g} or more"
        raise FigureError(f"{name}: {worst:g} is not {limit}")
    return array


def share(name: str, value: ArrayLike) -> Array:
    """A probability or proportion: [0, 1]."""
    return between(name, value, 0.0, 1.0)


def positive_share(name: str, value: ArrayLike) -> Array:
    """A probability that must be more than nothing: (0, 1]."""
    array = share(name, value)
    if (array == 0).any():
        raise FigureError(f"{name}: 0 is not more than 0")
    return array


def count(name: str, value: ArrayLike) -> Array:
    """A number of animals, herds or cells: 0 or more, infinite allowed."""
    return between(name, value, 0.0, np.inf)


def matched(first: str, one: ArrayLike, second: str, other: ArrayLike) -> None:
    """Two arguments that go element by element; FigureError where their lengths differ."""
    a, b = np.shape(one), np.shape(other)
    if a and b and a[-1] != b[-1]:
        raise FigureError(f"{first}: {a[-1]} values, but {second} has {b[-1]}")


def round_up(value: Array) -> Array:
    """The next whole number, forgiving floating point."""
    finite = np.where(np.isinf(value), 0.0, value)
    whole = np.ceil(finite - SLACK * np.maximum(1.0, np.abs(finite)))
    return np.asarray(np.where(np.isinf(value), value, whole))


def infected_of(population: ArrayLike, pstar: ArrayLike) -> Array:
    """Infected animals at the design prevalence: N * P*, rounded up; infinite for infinite N."""
    size, prevalence = count("population", population), positive_share("pstar", pstar)
    return round_up(np.asarray(size * prevalence))
