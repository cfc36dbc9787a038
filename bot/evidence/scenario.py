"""Scenario trees: risk groups, several components of surveillance, and the chain of a report.

Groups stand along the last axis of every argument. Source: Martin, Cameron & Greiner 2007, Prev
Vet Med 79:71-97; Cannon 2009; the passive chain as in epiR's rsu.sep.pass.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from bot.evidence.figures import (
    Array,
    FigureError,
    between,
    count,
    matched,
    positive_share,
    share,
)
from bot.evidence.samplesize import n_binomial


def adjusted_risk(rr: ArrayLike, ppr: ArrayLike) -> Array:
    """AR_i = RR_i / sum(RR_j PPr_j). `ppr`, the groups' shares of the population, must add up
    to 1, so that the mean risk of the population is 1."""
    risk, part = between("rr", rr, 0.0, np.inf), share("ppr", ppr)
    matched("rr", risk, "ppr", part)
    if not np.allclose(part.sum(axis=-1), 1.0, atol=1e-6):
        raise FigureError(f"ppr: the shares add up to {float(np.ravel(part.sum(axis=-1))[0]):g}")
    return np.asarray(risk / (risk * part).sum(axis=-1, keepdims=True))


def epi(pstar: ArrayLike, ar: ArrayLike) -> Array:
    """EPI_i = P* AR_i: the design prevalence within each group. FigureError above 1."""
    effective = positive_share("pstar", pstar)[..., None] * between("ar", ar, 0.0, np.inf)
    if (effective > 1.0).any():
        raise FigureError("pstar: more than every animal of a group would be infected")
    return np.asarray(effective)


def cse_binomial(epis: ArrayLike, se: ArrayLike, n: ArrayLike) -> Array:
    """CSe = 1 - prod_i (1 - EPI_i SeU_i)^n_i. A group may stand several times, once for each
    sensitivity with which its animals were looked at."""
    missed = (1.0 - share("epi", epis) * share("se", se)) ** count("n", n)
    return np.asarray(1.0 - missed.prod(axis=-1))


def cse_hypergeometric(
    epis: ArrayLike, se: ArrayLike, n: ArrayLike, population: ArrayLike
) -> Array:
    """CSe = 1 - prod_i (1 - se_i n_i/N_i)^(EPI_i N_i), for groups of known size N_i."""
    tested, size = np.broadcast_arrays(count("n", n), count("population", population))
    if (tested > size).any():
        raise FigureError("n: more than the population of its group")
    part = np.divide(tested, size, out=np.zeros(size.shape), where=size > 0)
    missed = (1.0 - share("se", se) * part) ** (share("epi", epis) * size)
    return np.asarray(1.0 - missed.prod(axis=-1))


def sse(cse: ArrayLike) -> Array:
    """SSe = 1 - prod_k (1 - CSe_k). Only for independent components: no animal counts in two."""
    return np.asarray(1.0 - (1.0 - share("cse", cse)).prod(axis=-1))


def sse_herds(dp: ArrayLike, hse: ArrayLike) -> Array:
    """1 - prod(1 - dp hse): herds with design prevalence dp each (with its risk) and herd
    sensitivity hse."""
    return sse(share("dp", dp) * share("hse", hse))


def n_risk_based(
    confidence: float, pstar: float, rr: ArrayLike, ppr: ArrayLike, spr: ArrayLike, se: float = 1.0
) -> tuple[int, tuple[int, ...]]:
    """(all, by group) animals for a risk-based sample, `spr` being the groups' shares of it.

    log(1 - c) / log(1 - se sum(spr_i EPI_i)), rounded up, then shared out to the very total.
    """
    parts = share("spr", spr)
    if not np.isclose(parts.sum(), 1.0, atol=1e-6):
        raise FigureError(f"spr: the shares add up to {parts.sum():g}")
    matched("spr", parts, "rr", rr)
    mean = float((parts * epi(pstar, adjusted_risk(rr, ppr))).sum())
    total = float(n_binomial(confidence, mean, se))
    if np.isnan(total):
        raise FigureError(f"confidence: {confidence:g} cannot be reached by any sample")
    return int(total), _shared_out(int(total), parts)


def _shared_out(total: int, parts: Array) -> tuple[int, ...]:
    """Whole numbers near total * parts that add up to the total: the largest remainders gain."""
    exact = total * parts
    whole = np.floor(exact)
    order = np.argsort(-(exact - whole), kind="stable")
    whole[order[: total - int(whole.sum())]] += 1
    return tuple(int(n) for n in whole)


def passive_unit(steps: ArrayLike, p_infected: ArrayLike, se: ArrayLike, n: ArrayLike) -> Array:
    """prod(steps) (1 - (1 - p_inf se)^n): the chance that one infected herd or animal comes to
    be known through somebody's report.

    `steps` (last axis) are the chances, in order, that it is noticed, reported, fetched and
    found by the laboratory; p_infected and se are those of the n animals then tested.
    """
    chain = share("steps", steps).prod(axis=-1)
    tested = 1.0 - (1.0 - share("p_infected", p_infected) * share("se", se)) ** count("n", n)
    return np.asarray(chain * tested)


def passive(unit: ArrayLike, pstar: ArrayLike, population: ArrayLike) -> Array:
    """1 - (1 - unit)^(P* N): the sensitivity of waiting for reports."""
    infected = share("pstar", pstar) * count("population", population)
    return np.asarray(1.0 - (1.0 - share("unit", unit)) ** infected)
