"""Published counts re-added, and the sensitivity of a look.

Red deer: Emerg Infect Dis 2015;21(3), 14-1119, Table 2. Wild boar: Santos et al. 2010, PLoS ONE
5(9):e12663 (abstract; the fractions are rebuilt from the percentages and n). Muñoz-Mendoza et al.
2013, BMC Vet Res 9:176, Table 4.
"""

from __future__ import annotations

import pytest

from bot.evidence.lesions import BOAR, RED_DEER, Looked, deer_counted, looked_at, se_of_look
from bot.reading.values import Checked


def with_lesion(*sites: str) -> int:
    return sum(n for row, n in RED_DEER.items() if set(row) & set(sites))


@pytest.mark.parametrize(
    ("sites", "printed"),
    [
        (("throat_node",), 41),
        (("chest_node",), 8),
        (("windpipe_node",), 12),
        (("gut",), 16),
        (("lung", "tonsil", "ear_node"), 5),
        (("lung",), 3),
        (("tonsil",), 1),
        (("ear_node",), 1),
    ],
)
def test_red_deer_rows_add_up_to_the_printed_totals(sites, printed):
    assert with_lesion(*sites) == printed


def test_red_deer_rows_close_on_59():
    """Derived (arithmetic): 55/59 anywhere, 42/59 head, 29/59 throat only, 13/55 missed by head."""
    assert deer_counted() == 59
    assert RED_DEER[()] == 4
    assert pytest.approx(0.932, abs=5e-4) == 55 / 59
    assert with_lesion("throat_node", "ear_node") == 42
    assert RED_DEER[("throat_node",)] == 29
    missed = sum(
        n for row, n in RED_DEER.items() if row and not {"throat_node", "ear_node"} & {*row}
    )
    assert (missed, round(missed / 55, 3)) == (13, 0.236)


@pytest.mark.parametrize(
    ("method", "se", "after"),
    [
        ("histopathology", 77.8, 81.8),
        ("looking", 72.2, 72.7),
        ("pcr", 66.7, 63.6),
        ("smear", 55.6, 54.5),
        ("histology_stain", 16.7, 13.6),
        ("looking_and_smear", 94.4, None),
        ("culture", 100.0, 81.8),
    ],
)
def test_wild_boar_fractions_give_the_printed_percentages(method, se, after):
    rate = BOAR[method]
    assert round(100 * rate.found / rate.infected, 1) == se
    if after is not None:
        assert round(100 * rate.found_after / rate.infected_after, 1) == after
    else:
        assert rate.found_after is None


def test_two_methods_are_not_independent():
    """Trap: independence would promise 0.877, observed was 0.944."""
    looking, smear = (BOAR[m].found / BOAR[m].infected for m in ("looking", "smear"))
    both = BOAR["looking_and_smear"]
    assert 1 - (1 - looking) * (1 - smear) == pytest.approx(0.877, abs=5e-4)
    assert both.found / both.infected == pytest.approx(0.944, abs=5e-4)


def test_a_misprint_is_known():
    """Muñoz-Mendoza et al. print 83.43 % for five local of six; 5/6 is 83.33 %."""
    assert round(100 * 5 / 6, 2) == 83.33


def both(*sites: str) -> list[Checked]:
    return [Checked(site, "both") for site in sites]


@pytest.mark.parametrize(
    ("checked", "count"),
    [
        (both("jaw_node", "throat_node", "ear_node"), 6),
        (both("head_nodes"), 6),
        ([Checked("head_nodes", "")], 6),
        ([Checked("head_nodes", "left")], 3),
        ([Checked("head", "")], 0),
        ([Checked("jaw_node", "left"), Checked("jaw_node", "right")], 2),
        ([Checked("jaw_node", "left"), Checked("jaw_node", "")], 1),
        ([Checked("jaw_node", "")], 1),
        ([Checked("jaw_node", "both", "not_found")], 0),
        ([Checked("throat_node", "both", "not_looked"), Checked("jaw_node", "both")], 2),
        (both("lung"), 0),
        ([], 0),
    ],
)
def test_what_counts_as_looked_at(checked, count):
    assert looked_at(checked).count == count


def test_two_nodes_are_weaker_evidence_than_six():
    six = se_of_look("pig", looked_at(both("head_nodes")))
    assert six == pytest.approx(0.722, abs=5e-4), "Santos et al. 2010, gross pathology"
    assert se_of_look("pig", looked_at(both("jaw_node"))) == pytest.approx(six / 3)
    assert se_of_look("pig", Looked()) == 0


def test_looking_at_a_deer():
    head = se_of_look("deer", looked_at(both("head_nodes")))
    assert head == pytest.approx(42 / 59)
    everywhere = se_of_look("deer", looked_at(both("head_nodes", "lung", "gut")))
    assert everywhere == pytest.approx(55 / 59)
    assert se_of_look("deer", looked_at([Checked("throat_node", "left")])) == pytest.approx(
        20.5 / 59
    )
    assert se_of_look("deer", looked_at(both("jaw_node"))) == 0, "no lesion of these 59 lay there"


def test_other_species_have_no_figure():
    with pytest.raises(LookupError, match="possum"):
        se_of_look("possum", Looked({"jaw_node": 2}))
