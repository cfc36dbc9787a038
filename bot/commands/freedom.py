"""`bushpost freedom FORMULA`: a calculator, so that an epidemiologist can check our formulas.

One JSON object: the formula, the arguments as read, the result; null is "not available". A number
may be a list ("5,3,1"); `infinite` is a population without an end.
"""

from __future__ import annotations

import argparse
import inspect
import json
import math
import sys
from collections.abc import Callable, Mapping
from typing import Any, get_args

import numpy as np

from bot.evidence import freedom, samplesize, scenario, sensitivity, spatial
from bot.evidence.figures import FigureError

FORMULAS: dict[str, Callable[..., Any]] = {
    "n-cannon-roe": samplesize.n_cannon_roe,
    "n-macdiarmid": samplesize.n_macdiarmid,
    "n-exact": samplesize.n_exact,
    "n-binomial": samplesize.n_binomial,
    "n-freedom": samplesize.n_freedom,
    "n-pfree": samplesize.n_pfree,
    "n-risk-based": scenario.n_risk_based,
    "sep-binomial": sensitivity.sep_binomial,
    "sep-hypergeometric": sensitivity.sep_hypergeometric,
    "sep-exact": sensitivity.sep_exact,
    "sep-random": sensitivity.sep_random,
    "sep-varying": sensitivity.sep_varying,
    "sep-freecalc": sensitivity.sep_freecalc,
    "sep-hp": sensitivity.sep_hp,
    "spp": sensitivity.spp,
    "pstar-calc": sensitivity.pstar_calc,
    "prevalence-upper": sensitivity.prevalence_upper,
    "adjusted-risk": scenario.adjusted_risk,
    "epi": scenario.epi,
    "cse-binomial": scenario.cse_binomial,
    "cse-hypergeometric": scenario.cse_hypergeometric,
    "sse": scenario.sse,
    "sse-herds": scenario.sse_herds,
    "passive-unit": scenario.passive_unit,
    "passive": scenario.passive,
    "pfree": freedom.pfree,
    "discount": freedom.discount,
    "sse-needed": freedom.sse_needed,
    "sse-to-hold": freedom.sse_to_hold,
    "equilibrium-prior": freedom.equilibrium_prior,
    "equilibrium-pfree": freedom.equilibrium_pfree,
    "pfree-over-time": freedom.pfree_over_time,
    "kernel-sigma": spatial.sigma_of,
    "zone-sensitivity": spatial.zone_sensitivity,
}
"""Each formula by its name; its arguments and their defaults are those of the function."""

PARTS = {"n-risk-based": ("total", "groups"), "pfree-over-time": ("prior", "pfree")}
"""What a formula with two results calls them."""

WORDS: dict[str, tuple[str, ...]] = {
    "first": get_args(freedom.First),
    "risk": get_args(freedom.Risk),
}
"""Arguments that are named conventions rather than numbers."""


MEANS = {
    "confidence": "confidence wanted, a share",
    "population": "animals in the population, or `infinite`",
    "d": "infected animals in it",
    "se": "sensitivity of the test",
    "sp": "specificity of the test",
    "pstar": "design prevalence, a share",
    "n": "animals tested",
    "cut": "so many positive tests call the population infected",
    "sep": "sensitivity reached for the population",
    "prior": "probability of freedom before the evidence",
    "target": "probability of freedom wanted",
    "probability": "probability of freedom at the end of a period",
    "p_intro": "probability of introduction in a period",
    "sse": "sensitivity of the whole surveillance; for pfree-over-time one for each period",
    "confirmed": "confirmed positives; any makes the probability not available",
    "first": "whether the prior is discounted before the first update, or is as given",
    "risk": "whose p-intro discounts into a period: the period's before it, or its own",
    "rr": "relative risk of each group",
    "ppr": "share of the population in each group",
    "spr": "share of the sample from each group",
    "ar": "adjusted risk of each group",
    "epis": "design prevalence within each group",
    "cse": "sensitivity of each component",
    "dp": "design prevalence of each herd",
    "hse": "sensitivity within each herd",
    "steps": "chance of each step: noticed, reported, fetched ...",
    "p_infected": "chance that an animal of an infected unit is infected",
    "unit": "chance that one infected unit comes to be known",
    "radius_95_km": "radius in km that holds 95 %% of an animal's positions",
    "mean": "mean sensitivity of a zone's cells",
    "cells": "cells of the zone",
}
"""What each argument is, in every formula that has it; shares lie between 0 and 1."""

