"""How many animals must be looked at to find the disease if it is there at the design prevalence.

Three formulas that are often taken for one another, each under its own name: `n_cannon_roe`,
`n_macdiarmid` (the "hypergeometric approximation" of the R packages, 0 to 2 higher) and `n_exact`.
A size that no sample can reach is NaN, never 0 and never the whole population.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from bot.evidence.figures import (
    SLACK,
    Array,
    FigureError,
    count,
    infected_of,
    positive_share,
    round_up,
    share,
)
from bot.evidence.freedom import discount, sse_needed
from bot.evidence.sensitivity import sep_exact


def n_cannon_roe(confidence: ArrayLike, population: ArrayLike, d: ArrayLike) -> Array:
    """(1 - (1 - c)^(1/D)) (N - (D - 1)/2), rounded up; perfect test.

    Cannon & Roe 1982, Livestock Disease Surveys: a field manual for veterinarians, Canberra.
    """
    sure, size, infected = (
        share("confidence", confidence),
        count("population", population),
        count("d", d),
    )
    return _reachable(n_cannon_roe_raw(sure, size, infected), size)


def n_cannon_roe_raw(confidence: ArrayLike, population: ArrayLike, d: ArrayLike) -> Array:
    """Cannon & Roe's figure before it is rounded up; NaN without an infected animal."""
    sure, size, infected = (
        share("confidence", confidence),
        count("population", population),
        count("d", d),
    )
    each = _per_infected(sure, infected)
    return np.asarray(each * (size - (infected - 1.0) / 2.0))


def n_macdiarmid(
    confidence: ArrayLike, population: ArrayLike, d: ArrayLike, se: ArrayLike = 1.0
) -> Array:
    """(N / se) (1 - (1 - c)^(1/d)), rounded up (MacDiarmid 1988).

    For a large N it passes the figure of an infinite population by one: 300 against 299.
    """
    sure, size, infected = (
        share("confidence", confidence),
        count("population", population),
        count("d", d),
    )
    each = positive_share("se", se)
    return _reachable(np.asarray(size / each * _per_infected(sure, infected)), size)


def n_binomial(confidence: ArrayLike, pstar: ArrayLike, se: ArrayLike = 1.0) -> Array:
    """Infinite population: log(1 - c) / log(1 - P* se), rounded up."""
    sure, chance = share("confidence", confidence), positive_share("pstar", pstar)
    with np.errstate(divide="ignore"):
        raw = np.log1p(-sure) / np.log1p(-chance * positive_share("se", se))
    found = np.where(np.isnan(raw), 1.0, np.maximum(round_up(raw), np.where(sure > 0, 1.0, 0.0)))
    return np.asarray(np.where(np.isinf(raw) | np.isnan(sure * chance), np.nan, found))


def n_exact(
    confidence: ArrayLike, population: ArrayLike, d: ArrayLike, se: ArrayLike = 1.0
) -> Array:
    """The smallest n for which `sep_exact` reaches the confidence, found by halving."""
    sure, size, infected, each = np.broadcast_arrays(
        share("confidence", confidence),
        count("population", population),
        count("d", d),
        positive_share("se", se),
    )
    if np.isinf(size).any():
        raise FigureError("population: infinite; use the binomial formula")
    low, high = np.zeros(size.shape), np.asarray(size, dtype=np.float64).copy()
    possible = _enough(sep_exact(size, size, infected, each), sure)
    while (low < high).any():
        middle = np.floor((low + high) / 2.0)
        enough = _enough(sep_exact(size, middle, infected, each), sure)
        high = np.where(enough, middle, high)
        low = np.where(enough, low, np.minimum(middle + 1.0, high))
    return np.asarray(np.where(possible, high, np.nan))


def n_freedom(
    confidence: ArrayLike,
    pstar: ArrayLike,
    se: ArrayLike = 1.0,
    population: ArrayLike = np.inf,
) -> Array:
    """MacDiarmid's figure with d = N P* rounded up, or the binomial one for an infinite N."""
    sure, prevalence, each, size = np.broadcast_arrays(
        share("confidence", confidence),
        positive_share("pstar", pstar),
        positive_share("se", se),
        count("population", population),
    )
    endless = np.isinf(size)
    finite = np.where(endless, 1.0, size)
    limited = n_macdiarmid(sure, finite, infected_of(finite, prevalence), each)
    return np.asarray(np.where(endless, n_binomial(sure, prevalence, each), limited))


def n_pfree(
    prior: ArrayLike,
    target: ArrayLike,
    p_intro: ArrayLike,
    pstar: ArrayLike,
    se: ArrayLike = 1.0,
    population: ArrayLike = np.inf,
) -> Array:
    """Animals needed to reach a probability of freedom, the prior being discounted first."""
    needed = sse_needed(discount(prior, p_intro), target)
    return n_freedom(needed, pstar, se, population)


def _per_infected(sure: Array, infected: Array) -> Array:
    """1 - (1 - c)^(1/D); NaN without an infected animal."""
    some = np.where(infected > 0, infected, np.nan)
    return np.asarray(1.0 - (1.0 - sure) ** (1.0 / some))


def _reachable(raw: Array, size: Array) -> Array:
    whole = round_up(raw)
    return np.asarray(np.where(whole <= size, whole, np.nan))


def _enough(reached: Array, sure: Array) -> Array:
    return np.asarray(reached >= sure - SLACK)
