"""The zones' pages: words first, no probability beside a positive, downloads, and the letter."""

from __future__ import annotations

import csv
import io
import json
import re

import pytest

from bot.evidence.told_age import AgeTold
from bot.fieldwork.custody import HUNTER, HandedOver, LabSaid
from bot.service.ages import keep_age
from bot.service.custody import keep_custody
from tests.web.office import HOUR, Office, open_office
from tests.web.wires import NOW

NORTH, SOUTH = "/desk/evidence/Tallow North", "/desk/evidence/Tallow South"
CLEAN = (
    "all six glands both sides clear, boar, shot 7 Nov 5pm, 36 42.0 S 147 06.0 E",
    "all six glands both sides clear, sow, shot 14 Nov 5pm, 36 46.0 S 147 20.0 E",
    "3 clean, 2 sows 1 boar, Sat 21 Nov, 36 39.0 S 146 54.0 E",
)
SUSPECT = "Boar, pus in the jaw gland, shot 14 Nov 5pm, 37 06.0 S 147 06.0 E, head in the freezer"


@pytest.fixture
def office(tmp_path):
    with open_office(tmp_path) as opened:
        for n, words in enumerate(CLEAN):
            opened.text(words, number=f"+6149157015{6 + n}")
        opened.clock.at += HOUR
        yield opened


@pytest.fixture
def positive(office: Office) -> str:
    code = office.text(SUSPECT, number="+61491570313")
    office.clock.at += HOUR
    given = HandedOver(NOW, "f1", code, HUNTER, "f1")
    said = LabSaid(NOW, "lab", code, "final", outcome="positive")
    with office.database.write() as connection:
        keep_custody(connection, code, [given, said], NOW)
        keep_age(connection, code, AgeTold(NOW, "lab", "laboratory", "pig", lower=5, upper=6))
    return code


def shown(office: Office, path: str, name: str = "ines") -> str:
    answer = office.client(name).get(path)
    assert answer.status_code == 200, path
    return answer.get_data(as_text=True).replace("\u00a0", " ")


def test_words_come_first_then_the_drawing_then_the_figures(office):
    page = shown(office, NORTH)
    order = ["looked clean", "<svg", "<table"]
    assert sorted(order, key=page.index) == order
    assert "5 animals from Tallow North" in page
    assert "It rests on: a zone counts as infected from 1 %" in page
    assert 'class="band"' not in page or 'class="line"' in page


def test_nobody_has_looked_is_said(office):
    assert "Nobody has looked at an animal from Tallow South yet" in shown(office, SOUTH)


def test_a_zone_with_a_positive_shows_its_window_and_no_probability(office, positive):
    page = shown(office, SOUTH)
    assert "The disease is confirmed in Tallow South" in page
    assert "This animal was infected between 14 May 2026 and 14 Sep 2026" in page
    assert 'class="line"' not in page
    assert "No probability is drawn" in page
    body = re.search(r"<caption>Month by month</caption>.*?</table>", page, re.DOTALL)
    assert body
    for row in re.findall(r"<tr><th scope=\"row\">.*?</tr>", body.group(0)):
        assert row.count("not available") == 4, "belief before, below, lowest, highest"


def test_a_suspect_that_waits_withholds_too(office):
    office.text(SUSPECT, number="+61491570313")
    office.clock.at += HOUR
    page = shown(office, SOUTH)
    assert "still waiting for the laboratory" in page
    assert 'class="line"' not in page


def test_where_nobody_looked_is_for_coordinators_alone(office):
    assert "Where nobody has looked" in shown(office, NORTH)
    assert 'class="gap"' in shown(office, NORTH)
    for path in (NORTH, "/desk/evidence/"):
        seen = shown(office, path, "vera")
        assert "Where nobody has looked" not in seen
        assert 'class="gap"' not in seen
    assert "would say most" not in shown(office, "/desk/evidence/letter")


def test_a_viewer_gets_no_exact_place(office):
    exact = office.client("ines").get(f"{NORTH}/zone.geojson").get_json()
    coarse = office.client("vera").get(f"{NORTH}/zone.geojson").get_json()
    places = [
        {tuple(f["geometry"]["coordinates"]) for f in told["features"][1:]}
        for told in (exact, coarse)
    ]
    assert (147.1, -36.7) in places[0]
    assert not places[0] & places[1]


def test_the_geojson_holds_the_window_and_no_probability(office, positive):
    told = office.client().get(f"{SOUTH}/zone.geojson").get_json()
    zone, found = told["features"]
    assert zone["properties"]["p_below"] is None
    assert zone["properties"]["design_prevalence"] == 0.01
    assert found["properties"]["code"] == positive
    assert found["properties"]["infected_from"].startswith("2026-05-14")
    assert json.dumps(told)


