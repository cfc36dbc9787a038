"""What looking at n animals would have found: sensitivity and specificity of a population.

`sep` is the probability of at least one positive (or of `cut` of them) in a population that is
infected at the design prevalence. All functions broadcast; all results are shares in [0, 1].
Sources: Martin, Shoukri & Thoburn 1992; MacDiarmid 1988; Cameron & Baldock 1998. Check values
come from the R packages RSurveillance and epiR (see tests/evidence).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from bot.evidence.chances import binomial, hypergeometric
from bot.evidence.figures import (
    Array,
    FigureError,
    count,
    infected_of,
    positive_share,
    share,
)


def sep_binomial(n: ArrayLike, pstar: ArrayLike, se: ArrayLike = 1.0) -> Array:
    """Infinite population: 1 - (1 - P* se)^n. 0 when n is 0."""
    tested, prevalence, each = count("n", n), share("pstar", pstar), share("se", se)
    return np.asarray(1.0 - (1.0 - prevalence * each) ** tested)


def sep_hypergeometric(
    population: ArrayLike, n: ArrayLike, d: ArrayLike, se: ArrayLike = 1.0
) -> Array:
    """Finite population, hypergeometric approximation: 1 - (1 - se n/N)^d (MacDiarmid 1988).

    With no infected animal there is nothing to find: NaN, not 0.
    """
    size, tested, infected = _drawn(population, n, d)
    each = share("se", se)
    found = 1.0 - (1.0 - each * _part(tested, size)) ** infected
    return np.asarray(np.where(infected > 0, found, np.nan))


def sep_exact(population: ArrayLike, n: ArrayLike, d: ArrayLike, se: ArrayLike = 1.0) -> Array:
    """Finite population, exact: 1 - sum over y of P(y infected among n) (1 - se)^y.

    When all are tested this is 1 - (1 - se)^d.
    """
    size, tested, infected = _drawn(population, n, d)
    each = share("se", se)
    y = _outcomes(infected, tested)
    missed = hypergeometric(y, size[..., None], infected[..., None], tested[..., None])
    unseen = (missed * (1.0 - each[..., None]) ** y).sum(axis=-1)
    return np.asarray(np.where(infected > 0, np.clip(1.0 - unseen, 0.0, 1.0), np.nan))


def sep_random(
    n: ArrayLike, pstar: ArrayLike, se: ArrayLike = 1.0, population: ArrayLike = np.inf
) -> Array:
    """Representative sampling: binomial where N is infinite, else the approximation with
    d = N P* rounded up."""
    size, tested, prevalence, each = np.broadcast_arrays(
        count("population", population), count("n", n), share("pstar", pstar), share("se", se)
    )
    endless = np.isinf(size)
    finite = np.where(endless, np.maximum(tested, 1.0), size)
    infected = infected_of(finite, prevalence)
    return np.asarray(
        np.where(
            endless,
            sep_binomial(tested, prevalence, each),
            sep_hypergeometric(finite, tested, infected, each),
        )
    )


def sep_varying(n: ArrayLike, se: ArrayLike, pstar: float, population: float = np.inf) -> float:
    """Several tests in one sample: n[i] animals looked at with sensitivity se[i].

    Infinite N: 1 - prod (1 - P* se_i)^n_i. Finite: the approximation with the mean sensitivity.
    """
    tested, each = np.atleast_1d(count("n", n)), np.atleast_1d(share("se", se))
    total = float(tested.sum())
    if total == 0:
        return 0.0
    if np.isinf(population):
        return float(1.0 - np.prod((1.0 - share("pstar", pstar) * each) ** tested))
    mean = float((tested * each).sum()) / total
    return float(sep_hypergeometric(population, total, infected_of(population, pstar), mean))


def spp(n: ArrayLike, sp: ArrayLike) -> Array:
    """Specificity of a clean population: sp^n, no false positive among n tested."""
    return np.asarray(share("sp", sp) ** count("n", n))


def sep_freecalc(
    n: ArrayLike,
    pstar: ArrayLike,
    se: ArrayLike,
    sp: ArrayLike = 1.0,
    cut: int = 1,
    population: float = np.inf,
) -> Array:
    """Imperfect specificity, exact (Cameron & Baldock 1998): P(`cut` or more test positive).

    Sums over the infected among those tested, and over true and false positives. n, pstar, se
    and sp broadcast; `cut` and `population` are single numbers. Infected animals are N P* rounded
    to the nearest, at least 1, as FreeCalc does it.
    """
    tested, prevalence = count("n", n), positive_share("pstar", pstar)
    true, false = share("se", se), 1.0 - share("sp", sp)
    if np.isinf(population):
        chance = prevalence * true + (1.0 - prevalence) * false
        return _at_least(cut, [binomial(np.asarray(float(x)), tested, chance) for x in range(cut)])
    tested, true, false = np.broadcast_arrays(tested, true, false)
    nearest = np.maximum(np.floor(population * prevalence + 0.5), 1.0)
    size, tested, infected = _drawn(population, tested, nearest)
    y = _outcomes(infected, tested)
    drawn = hypergeometric(y, size[..., None], infected[..., None], tested[..., None])
    clean = np.maximum(tested[..., None] - y, 0.0)
    fewer = [
        (drawn * _positives(x, y, clean, true[..., None], false[..., None])).sum(axis=-1)
        for x in range(cut)
    ]
    return _at_least(cut, fewer)


def sep_hp(
    population: ArrayLike,
    n: ArrayLike,
    d: ArrayLike,
    se: ArrayLike,
    sp: ArrayLike = 1.0,
    cut: int = 1,
) -> Array:
    """Imperfect specificity, by the animals that would test positive if all were tested.

    Those are d se + (N - d)(1 - sp) on average, seldom a whole number: the hypergeometric tails
    of the whole numbers around it are mixed (Greiner's algorithm, as in RSurveillance `sep.hp`).
    """
    size, tested, infected = _drawn(population, n, d)
    true, false = share("se", se), 1.0 - share("sp", sp)
    reactors = infected * true + (size - infected) * false
    whole = np.floor(reactors)
    over = reactors - whole
    more = np.minimum(whole + 1.0, size)
    return np.asarray(
        over * _reactors_seen(cut, size, more, tested)
        + (1.0 - over) * _reactors_seen(cut, size, whole, tested)
    )


def pstar_calc(
    n: ArrayLike, sep: ArrayLike, se: ArrayLike = 1.0, population: ArrayLike = np.inf
) -> Array:
    """The design prevalence that n clean animals reach with confidence `sep`.

    Infinite N: (1 - (1 - sep)^(1/n)) / se. Finite: log(1 - sep) / log(1 - se n/N) / N.
    NaN where no prevalence up to 1 can be excluded so surely, as when n is 0.
    """
    tested, sure, each, size = np.broadcast_arrays(
        count("n", n), share("sep", sep), positive_share("se", se), count("population", population)
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        endless = (1.0 - (1.0 - sure) ** (1.0 / tested)) / each
        finite = np.log1p(-sure) / np.log1p(-each * _part(tested, size)) / size
    found = np.where(np.isinf(size), endless, finite)
    return np.asarray(np.where((tested > 0) & (found <= 1.0), found, np.nan))


def prevalence_upper(n: ArrayLike, confidence: ArrayLike = 0.95, se: ArrayLike = 1.0) -> Array:
    """Upper bound of prevalence after n clean of an infinite population: pstar_calc by its
    other name, NaN when n is 0."""
    return pstar_calc(n, confidence, se)


def _drawn(population: ArrayLike, n: ArrayLike, d: ArrayLike) -> tuple[Array, Array, Array]:
    size, tested, infected = np.broadcast_arrays(
        count("population", population), count("n", n), count("d", d)
    )
    for name, part in (("n", tested), ("d", infected)):
        if (part > size).any():
            raise FigureError(f"{name}: more than the population")
    return size, tested, infected


def _part(tested: Array, size: Array) -> Array:
    """n / N, and 0 for an empty population."""
    return np.asarray(np.divide(tested, size, out=np.zeros(np.shape(size)), where=size > 0))


def _outcomes(infected: Array, tested: Array) -> Array:
    """0, 1, 2 ... up to the most infected that any draw could hold; a last axis of its own."""
    most = np.minimum(infected, tested)
    return np.arange(int(np.nanmax(most, initial=0.0)) + 1, dtype=np.float64)


def _positives(x: int, sick: Array, clean: Array, true: Array, false: Array) -> Array:
    """P(x positives in all) from `sick` infected and `clean` others."""
    return np.asarray(
        sum(
            binomial(np.asarray(float(j)), sick, true)
            * binomial(np.asarray(float(x - j)), clean, false)
            for j in range(x + 1)
        )
    )


def _reactors_seen(cut: int, size: Array, reactors: Array, tested: Array) -> Array:
    fewer = [hypergeometric(np.asarray(float(x)), size, reactors, tested) for x in range(cut)]
    return _at_least(cut, fewer)


def _at_least(cut: int, fewer: list[Array]) -> Array:
    if cut < 1:
        raise FigureError(f"cut: {cut} is not 1 or more")
    return np.asarray(np.clip(1.0 - np.sum(fewer, axis=0), 0.0, 1.0))
