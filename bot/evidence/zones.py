"""What all finds say about each zone, month by month, with the assumptions it rests on.

Law: a zone in which a positive was ever confirmed has no probability of freedom, in no month; every
figure carries its design prevalence; and the answer is given again with each assumption halved and
doubled, so that nobody takes the last digit for knowledge.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import chain

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from bot.evidence.figures import Array, FigureError
from bot.evidence.freedom import First, Risk, pfree_over_time
from bot.evidence.grid import CellGrid, ZoneCells, zone_at
from bot.evidence.months import Covering, Looks, Seen, months_seen, to_keep, together
from bot.evidence.spatial import Coverage, zone_sensitivity


class Assumptions(Struct, frozen=True, forbid_unknown_fields=True):
    """What an answer rests on; a programme sets its own, and every answer shows them.

    pstar: share of a zone's cells that hold the disease. catch: chance that an animal living
    right there would have caught it; the default is the prevalence of young pigs released where
    it was known to be (40 pigs, 20 %; Nugent et al. 2014, Vet Med Int 361634, Table 3). reach and
    se multiply each animal's 95 % radius and the sensitivity with which it was looked at.
    prior and p_intro (a month) are not known anywhere: 0.5 and 0.01 are the textbooks' examples.
    """

    pstar: float = 0.01
    catch: float = 0.2
    reach: float = 1.0
    se: float = 1.0
    prior: float = 0.5
    p_intro: float = 0.01
    first: First = "discounted"
    risk: Risk = "of_the_month_before"


MOVED = ("pstar", "reach", "catch", "se", "prior", "p_intro")
"""The assumptions that are halved and doubled."""


@dataclass(frozen=True)
class Account:
    """The whole area under one set of assumptions. (zones, months), but `pooled` (zones,)."""

    assumptions: Assumptions
    sse: Array
    prior: Array
    pfree: Array
    pooled: Array


class Month(Struct, frozen=True):
    """One month of a zone. None is not available."""

    sse: float | None
    prior: float | None
    pfree: float | None


class ZoneResult(Struct, frozen=True):
    """One zone's evidence. `sse` pools all months; `moves` holds the probability of freedom with
    each assumption (halved, doubled), and `covered` the mean SeU of the zone's cells."""

    zone: str
    animals: int
    confirmed: int
    cells: int
    covered: float | None
    sse: float | None
    pfree: float | None
    months: tuple[Month, ...]
    assumptions: Assumptions
    moves: Mapping[str, tuple[float | None, float | None]]
    pending: int = 0
    """Suspects of the zone that wait for a result; with any, no probability is given."""
    band: tuple[tuple[float | None, float | None], ...] = ()
    """For each month the lowest and highest probability of freedom with any one assumption halved
    or doubled."""


def halved_and_doubled(assumptions: Assumptions, name: str) -> tuple[Assumptions, Assumptions]:
    """The same with one assumption halved, and doubled. Shares stay below 1, and a prior moves
    by its odds: twice 0.5 would be certainty."""
    value = float(getattr(assumptions, name))
    if name == "prior":
        odds = value / (1.0 - value) if value < 1.0 else np.inf
        low, high = odds / (2.0 + odds), 2.0 * odds / (1.0 + 2.0 * odds)
    else:
        low, high = value / 2.0, value * 2.0
    if name in ("pstar", "catch", "p_intro"):
        high = min(high, 1.0)
    return replace(assumptions, **{name: low}), replace(assumptions, **{name: high})


def account(
    grid: CellGrid, zones: ZoneCells, looks: Looks, confirmed: Array, assumptions: Assumptions
) -> tuple[Account, Coverage]:
    """The account under one set of assumptions, and the coverage of all its months together.

    `confirmed` (zones, months) counts the confirmed positives.
    """
    key = _covering(assumptions)
    months = months_seen({}, grid, zones, looks, confirmed.shape[1], (key,))
    monthly, total = together(grid, zones, months[key])
    return _account(zones, monthly, total, confirmed, assumptions), total


def evidence(
    grid: CellGrid,
    zones: ZoneCells,
    looks: Looks,
    confirmed: Array,
    assumptions: Assumptions = Assumptions(),  # noqa: B008 - frozen
) -> tuple[tuple[ZoneResult, ...], Coverage]:
    """Every zone's result with its assumptions halved and doubled, and the coverage as it is."""
    results, coverage, _ = evidence_after({}, grid, zones, looks, confirmed, assumptions)
    return results, coverage


