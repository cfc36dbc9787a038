"""Sample sizes against published figures.

Sources: C. Hawkins 2003, workbook of Cannon & Roe's manual (scribd.com/doc/7215883); the test file
of the R package RSurveillance (cran/RSurveillance @244e3805); the documentation of the R package
epiR 2.0.94, re-run in R 4.2.2. Rows marked "arithmetic" follow from the formula, unpublished.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import hypergeom

from bot.evidence.figures import FigureError
from bot.evidence.samplesize import (
    n_binomial,
    n_cannon_roe,
    n_cannon_roe_raw,
    n_exact,
    n_freedom,
    n_macdiarmid,
    n_pfree,
)

THREE_FORMULAS = [
    # N, p, D, Cannon & Roe raw and rounded (arithmetic), exact (arithmetic), R packages (run)
    (50, 0.10, 5, 21.635, 22, 22, 23),
    (100, 0.10, 10, 24.722, 25, 25, 26),
    (100, 0.05, 5, 44.171, 45, 45, 46),
    (100, 0.01, 1, 95.0, 95, 95, 95),
    (200, 0.20, 40, 13.024, 14, 13, 15),
    (500, 0.01, 5, 224.458, 225, 225, 226),
    (1000, 0.05, 50, 56.730, 57, 57, 59),
    (1000, 0.01, 10, 257.701, 258, 258, 259),
    (10000, 0.01, 100, 293.670, 294, 294, 296),
]


def test_the_printed_figure_of_the_manual():
    """Hawkins 2003: confidence 0.99, N = 1600, 1.00 % -> 399."""
    assert n_cannon_roe(0.99, 1600, 16) == 399
    assert n_cannon_roe_raw(0.99, 1600, 16) == pytest.approx(398.29, abs=0.005)


@pytest.mark.parametrize(("size", "p", "d", "raw", "rounded", "exact", "packages"), THREE_FORMULAS)
def test_three_formulas_that_are_taken_for_one_another(size, p, d, raw, rounded, exact, packages):
    assert n_cannon_roe_raw(0.95, size, d) == pytest.approx(raw, abs=6e-4)
    assert n_cannon_roe(0.95, size, d) == rounded
    assert n_exact(0.95, size, d) == exact
    assert n_macdiarmid(0.95, size, d) == packages
    assert n_freedom(0.95, p, 1.0, size) == packages


@pytest.mark.parametrize(("size", "p", "d", "raw", "rounded", "exact", "packages"), THREE_FORMULAS)
def test_the_exact_size_is_the_smallest_that_scipy_agrees_to(
    size, p, d, raw, rounded, exact, packages
):
    assert hypergeom.pmf(0, size, d, exact) <= 0.05 + 1e-12
    assert hypergeom.pmf(0, size, d, exact - 1) > 0.05


@pytest.mark.parametrize(
    ("pstar", "n"), [(0.01, 299), (0.02, 149), (0.05, 59), (0.10, 29), (0.001, 2995)]
)
def test_infinite_population(pstar, n):
    """Arithmetic, and the R packages for 0.01."""
    assert n_binomial(0.95, pstar) == n
    assert n_freedom(0.95, pstar) == n


def test_binomial_with_an_imperfect_test():
    """RSurveillance test file: n.binom(.95, pstar, .91)."""
    sizes = n_binomial(0.95, [0.01, 0.02, 0.05, 0.1, 0.2], 0.91)
    assert sizes.tolist() == [328, 164, 65, 32, 15]


def test_hypergeometric_approximation():
    """RSurveillance test file: n.hypergeo(.95, N, d = ceil(.01 N), se = .8)."""
    sizes = n_macdiarmid(0.95, [200, 500, 1000, 10000], [2, 5, 10, 100], 0.8)
    assert sizes.tolist() == [195, 282, 324, 369]


def test_what_no_sample_can_reach_is_not_available():
    """Run in R: n.hypergeo(.95, 80, c(1,2,5,10)) and with se .8; NA must not become 0."""
    assert n_macdiarmid(0.95, 80, [1, 2, 5, 10]).tolist() == [76, 63, 37, 21]
    imperfect = n_macdiarmid(0.95, 80, [1, 2, 5, 10], 0.8)
    assert np.isnan(imperfect[0])
    assert imperfect[1:].tolist() == [78, 46, 26]
    assert np.isnan(n_exact(0.95, 80, 1, 0.8))
    assert np.isnan(n_binomial(1.0, 0.1))
    assert np.isnan(n_macdiarmid(0.95, 80, 0))


def test_the_package_figure_passes_the_infinite_one():
    """RSurveillance test file: n.freedom(N, .95, .01, se = .9); run in R: N = 1e5, se 1 -> 300."""
    sizes = n_freedom(0.95, 0.01, 0.9, [200, 500, 1000, 5000, 10000, 1e5, np.inf])
    assert sizes.tolist() == [173, 251, 288, 324, 328, 333, 332]
    assert n_freedom(0.95, 0.01, 1.0, [1e5, np.inf]).tolist() == [300, 299]


@pytest.mark.parametrize(
    ("size", "pstar", "se", "n"),
    [
        (np.inf, 0.05, 0.90, 66),
        (500, 0.05, 0.90, 63),
        (1000, 0.05, 0.90, 65),
        (20000, 0.005, 0.90, 656),
        (200, 0.20, 1.0, 15),
    ],
)
def test_epir_representative_samples(size, pstar, se, n):
    """epiR documentation of rsu.sssep.rs, re-run."""
    assert n_freedom(0.95, pstar, se, size) == n


@pytest.mark.parametrize(
    ("prior", "pstar", "se", "n"), [(0.50, 0.05, 0.90, 65), (0.75, 0.01, 0.95, 198)]
)
def test_epir_sample_for_a_probability_of_freedom(prior, pstar, se, n):
    """epiR documentation of rsu.sspfree.rs, re-run: introduction .01, target .95."""
    assert n_pfree(prior, 0.95, 0.01, pstar, se) == n


def test_seven_of_a_hundred_are_seven():
    """0.07 * 100 is 7.000000000000001 in floating point: arithmetic."""
    assert n_freedom(0.95, 0.07, 1.0, 100) == n_macdiarmid(0.95, 100, 7)


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: n_binomial(1.2, 0.1), "confidence"),
        (lambda: n_binomial(0.95, 0.0), "pstar"),
        (lambda: n_macdiarmid(0.95, -3, 1), "population"),
        (lambda: n_freedom(0.95, 0.1, 0.0), "se"),
        (lambda: n_exact(0.95, np.inf, 5), "population"),
        (lambda: n_exact(0.95, 10, 11), "d:"),
    ],
)
def test_a_wrong_figure_is_named(call, named):
    with pytest.raises(FigureError, match=named):
        call()
