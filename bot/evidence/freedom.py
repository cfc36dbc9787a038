"""Probability of freedom, which means: P(prevalence is below the design prevalence).

It never means that there is no disease, and it says nothing at all once a positive is confirmed.
Two conventions are in use for the first period and two for a risk of introduction that varies;
they give different numbers, so each has a name and none is silent. Source of the method: Martin,
Cameron & Greiner 2007, Prev Vet Med 79:71-97.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from bot.evidence.figures import Array, between, share

First = Literal["discounted", "as_given"]
"""Is the prior discounted by introduction before the first update? `discounted` as epiR and
RSurveillance do, `as_given` as the SVA's package does."""
Risk = Literal["of_the_month_before", "of_the_same_month"]
"""Whose risk of introduction leads from month t to month t + 1: that of t (epiR), or of t + 1."""


def pfree(prior: ArrayLike, sse: ArrayLike, confirmed: ArrayLike = 0) -> Array:
    """prior / (1 - SSe (1 - prior)): probability of freedom after all-negative surveillance.

    NaN where a positive is confirmed, or where the surveillance could not have stayed negative.
    """
    before, found = share("prior", prior), share("sse", sse)
    with np.errstate(divide="ignore", invalid="ignore"):
        after = before / (1.0 - found * (1.0 - before))
    positives = between("confirmed", confirmed, 0, np.inf)
    return np.asarray(np.where(positives > 0, np.nan, after))


def discount(probability: ArrayLike, p_intro: ArrayLike) -> Array:
    """Next prior: 1 - [(1 - P) + pI - (1 - P) pI], which is P (1 - pI)."""
    return np.asarray(share("prior", probability) * (1.0 - share("p_intro", p_intro)))


def sse_needed(prior: ArrayLike, target: ArrayLike) -> Array:
    """(1 - prior/target) / (1 - prior): the system sensitivity that lifts prior to target.

    0 where the prior is there already.
    """
    before, goal = share("prior", prior), share("target", target)
    with np.errstate(divide="ignore", invalid="ignore"):
        needed = (1.0 - before / goal) / (1.0 - before)
    return np.asarray(np.where(before >= goal, 0.0, needed))


def sse_to_hold(prior: ArrayLike, p_intro: ArrayLike) -> Array:
    """pI / (1 - prior): the system sensitivity that keeps a prior where it is; NaN above 1."""
    before, risk = share("prior", prior), share("p_intro", p_intro)
    with np.errstate(divide="ignore", invalid="ignore"):
        needed = risk / (1.0 - before)
    return np.asarray(np.where(needed <= 1.0 + 1e-12, np.minimum(needed, 1.0), np.nan))


def equilibrium_prior(sse: ArrayLike, p_intro: ArrayLike) -> Array:
    """1 - pI/SSe: where the prior settles; 0 where introduction outruns surveillance, NaN where
    neither moves it. (epiR 2.0.94 prints this under the label of the other.)"""
    found, risk = share("sse", sse), share("p_intro", p_intro)
    with np.errstate(divide="ignore", invalid="ignore"):
        settled = 1.0 - risk / found
    return np.asarray(np.maximum(settled, 0.0))


def equilibrium_pfree(sse: ArrayLike, p_intro: ArrayLike) -> Array:
    """(1 - pI/SSe) / (1 - pI): where the probability of freedom settles after its update."""
    risk = share("p_intro", p_intro)
    with np.errstate(divide="ignore", invalid="ignore"):
        settled = equilibrium_prior(sse, risk) / (1.0 - risk)
    return np.asarray(settled)


def pfree_over_time(
    prior: ArrayLike,
    sse: ArrayLike,
    p_intro: ArrayLike,
    *,
    first: First,
    risk: Risk = "of_the_month_before",
    confirmed: ArrayLike = 0,
) -> tuple[Array, Array]:
    """(priors, probabilities of freedom) by period, along the last axis of `sse`.

    prior broadcasts over the other axes; p_intro and `confirmed` (positives by period) broadcast
    against sse. Once a positive is confirmed, that period and all after it are NaN.
    """
    found = np.atleast_1d(share("sse", sse))
    found, risks, positives = np.broadcast_arrays(
        found, share("p_intro", p_intro), between("confirmed", confirmed, 0, np.inf)
    )
    priors, posteriors = np.full(found.shape, np.nan), np.full(found.shape, np.nan)
    before = np.broadcast_to(share("prior", prior), found.shape[:-1])
    if first == "discounted":
        before = discount(before, risks[..., 0])
    ever = np.cumsum(positives, axis=-1)
    for t in range(found.shape[-1]):
        if t:
            step = t - 1 if risk == "of_the_month_before" else t
            before = discount(posteriors[..., t - 1], risks[..., step])
        priors[..., t] = before
        posteriors[..., t] = pfree(before, found[..., t], ever[..., t])
    return priors, posteriors