def evidence_after(
    seen: Seen,
    grid: CellGrid,
    zones: ZoneCells,
    looks: Looks,
    confirmed: Array,
    assumptions: Assumptions = Assumptions(),  # noqa: B008 - frozen
    first_month: int = 0,
) -> tuple[tuple[ZoneResult, ...], Coverage, Seen]:
    """The same as `evidence`, where some months have been summed before on this grid; and what
    the next account may begin with.

    A month whose animals are the same is taken as it was, one that has a few more gets only
    those. The cells are summed anew only for assumptions that change what an animal covers.
    """
    if confirmed.shape[0] != len(zones.names):
        raise FigureError(f"confirmed: {confirmed.shape[0]} zones, not {len(zones.names)}")
    moved = {name: halved_and_doubled(assumptions, name) for name in MOVED}
    every = (assumptions, *chain.from_iterable(moved.values()))
    count = confirmed.shape[1]
    months = months_seen(seen, grid, zones, looks, count, map(_covering, every), first_month)
    sums = {key: together(grid, zones, summed) for key, summed in months.items()}

    def under(a: Assumptions) -> Account:
        return _account(zones, *sums[_covering(a)], confirmed, a)

    moves = {name: (under(low).pfree, under(high).pfree) for name, (low, high) in moved.items()}
    total = sums[_covering(assumptions)][1]
    results = _results(grid, zones, looks, confirmed, under(assumptions), total, moves)
    kept = {
        (key, first_month + n): month
        for key, summed in months.items()
        for n, month in enumerate(summed)
    }
    return results, total, to_keep(grid, seen, kept)


def withheld(result: ZoneResult, pending: int) -> ZoneResult:
    """The result with its probabilities taken out while `pending` suspects wait for theirs."""
    if not pending:
        return result
    return replace(
        result,
        pending=pending,
        pfree=None,
        band=tuple((None, None) for _ in result.band),
        months=tuple(Month(m.sse, None, None) for m in result.months),
        moves=dict.fromkeys(result.moves, (None, None)),
    )


def _covering(a: Assumptions) -> Covering:
    """What decides an animal's coverage; catch and se act together while neither is capped."""
    return Covering(a.reach, a.catch, a.se) if a.se > 1.0 else Covering(a.reach, a.catch * a.se)


def _account(
    zones: ZoneCells, monthly: Array, total: Coverage, confirmed: Array, a: Assumptions
) -> Account:
    sse = zone_sensitivity(monthly, zones.sizes[:, None], a.pstar)
    ever = np.broadcast_to(confirmed.sum(axis=1, keepdims=True), confirmed.shape)
    priors, after = pfree_over_time(
        a.prior, sse, a.p_intro, first=a.first, risk=a.risk, confirmed=ever
    )
    priors = np.where(ever > 0, np.nan, priors)
    return Account(a, sse, priors, after, zone_sensitivity(total.mean, zones.sizes, a.pstar))


def _results(
    grid: CellGrid,
    zones: ZoneCells,
    looks: Looks,
    confirmed: Array,
    base: Account,
    total: Coverage,
    moves: Mapping[str, tuple[Array, Array]],
) -> tuple[ZoneResult, ...]:
    at = zone_at(grid, zones, looks.x, looks.y)
    animals = np.bincount(at[at >= 0], minlength=len(zones.names))
    every = np.stack([base.pfree, *(moved for pair in moves.values() for moved in pair)])
    lowest, highest = every.min(axis=0), every.max(axis=0)  # NaN in any stays NaN.
    return tuple(
        ZoneResult(
            zone=name,
            animals=int(animals[z]),
            confirmed=int(confirmed[z].sum()),
            cells=int(zones.sizes[z]),
            covered=_known(total.mean[z]),
            sse=_known(base.pooled[z]),
            pfree=_known(base.pfree[z, -1]),
            months=tuple(
                Month(_known(s), _known(p), _known(f))
                for s, p, f in zip(base.sse[z], base.prior[z], base.pfree[z], strict=True)
            ),
            assumptions=base.assumptions,
            moves={n: (_known(a[z, -1]), _known(b[z, -1])) for n, (a, b) in moves.items()},
            band=tuple((_known(a), _known(b)) for a, b in zip(lowest[z], highest[z], strict=True)),
        )
        for z, name in enumerate(zones.names)
    )


def _known(value: float) -> float | None:
    """NaN is not available."""
    return None if np.isnan(value) else float(value)
