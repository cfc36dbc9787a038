"""Population sensitivity and specificity against published figures.

Sources: test file of the R package RSurveillance (cran/RSurveillance @244e3805, tolerance 1e-5);
documentation of epiR 2.0.94, re-run in R 4.2.2. Exact values against scipy's own distributions.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom, hypergeom

from bot.evidence.figures import FigureError
from bot.evidence.sensitivity import (
    prevalence_upper,
    pstar_calc,
    sep_binomial,
    sep_exact,
    sep_freecalc,
    sep_hp,
    sep_hypergeometric,
    sep_random,
    sep_varying,
    spp,
)

TO_5 = {"abs": 1e-5}


def test_binomial():
    """RSurveillance: sep.binom(10, 20 ... 100; .05; .9)."""
    printed = [
        *(0.368993670, 0.601831012, 0.748752848, 0.841461457, 0.899961176),
        *(0.936874869, 0.960167643, 0.974865530, 0.984139991, 0.989992234),
    ]
    assert sep_binomial(np.arange(10, 101, 10), 0.05, 0.9) == pytest.approx(printed, abs=1e-8)


def test_hypergeometric_approximation():
    """RSurveillance: sep.hypergeo(se = .8, N, n = N/2, d = ceil(.01 N))."""
    sizes = np.array([10, 50, 100, 250, 500])
    found = sep_hypergeometric(sizes, sizes / 2, np.ceil(sizes * 0.01), 0.8)
    assert found == pytest.approx([0.4, 0.4, 0.4, 0.784, 0.92224], **TO_5)


def test_all_tested_is_exact():
    """RSurveillance: sep.exact(d = 1:5, se = .8), every animal tested."""
    printed = [0.8, 0.96, 0.992, 0.9984, 0.99968]
    assert sep_exact(60, 60, np.arange(1, 6), 0.8) == pytest.approx(printed, **TO_5)


def test_specificity_of_a_population():
    """RSurveillance: spp(c(10, 20, 50, 100), .99)."""
    printed = [0.9043821, 0.8179069, 0.6050061, 0.3660323]
    assert spp([10, 20, 50, 100], 0.99) == pytest.approx(printed, abs=1e-7)


def test_design_prevalence_of_a_sample():
    """RSurveillance: pstar.calc(500, n = 50, .95, se)."""
    printed = [0.11680795, 0.09683112, 0.08256039, 0.07185595, 0.06352901, 0.05747207, 0.05686632]
    found = pstar_calc(50, 0.95, [0.5, 0.6, 0.7, 0.8, 0.9, 0.99, 1], 500)
    assert found == pytest.approx(printed, abs=1e-8)


def test_imperfect_specificity():
    """RSurveillance: sep.freecalc(150,30,2,.9,.98,.1) and sep.hp(150,30,2,.9,.98,15)."""
    assert sep_freecalc(30, 0.1, 0.9, 0.98, 2, 150) == pytest.approx(0.870566, abs=1e-6)
    assert sep_hp(150, 30, 15, 0.9, 0.98, 2) == pytest.approx(0.878252, abs=1e-6)


@pytest.mark.parametrize("cut", [1, 2, 3])
def test_imperfect_specificity_in_an_infinite_population_is_binomial(cut):
    """scipy.stats.binom, an implementation of its own."""
    chance = 0.1 * 0.9 + 0.9 * 0.02
    expected = binom.sf(cut - 1, 30, chance)
    assert sep_freecalc(30, 0.1, 0.9, 0.98, cut) == pytest.approx(expected, rel=1e-12)


def test_epir_representative_surveillance():
    """epiR rsu.sep.rs: n = 300, p* .01, se .95; and N = 80 ... 100, n = 30."""
    assert sep_random(300, 0.01, 0.95) == pytest.approx(0.942938398, abs=1e-9)
    found = sep_random(30, 0.01, 0.95, [80, 85, 90, 95, 100])
    assert found == pytest.approx([0.35625, 0.335294118, 0.316666667, 0.3, 0.285], abs=1e-9)


def test_epir_two_sensitivities_in_one_sample():
    """epiR rsu.sep.rsvarse: 50 at .80 and 23 at .70, N = 73, p* .05."""
    assert sep_varying([50, 23], [0.8, 0.7], 0.05, 73) == pytest.approx(0.997127531, abs=1e-9)
    assert sep_varying([50], [0.8], 0.05) == pytest.approx(sep_binomial(50, 0.05, 0.8))


@pytest.mark.parametrize(("n", "percent"), [(30, 9.503), (59, 4.951), (100, 2.951), (299, 0.9969)])
def test_upper_bound_of_prevalence(n, percent):
    """Arithmetic: 1 - .05^(1/n)."""
    assert 100 * prevalence_upper(n) == pytest.approx(percent, abs=6e-4)


def test_nothing_looked_at_finds_nothing():
    assert sep_binomial(0, 0.05, 0.9) == 0
    assert sep_hypergeometric(100, 0, 5, 0.9) == 0
    assert sep_exact(100, 0, 5, 0.9) == 0
    assert sep_random(0, 0.05, 0.9, [np.inf, 100]).tolist() == [0, 0]
    assert sep_varying([0, 0], [0.8, 0.7], 0.05) == 0
    assert spp(0, 0.99) == 1


def test_not_available_stays_not_available():
    assert np.isnan(prevalence_upper(0))
    assert np.isnan(sep_exact(100, 10, 0))
    assert np.isnan(sep_hypergeometric(100, 10, 0))
    assert np.isnan(sep_binomial(np.nan, 0.1))
    assert np.isnan(pstar_calc(2, 0.95, 0.5)), "two animals at se .5 exclude no prevalence"


@given(st.integers(1, 120), st.data())
def test_exact_is_scipys_hypergeometric(size, data):
    d = data.draw(st.integers(1, size))
    n = data.draw(st.integers(0, size))
    se = data.draw(st.sampled_from([0.3, 0.722, 1.0]))
    y = np.arange(min(d, n) + 1)
    missed = (hypergeom.pmf(y, size, d, n) * (1 - se) ** y).sum()
    assert sep_exact(size, n, d, se) == pytest.approx(1 - missed, abs=1e-9)


@given(st.integers(1, 60), st.integers(1, 60), st.floats(0.05, 1.0))
def test_one_more_animal_never_finds_less(n, d, se):
    """And the approximation never promises more than the exact value: sampling without
    replacement only helps."""
    size = 120
    exact = sep_exact(size, [n, n + 1], d, se)
    assert exact[1] >= exact[0] - 1e-9
    assert sep_hypergeometric(size, n, d, se) <= exact[0] + 1e-9


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: sep_binomial(10, 1.5), "pstar"),
        (lambda: sep_binomial("ten", 0.5), "n"),
        (lambda: sep_hypergeometric(10, 11, 2), "n: more than the population"),
        (lambda: sep_exact(10, 5, 12), "d: more than the population"),
        (lambda: sep_freecalc(10, 0.1, 0.9, 0.9, 0), "cut"),
        (lambda: spp(-1, 0.9), "n"),
    ],
)
def test_a_wrong_figure_is_named(call, named):
    with pytest.raises(FigureError, match=named):
        call()
