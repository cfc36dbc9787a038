"""Binomial and hypergeometric probabilities by logarithms of the gamma function.

Broadcasting over all arguments; outcomes that cannot happen have probability 0.
"""

from __future__ import annotations

import numpy as np

from bot.evidence.figures import Array


def log_choose(n: Array, k: Array) -> Array:
    """log of n over k; minus infinity where k is not between 0 and n."""
    from scipy.special import gammaln  # Takes 0.4 s, and most commands never need it.

    possible = (k >= 0) & (k <= n)
    m, j = np.where(possible, n, 1.0), np.where(possible, k, 0.0)
    ways = gammaln(m + 1) - gammaln(j + 1) - gammaln(m - j + 1)
    return np.asarray(np.where(possible, ways, -np.inf))


def binomial(k: Array, n: Array, p: Array) -> Array:
    """P(k of n) with chance p each."""
    from scipy.special import xlog1py, xlogy  # As above.

    k, n, p = np.broadcast_arrays(k, n, p)
    possible = (k >= 0) & (k <= n)
    j, m = np.where(possible, k, 0.0), np.where(possible, n, 0.0)
    logs = log_choose(m, j) + xlogy(j, p) + xlog1py(m - j, -p)
    return np.asarray(np.where(possible, np.exp(logs), 0.0))


def hypergeometric(k: Array, population: Array, d: Array, n: Array) -> Array:
    """P(k infected among n drawn without replacement from a population with d infected)."""
    ways = log_choose(d, k) + log_choose(population - d, n - k) - log_choose(population, n)
    return np.asarray(np.exp(ways))