def test_the_csv_leaves_what_is_not_available_empty(office, positive):
    def rows(path: str) -> list[dict[str, str]]:
        text = office.client().get(f"{path}/months.csv").data.decode("utf-8-sig")
        return list(csv.DictReader(io.StringIO(text)))

    north, south = rows(NORTH), rows(SOUTH)
    assert [r["month"] for r in north] == ["2026-11"]
    assert 0 < float(north[0]["low"]) <= float(north[0]["p_below"]) <= float(north[0]["high"]) < 1
    assert all(r["p_below"] == r["prior"] == r["low"] == "" for r in south)
    assert all(r["design_prevalence"] == "0.01" for r in north + south)


def test_the_pdf_holds_the_words_and_no_probability_beside_a_positive(office, positive):
    pdfplumber = pytest.importorskip("pdfplumber")
    made = office.client().get(f"{SOUTH}/zone.pdf").data
    with pdfplumber.open(io.BytesIO(made)) as pdf:
        text = " ".join(" ".join(page.extract_text().split()) for page in pdf.pages)
    assert "The disease is confirmed in Tallow South" in text
    assert f"{positive}: This animal was infected between 14 May 2026" in text
    assert re.search(r"2026-11 [\d.]+ % (not available ?){4}", text)


def test_the_pdf_draws_what_the_page_draws(office, positive):
    """Filled squares of the map, a circle for each clean find, and the axis' bar: strokes in the
    file itself, read back by another library."""
    pdfplumber = pytest.importorskip("pdfplumber")
    drawn = {}
    for path in (NORTH, SOUTH):
        with pdfplumber.open(io.BytesIO(office.client().get(f"{path}/zone.pdf").data)) as pdf:
            rects = [r for page in pdf.pages for r in page.rects]
            curves = [c for page in pdf.pages for c in page.curves]
            words = " ".join(page.extract_text() for page in pdf.pages)
        drawn[path] = len(rects), len(curves), words
    assert drawn[NORTH][0] > 40, "squares of coverage"
    assert drawn[NORTH][1] >= len(CLEAN), "a ring for each clean find"
    assert drawn[NORTH][2].count("100 %") == 1, "the scale of the probability"
    assert drawn[SOUTH][2].count(positive) == 3, "in words, on the map, on the axis"
    assert "100 %" not in drawn[SOUTH][2]


def test_a_young_positive_and_an_old_one_differ_on_the_map(office, positive):
    """Young: a filled dot, a shaded circle of 6 km (Nugent 2002). An old boar: an open dot, a
    dashed circle, and a dotted one of 16.6 km (Truve & Lemel 2003)."""
    young = shown(office, SOUTH)
    assert 'class="case"' in young
    assert 'class="reach young"' in young
    assert 'class="reach far"' not in young
    with office.database.write() as connection:
        keep_age(connection, positive, AgeTold(NOW, "lab", "laboratory", "pig", lower=18, upper=28))
    old = shown(office, SOUTH)
    assert 'class="case old"' in old
    assert 'class="reach young"' not in old
    near, far = (
        float(re.search(rf'class="{c}"[^>]* r="([0-9.]+)"', old)[1]) for c in ("reach", "reach far")
    )
    assert far / near == pytest.approx(16.6 / 6.0, rel=0.02)
    assert "says little about where the disease is now" in old


def test_the_letter_counts_the_season_and_promises_nothing(office, positive):
    page = shown(office, "/desk/evidence/letter")
    assert "to 25 Nov 2026: 6." in page
    assert "Looked clean: 5. Something odd: 1. Found dead: 0." in page
    assert "found the disease in 1 of them" in page
    assert "Tallow South: the disease is confirmed here." in page
    assert "does not rule it out" in page
    assert 'lang="es"' in shown(office, "/desk/evidence/letter?language=es")
    later = shown(office, "/desk/evidence/letter?since=2026-11-26&until=2026-11-27")
    assert "Animals that you told us of from 26 Nov 2026 to 27 Nov 2026: 0." in later


@pytest.mark.parametrize(
    ("path", "status"),
    [
        ("/desk/evidence/Nowhere", 404),
        ("/desk/evidence/?until=yesterday", 400),
        ("/desk/evidence/letter?language=xx", 400),
        (f"{NORTH}?until=2026-11-10", 200),
    ],
)
def test_what_is_asked_wrongly(path, status, office):
    assert office.client().get(path).status_code == status


def test_a_day_in_the_past_shows_what_was_known_then(office):
    assert "Nobody has looked at an animal" in shown(office, f"{NORTH}?until=2026-11-10")


@pytest.mark.parametrize("path", ["/desk/evidence/", NORTH, "/desk/evidence/letter"])
def test_nobody_reads_it_without_a_log_in(path, office):
    assert office.client("").get(path).status_code == 302


def test_nothing_is_drawn_inline_that_the_policy_forbids(office, positive):
    for path in (NORTH, SOUTH, "/desk/evidence/", "/desk/evidence/letter"):
        assert not re.search(r"<[^>]+\s(style|on\w+)=", shown(office, path))
