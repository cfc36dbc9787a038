"""Colours of paper.css against WCAG 2.2: text (1.4.3 wants 4.5:1), and lines that mean something
(1.4.11 wants 3:1)."""

from __future__ import annotations

import re

import pytest

from tests.web.wires import ROOT

SHEET = (ROOT / "bot/web/static/paper.css").read_text(encoding="utf-8")


def luminance(colour: str) -> float:
    """WCAG 2.2, definition of relative luminance."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """WCAG 2.2, definition of contrast ratio."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def schemes() -> dict[str, dict[str, str]]:
    blocks = re.findall(r":root \{(.*?)\}", SHEET, re.DOTALL)
    tables = [dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", block)) for block in blocks]
    return dict(zip(("light", "dark"), tables, strict=True))


def test_the_formula_gives_published_values():
    # WCAG 2.2: black on white is 21:1. #767676 on white, 4.54:1, is the usual worked example
    # of the lightest grey that passes 4.5:1 (common practice).
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(
    ("above", "below", "least"),
    [
        ("ink", "ground", 7),
        ("ink", "paper", 7),
        ("ink", "slip", 7),
        ("ink", "rule", 7),
        ("ink", "alarm-ground", 7),
        ("pencil", "ground", 5.5),
        ("pencil", "paper", 7),
        ("pencil", "rule", 4.5),
        ("link", "ground", 6),
        ("link", "paper", 7),
        ("alarm", "alarm-ground", 6),
        ("press-ink", "press", 7),
        ("edge", "slip", 3),
        ("edge", "paper", 3),
        ("binding", "ground", 3),
        ("binding", "paper", 3),
    ],
)
def test_colours_can_be_told_apart(scheme, above, below, least):
    colours = schemes()[scheme]
    assert contrast(colours[above], colours[below]) >= least
