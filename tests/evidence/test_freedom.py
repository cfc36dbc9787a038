"""Probability of freedom over time against published figures, traps included.

Sources: test files of RSurveillance (cran/RSurveillance @244e3805) and SVA-SE/freedom (@f6145fe5);
epiR 2.0.94 rsu.pfree.rs, documentation and re-runs. Method: Martin, Cameron & Greiner 2007.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.evidence.freedom import (
    discount,
    equilibrium_pfree,
    equilibrium_prior,
    pfree,
    pfree_over_time,
    sse_needed,
    sse_to_hold,
)
from bot.evidence.scenario import sse_herds

VARYING = [0.01, 0.01, 0.01, 0.02, 0.04, 0.10, 0.10, 0.10, 0.08, 0.06, 0.04, 0.02]


def test_ten_periods():
    """RSurveillance: prior .5, SSe .4, pI .01."""
    printed = [
        *(0.6203008, 0.7261937, 0.8099976, 0.8709093, 0.9124970),
        *(0.9396922, 0.9569776, 0.9677666, 0.9744246, 0.9785045),
    ]
    _, found = pfree_over_time(0.5, np.full(10, 0.4), 0.01, first="discounted")
    assert found == pytest.approx(printed, abs=1e-7)


def test_six_systems_in_one_period():
    """RSurveillance: prior .5, pI .01."""
    systems = np.array([0.44, 0.51, 0.58, 0.4, 0.6, 0.47])[:, None]
    _, found = pfree_over_time(0.5, systems, 0.01, first="discounted")
    printed = [0.6364104, 0.6667116, 0.7000424, 0.6203008, 0.7101865, 0.6490526]
    assert found[:, 0] == pytest.approx(printed, abs=1e-7)


def test_needed_and_holding_sensitivity_and_discount():
    """RSurveillance: sep.pfree, sep.prior, disc.prior."""
    needed = sse_needed(0.5, [0.8, 0.9, 0.95, 0.99])
    assert needed == pytest.approx([0.75, 0.8888889, 0.9473684, 0.9898990], abs=1e-7)
    assert sse_to_hold([0.9, 0.95, 0.98, 0.99], 0.01) == pytest.approx([0.1, 0.2, 0.5, 1])
    found = discount([0.5, 0.6, 0.7, 0.8, 0.9, 0.95], 0.01)
    assert found == pytest.approx([0.495, 0.594, 0.693, 0.792, 0.891, 0.9405])


@pytest.mark.parametrize(
    ("prior", "adjusted", "sep"), [(0.5, 0.495, 0.948410631), (0.75, 0.7425, 0.848237098)]
)
def test_epir_needed_after_discount(prior, adjusted, sep):
    """epiR rsu.sspfree.rs, documentation and run."""
    before = discount(prior, 0.01)
    assert before == pytest.approx(adjusted)
    assert sse_needed(before, 0.95) == pytest.approx(sep, abs=1e-9)


def test_equilibrium_has_its_labels_right():
    """SSe .6, pI .02: prior .966666667, PFree .986394558 (paper's documentation: .986 in period
    9). epiR 2.0.94 returns the two under each other's label; the iteration is the judge."""
    assert equilibrium_prior(0.6, 0.02) == pytest.approx(0.966666667, abs=1e-9)
    assert equilibrium_pfree(0.6, 0.02) == pytest.approx(0.986394558, abs=1e-9)
    priors, found = pfree_over_time(0.5, np.full(60, 0.6), 0.02, first="discounted")
    assert priors[-1] == pytest.approx(equilibrium_prior(0.6, 0.02))
    assert found[-1] == pytest.approx(equilibrium_pfree(0.6, 0.02))
    assert round(float(found[8]), 3) == 0.986


def test_risk_that_varies_by_month():
    """epiR rsu.pfree.rs run with SSe .65, prior .5: it leads into month t + 1 with the risk of
    month t. The textbook loop with the risk of month t + 1 gives other numbers."""
    printed = [
        *(0.736881, 0.885134, 0.952912, 0.979427, 0.985567, 0.980467),
        *(0.955442, 0.946051, 0.942449, 0.949067, 0.959396, 0.970861),
    ]
    _, found = pfree_over_time(0.5, 0.65, VARYING, first="discounted")
    assert found == pytest.approx(printed, abs=1e-6)
    _, other = pfree_over_time(0.5, 0.65, VARYING, first="discounted", risk="of_the_same_month")
    assert np.abs(other - found).max() > 0.005
    assert other[:3] == pytest.approx(found[:3]), "constant risk hides the difference"


def test_two_conventions_for_the_first_period():
    """Trap: epiR and RSurveillance .6203008, SVA .625 (prior .5, SSe .4, pI .01)."""
    _, discounted = pfree_over_time(0.5, [0.4], 0.01, first="discounted")
    _, as_given = pfree_over_time(0.5, [0.4], 0.01, first="as_given")
    assert discounted[0] == pytest.approx(0.6203008, abs=1e-7)
    assert as_given[0] == pytest.approx(0.625)


def test_years_of_herds():
    """From the code of SVA's vignette (arithmetic): 500 herds, HSe .2, P* .01, 2012 to 2020."""
    printed = [
        *(0.7312554, 0.8770845, 0.9472066, 0.9761786, 0.9873900),
        *(0.9916177, 0.9931964, 0.9937837, 0.9940019),
    ]
    yearly = sse_herds(np.full(500, 0.01), 0.2)
    _, found = pfree_over_time(0.5, np.full(9, yearly), 0.01, first="as_given")
    assert found == pytest.approx(printed, abs=1e-7)


def test_three_steps():
    """SVA-SE/freedom tests: prior .1, SSe .8, pI .02."""
    priors, found = pfree_over_time(0.1, [0.8] * 3, 0.02, first="as_given")
    assert found[:2] == pytest.approx([0.3571429, 0.7291667], abs=1e-7)
    assert priors[1] == pytest.approx(0.35)
    assert found[2] == pytest.approx(0.9260259179, abs=1e-10)


def test_a_confirmed_positive_ends_it():
    _, found = pfree_over_time(0.5, [0.4] * 4, 0.01, first="discounted", confirmed=[0, 1, 0, 0])
    assert not np.isnan(found[0])
    assert np.isnan(found[1:]).all()
    assert np.isnan(pfree(0.5, 0.9, confirmed=1))


def test_nothing_looked_at_leaves_the_prior():
    assert pfree(0.5, 0.0) == 0.5


def test_not_available_stays_not_available():
    assert np.isnan(pfree(0.5, np.nan))
    assert np.isnan(sse_to_hold(0.995, 0.01)), "no surveillance holds this prior"
    assert np.isnan(equilibrium_prior(0.0, 0.0)), "nothing moves it"
    assert equilibrium_prior(0.1, 0.2) == 0, "introduction outruns surveillance"
    assert sse_needed(0.9, 0.8) == 0, "already there"


@given(st.floats(0.01, 0.99), st.floats(0, 0.99), st.floats(0, 0.2))
def test_the_update_and_its_inverse(prior, sse, p_intro):
    after = float(pfree(prior, sse))
    assert after >= prior - 1e-12
    assert float(sse_needed(prior, after)) == pytest.approx(sse, abs=1e-6)
    introduced = 1 - ((1 - after) + p_intro - (1 - after) * p_intro)
    assert float(discount(after, p_intro)) == pytest.approx(introduced, abs=1e-12)
