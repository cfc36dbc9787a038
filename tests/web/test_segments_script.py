"""The counter beside the pen reckons exactly as bot/talk/segments.py does, which has its own
checks against the published lengths and alphabet."""

from __future__ import annotations

import json
import shutil
import subprocess
from random import Random

import pytest

from bot.talk.segments import BASIC, EXTENDED, outside_gsm7, segments_of
from tests.web.wires import ROOT

SCRIPT = (ROOT / "bot/web/static/segments.js").read_text(encoding="utf-8")
ASK = """
const texts = JSON.parse(require("fs").readFileSync(0, "utf-8"));
const { outside, segments } = globalThis.bushpostSegments;
console.log(JSON.stringify(texts.map((text) => [segments(text), outside(text)])));
"""


def texts() -> list[str]:
    """Every character of the alphabet, every length near a boundary, and many mixtures."""
    chance = Random(20261125)
    plain, wide = sorted(BASIC), ["é", "ñ", "ï", "—", "你", "😀", "𝄞"]
    edges = [c * n for c in ("a", "€", "ï", "😀") for n in (0, 1, 33, 34, 35, 67, 69, 70, 71, 134)]
    edges += ["a" * n for n in (152, 153, 154, 159, 160, 161, 306, 307, 459, 460)]
    edges += ["a" * n + "€" * 3 + "b" * n for n in (76, 77, 151, 152, 153)]
    edges += ["ï" * n + "😀" + "x" * n for n in (32, 33, 65, 66, 67)]
    mixed = [
        "".join(chance.choices(plain + sorted(EXTENDED) * odd + wide * (odd % 2), k=length))
        for odd in range(3)
        for length in range(1, 400, 7)
    ]
    return [*BASIC, *EXTENDED, *wide, *edges, *mixed]


@pytest.mark.skipif(shutil.which("node") is None, reason="no node to run the script with")
def test_the_script_reckons_as_the_service_does():
    asked = texts()
    run = subprocess.run(
        ["node", "-e", SCRIPT + ASK],
        input=json.dumps(asked),
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    wanted = [[segments_of(text), outside_gsm7(text)] for text in asked]
    assert json.loads(run.stdout) == wanted
