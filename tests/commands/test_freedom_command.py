"""`bushpost freedom`: published figures through the command line, and errors that name an argument.

Sources as in tests/evidence: Hawkins 2003; epiR 2.0.94; RSurveillance; SVA-SE/freedom.
"""

from __future__ import annotations

import inspect
import json
import re
from pathlib import Path

import pytest

import bot
from bot.__main__ import main
from bot.commands.evidence import ASSUMED
from bot.commands.freedom import FORMULAS, MEANS

CASES = [
    ("n-cannon-roe --confidence 0.99 --population 1600 --d 16", 399),
    ("n-freedom --confidence 0.95 --pstar 0.05 --se 0.9 --population infinite", 66),
    ("n-freedom --confidence 0.95 --pstar 0.05 --se 0.9 --population 500,1000", [63, 65]),
    ("n-macdiarmid --confidence 0.95 --population 80 --d 1,2,5,10 --se 0.8", [None, 78, 46, 26]),
    ("sep-freecalc --population 150 --n 30 --cut 2 --se 0.9 --sp 0.98 --pstar 0.1", 0.870566),
    ("sep-hp --population 150 --n 30 --cut 2 --se 0.9 --sp 0.98 --d 15", 0.878252),
    ("adjusted-risk --rr 5,3,1 --ppr 0.1,0.1,0.8", [3.125, 1.875, 0.625]),
    ("pfree --prior 0.5 --sse 0.4", 0.625),
    ("equilibrium-pfree --sse 0.6 --p-intro 0.02", 0.986394558),
    ("prevalence-upper --n 0", None),
    # 95 % of a bivariate normal lies within sqrt(-2 ln 0.05) = 2.44775 sigma: 6 km -> 2.4512 km.
    ("kernel-sigma --radius-95-km 6", 2.451234),
    # 1 - (1 - 0.1)^(0.01 * 300), reckoned by hand: 1 - 0.729.
    ("zone-sensitivity --mean 0.1 --cells 300 --pstar 0.01", 0.271),
]


@pytest.mark.parametrize(("line", "result"), CASES)
def test_a_published_figure(capsys, line, result):
    assert main(["freedom", *line.split()]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["formula"] == line.split()[0]
    if isinstance(result, float):
        assert answer["result"] == pytest.approx(result, abs=1e-6)
    else:
        assert answer["result"] == result


def test_two_results_have_names(capsys):
    line = "pfree-over-time --prior 0.1 --sse 0.8,0.8,0.8 --p-intro 0.02 --first as_given"
    assert main(["freedom", *line.split()]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["result"]["pfree"][2] == pytest.approx(0.9260259179)
    assert answer["arguments"]["risk"] == "of_the_month_before"
    line = "n-risk-based --confidence 0.95 --pstar 0.01 --se 0.95"
    line += " --rr 5,3,1 --ppr 0.1,0.1,0.8 --spr 0.4,0.4,0.2"
    assert main(["freedom", *line.split()]) == 0
    assert json.loads(capsys.readouterr().out)["result"] == {"total": 147, "groups": [59, 59, 29]}


@pytest.mark.parametrize(
    ("line", "named"),
    [
        ("pfree --prior 1.5 --sse 0.4", "prior: 1.5 is not between 0 and 1"),
        ("sep-exact --population 10 --n 11 --d 2", "n: more than the population"),
        ("n-exact --confidence 0.95 --population infinite --d 2", "population: infinite"),
        ("adjusted-risk --rr 5,3 --ppr 0.1,0.1,0.8", "rr: 2 values, but ppr has 3"),
    ],
)
def test_a_wrong_argument_is_one_line_that_names_it(capsys, line, named):
    assert main(["freedom", *line.split()]) == 2
    said = capsys.readouterr()
    assert named in said.err
    assert said.err.count("\n") == 1
    assert not said.out


@pytest.mark.parametrize("line", ["pfree --prior half --sse 0.4", "pfree --prior 0.5", "sum"])
def test_what_is_no_argument_is_refused(capsys, line):
    with pytest.raises(SystemExit) as refused:
        main(["freedom", *line.split()])
    assert refused.value.code == 2
    assert "error" in capsys.readouterr().err


@pytest.mark.parametrize("name", FORMULAS)
def test_every_formula_explains_itself(capsys, name):
    with pytest.raises(SystemExit) as left:
        main(["freedom", name, "--help"])
    assert left.value.code == 0
    assert len(capsys.readouterr().out) > 150


def test_every_argument_says_what_it_is():
    named = {name for f in FORMULAS.values() for name in inspect.signature(f).parameters}
    assert named == set(MEANS)


def test_words_for_a_number_are_one_line(capsys):
    with pytest.raises(SystemExit):
        main(["freedom", "pfree", "--prior", "half", "--sse", "0.4"])
    assert "'half' is no number" in capsys.readouterr().err


MANUAL = (Path(bot.__file__).parent / "manual" / "evidence.md").read_text("utf-8")
SHOWN = re.findall(r"`bushpost freedom (\S+ --[^`]*\d)` \| (.+) \|", MANUAL)


@pytest.mark.parametrize(("line", "answer"), SHOWN)
def test_the_manual_shows_what_the_command_prints(capsys, line, answer):
    assert main(["freedom", *line.split()]) == 0
    assert json.loads(capsys.readouterr().out)["result"] == json.loads(answer)


def test_the_manual_shows_examples_and_every_option_of_evidence():
    assert len(SHOWN) >= 4
    assert all(f"`--{name.replace('_', '-')}`" in MANUAL for name in ASSUMED)
