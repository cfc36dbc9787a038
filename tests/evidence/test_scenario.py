"""Scenario trees against published figures.

Sources: test file of RSurveillance (cran/RSurveillance @244e3805); epiR 2.0.94, documentation and
re-runs; SVA-SE/freedom, tests/risk.R @f6145fe5. Method: Martin, Cameron & Greiner 2007.
"""

from __future__ import annotations

import numpy as np
import pytest

from bot.evidence.figures import FigureError
from bot.evidence.scenario import (
    adjusted_risk,
    cse_binomial,
    cse_hypergeometric,
    epi,
    n_risk_based,
    passive,
    passive_unit,
    sse,
    sse_herds,
)

RISK, PARTS = [5, 3, 1], [0.1, 0.1, 0.8]


def test_adjusted_risk_and_effective_probability():
    """RSurveillance."""
    ar = adjusted_risk(RISK, PARTS)
    assert ar == pytest.approx([3.125, 1.875, 0.625])
    assert epi(0.02, ar) == pytest.approx([0.0625, 0.0375, 0.0125])


def test_component_of_three_groups():
    """P* .10, n 5, 5, 5, se .9. Binomial: RSurveillance .9430056, epiR run .943005571.
    Hypergeometric with N 10, 10, 80: .9623211 (RSurveillance and run)."""
    epis = epi(0.1, adjusted_risk(RISK, PARTS))
    assert cse_binomial(epis, 0.9, 5) == pytest.approx(0.943005571, abs=1e-9)
    assert cse_hypergeometric(epis, 0.9, 5, [10, 10, 80]) == pytest.approx(0.9623211, abs=1e-7)


def test_two_tests_in_each_group():
    """epiR: RR 5, 1; shares .1, .9; 80 at .92 and 30 at .85, 20 at .92 and 30 at .85; P* .01."""
    high, low = epi(0.01, adjusted_risk([5, 1], [0.1, 0.9]))
    found = cse_binomial([high, high, low, low], [0.92, 0.85, 0.92, 0.85], [80, 30, 20, 30])
    assert found == pytest.approx(0.9800017, abs=1e-7)


def test_sample_size_of_risk_based_surveillance():
    """epiR rsu.sssep.rbmrg, documentation and run: 147, of which 59, 59, 29."""
    assert n_risk_based(0.95, 0.01, RISK, PARTS, [0.4, 0.4, 0.2], 0.95) == (147, (59, 59, 29))


def test_the_groups_always_add_up():
    total, groups = n_risk_based(0.95, 0.5, [1] * 5, [0.2] * 5, [0.2] * 5)
    assert sum(groups) == total
    assert min(groups) >= 0


def test_system_of_herds():
    """SVA-SE/freedom tests/risk.R; vignette: 500 herds, HSe .2, P* .01 -> .632488745."""
    assert adjusted_risk([1, 4], [0.1, 0.9]) == pytest.approx([0.2702702703, 1.0810810811])
    found = sse_herds([0.1, 0.2, 0.01, 0.005, 0.01], [0.9, 0.5, 0.02, 0.99, 0.8])
    assert found == pytest.approx(0.1917353029, abs=1e-10)
    assert sse_herds(np.full(500, 0.01), 0.2) == pytest.approx(0.632488745, abs=1e-9)


def test_waiting_for_a_hunters_report():
    """epiR rsu.sep.pass: printed .018 and .16; further digits are arithmetic."""
    unit = passive_unit([0.10, 0.20, 0.90, 0.99], 0.98, 0.90, 5)
    assert unit == pytest.approx(0.0178196, abs=1e-7)
    assert round(float(unit), 3) == 0.018
    found = passive(unit, 0.01, 1000)
    assert found == pytest.approx(0.1646, abs=5e-5)
    assert round(float(found), 2) == 0.16


def test_nothing_done_finds_nothing():
    epis = epi(0.1, adjusted_risk(RISK, PARTS))
    assert cse_binomial(epis, 0.9, 0) == 0
    assert cse_hypergeometric(epis, 0.9, 0, [10, 10, 0]) == 0
    assert sse([]) == 0
    assert passive(passive_unit([0.0, 1.0], 1.0, 1.0, 5), 0.01, 1000) == 0


def test_many_zones_at_once():
    epis = epi([0.1, 0.02], adjusted_risk(RISK, PARTS))
    found = cse_binomial(epis, 0.9, np.array([[5, 5, 5], [5, 5, 5]]))
    assert found.shape == (2,)
    assert found[0] == pytest.approx(0.943005571, abs=1e-9)


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: adjusted_risk([5, 1], [0.1, 0.8]), "ppr"),
        (lambda: adjusted_risk([5, 1], [0.1, 0.1, 0.8]), "rr"),
        (lambda: epi(0.5, [3.125]), "pstar"),
        (lambda: cse_hypergeometric([0.1], 0.9, [11], [10]), "n: more"),
        (lambda: n_risk_based(0.95, 0.01, RISK, PARTS, [0.4, 0.4, 0.4]), "spr"),
        (lambda: n_risk_based(1.0, 0.01, RISK, PARTS, [0.4, 0.4, 0.2]), "confidence"),
    ],
)
def test_a_wrong_figure_is_named(call, named):
    with pytest.raises(FigureError, match=named):
        call()