EXAMPLES = """\
a number may be a list with commas, worked through side by side: --population 500,1000
`infinite` is a population without an end; null in an answer is "not available", never 0

  bushpost freedom n-cannon-roe --confidence 0.99 --population 1600 --d 16
  bushpost freedom pfree --prior 0.5 --sse 0.4
"""


def add_freedom(subparsers: Any) -> None:
    """Add the command, with a sub-command for each formula, to the command line."""
    words = "calculate one formula on freedom from disease and print JSON"
    calculator = subparsers.add_parser(
        "freedom",
        help=words,
        description=f"{words[0].upper()}{words[1:]}. FORMULA --help says what a formula takes.",
        epilog=EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    formulas = calculator.add_subparsers(dest="formula", required=True, metavar="FORMULA")
    for name, function in FORMULAS.items():
        text = inspect.getdoc(function) or ""
        parser = formulas.add_parser(
            name,
            help=text.split("\n\n")[0].replace("%", "%%"),
            description=text.replace("%", "%%"),
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )
        for argument, given in inspect.signature(function).parameters.items():
            _add_argument(parser, argument, given.default)
        parser.set_defaults(run=run_freedom)


def run_freedom(args: argparse.Namespace) -> int:
    """Print one object; exit code 2 and one line on stderr where an argument is at fault."""
    function = FORMULAS[args.formula]
    given = {name: getattr(args, name) for name in inspect.signature(function).parameters}
    try:
        result = function(**given)
    except (FigureError, ValueError, TypeError) as fault:
        print(f"bushpost freedom {args.formula}: {fault}", file=sys.stderr)
        return 2
    answer = {
        "formula": args.formula,
        "arguments": _plain(given),
        "result": _named(args.formula, result),
    }
    print(json.dumps(answer, allow_nan=False))
    return 0


def _add_argument(parser: argparse.ArgumentParser, name: str, default: object) -> None:
    needed = default is inspect.Parameter.empty
    options: dict[str, Any] = {"required": True} if needed else {"default": default}
    shown = "infinite" if default == math.inf else default
    options["help"] = MEANS[name] + ("" if needed else f" (default: {shown})")
    if name in WORDS:
        options["choices"] = WORDS[name]
    else:
        options["type"] = int if name == "cut" else _numbers
        options["metavar"] = "N" if name == "cut" else "N[,N...]"
    parser.add_argument("--" + name.replace("_", "-"), dest=name, **options)


def _numbers(text: str) -> float | list[float]:
    """One number, or several with commas between them."""
    try:
        values = [math.inf if p.strip() == "infinite" else float(p) for p in text.split(",")]
    except ValueError:
        raise argparse.ArgumentTypeError(
            f"{text!r} is no number, nor several with commas between them"
        ) from None
    return values[0] if len(values) == 1 else values


def _named(formula: str, result: Any) -> Any:
    if formula in PARTS:
        return {name: _plain(part) for name, part in zip(PARTS[formula], result, strict=True)}
    return _plain(result)


def _plain(value: Any) -> Any:
    """JSON's own types: NaN is null, and an endless population is named."""
    if isinstance(value, Mapping):
        return {key: _plain(part) for key, part in value.items()}
    if isinstance(value, np.ndarray | np.generic):
        return _plain(value.tolist())
    if isinstance(value, list | tuple):
        return [_plain(part) for part in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None if math.isnan(value) else "infinite"
    return value
