"""Season and map: the same finds in page, CSV and GeoJSON; exact places for whom they may be."""

from __future__ import annotations

import csv
import io
import json
import re
from datetime import timedelta

import pytest

from bot.evidence.coarse import square_centre
from bot.evidence.season import Tally
from bot.service.desk import Desk
from bot.web.plots import BASE, bars_of
from tests.web.office import MATE, open_office

EXACT = (-36.8712, 147.1534)
HERE = f"Sow with lumps in the lungs at {EXACT[0]} {EXACT[1]} yesterday"


@pytest.fixture
def office(tmp_path):
    with open_office(tmp_path) as office:
        office.code = office.text(HERE)
        office.text("Boar, looked clean, qwibble frobbed, 2 km N of Brindle Hut, yesterday", MATE)
        yield office


def csv_of(client, **query):
    answer = client.get("/desk/season/finds.csv", query_string=query)
    assert answer.mimetype == "text/csv"
    return list(csv.DictReader(io.StringIO(answer.get_data(as_text=True))))


def places(client, path="/desk/season/finds.geojson", **query):
    data = json.loads(client.get(path, query_string=query).data)
    assert data["type"] == "FeatureCollection"
    return {f["properties"]["code"]: f["geometry"]["coordinates"] for f in data["features"]}


@pytest.mark.parametrize("path", ["/desk/season/finds.geojson", "/desk/map/finds.json"])
def test_a_coordinator_gets_the_place_and_a_viewer_the_middle_of_a_square(office, path):
    lat, lon = square_centre(*EXACT)
    assert places(office.client("ines"), path)[office.code] == [EXACT[1], EXACT[0]]
    assert places(office.client("vera"), path)[office.code] == [lon, lat]


def test_no_page_that_a_viewer_may_open_holds_an_exact_place(office):
    vera = office.client("vera")
    paths = (
        *("/desk/map/", "/desk/map/finds.json", f"/desk/map/find/{office.code}.json"),
        *("/desk/season/", "/desk/season/finds.csv", "/desk/season/finds.geojson"),
        *("/desk/", "/desk/list"),
    )
    for path in (f"/desk/find/{office.code}", "/desk/search/?for=sow", "/desk/photo/x"):
        assert vera.get(path).status_code == 403
    for path in paths:
        page = vera.get(path)
        assert page.status_code == 200, path
        for figure in ("36.871", "147.153"):
            assert figure not in page.get_data(as_text=True), path


def test_the_csv_says_what_is_known(office):
    rows = {row["code"]: row for row in csv_of(office.client("ines"))}
    row = rows[office.code]
    assert (row["species"], row["kind"], row["kept_as"]) == ("pig", "body", "suspect")
    assert (float(row["lat"]), float(row["lon"])) == EXACT
    assert row["zone"] == "Tallow North"
    assert row["without_a_person"] == "no"
    assert len(rows) == 2


def test_days_outside_and_days_that_are_none(office):
    ines = office.client("ines")
    assert csv_of(ines, first="2020-01-01", last="2020-02-01") == []
    for days in ({"first": "x"}, {"last": "2026-13-40"}, {"last": "9999-12-31"}):
        assert ines.get("/desk/season/", query_string=days).status_code in (200, 400)
    page = ines.get("/desk/season/", query_string={"first": "2020-01-01", "last": "2020-02-01"})
    assert "No find in these days" in page.get_data(as_text=True)


def test_the_map_filters_by_animal_and_state(office):
    ines = office.client("ines")
    path = "/desk/map/finds.json"
    assert set(places(ines, path, state="suspect")) == {office.code}
    assert places(ines, path, species="deer") == {}
    page = ines.get("/desk/map/", query_string={"state": "suspect"}).get_data(as_text=True)
    assert office.code in page
    assert re.search(r"1 find\b", page)


def test_the_season_counts_and_lists_words_that_nobody_knew(office):
    page = office.client("ines").get("/desk/season/").get_data(as_text=True)
    assert re.search(r"<li>qwibble <span", page)
    assert re.search(r'<th scope="row">Tallow North</th>', page)
    assert page.count("<rect") >= 1


def test_a_time_to_acceptance_is_counted(office):
    code = office.text(
        "Boar, lump in the jaw, 2 km N of Brindle Hut, yesterday, head at Brindle Hut in the "
        "freezer, double bagged",
        "+61491570159",
    )
    pickup = Desk(office.database).find_card(code).pickup
    asked = pickup.open_offer.staff_id
    member = next(m for m in office.intake.programme.roster if m.id == asked)
    office.clock.at += timedelta(hours=2)
    office.text(f"yes {code}", member.number)
    page = office.client("ines").get("/desk/season/").get_data(as_text=True)
    assert "half of 1 within <b>2.0 h</b>" in page


def test_the_ground_has_zones_landmarks_and_bases(office):
    data = json.loads(office.client("vera").get("/desk/map/ground.json").data)
    sorts = {f["properties"]["sort"] for f in data["features"]}
    assert {"zone", "landmark", "base"} <= sorts
    assert "+61" not in json.dumps(data)


def test_the_map_library_comes_from_here_and_nothing_else_does(office):
    ines = office.client("ines")
    assert b"Leaflet" in ines.get("/desk/map/library/leaflet.js").data
    assert ines.get("/desk/map/library/leaflet.js").mimetype == "text/javascript"
    for name in ("leaflet-src.js", "..%2f__init__.py", "x"):
        assert ines.get(f"/desk/map/library/{name}").status_code == 404


def test_tiles_are_let_in_only_where_they_are_set(tmp_path, office):
    assert (
        "img-src 'self';"
        in office.client("ines").get("/desk/map/").headers["Content-Security-Policy"]
    )
    folder = tmp_path / "tiled"
    folder.mkdir()
    with open_office(folder, tiles="https://tiles.example/{z}/{x}/{y}.png") as tiled:
        answer = tiled.client("ines").get("/desk/map/")
        policy = answer.headers["Content-Security-Policy"]
        assert "img-src 'self' https://tiles.example;" in policy
        assert "script-src 'self';" in policy
        assert "unsafe" not in policy


def test_bars_stand_on_each_other_and_never_leave_the_drawing():
    plot = bars_of([Tally("2026-11-02", 3, 2, 1), Tally("2026-11-09"), Tally("2026-11-16", 0, 7)])
    first, empty, last = plot.bars
    assert [part.sort for part in first.parts] == ["suspect", "clean", "other"]
    tops = [part.y for part in first.parts]
    assert first.parts[0].y + first.parts[0].height == pytest.approx(BASE, abs=0.2)
    assert tops == sorted(tops, reverse=True)
    assert empty.parts == ()
    assert all(0 <= part.y <= BASE for bar in plot.bars for part in bar.parts)
    assert last.parts[0].height > first.parts[0].height
    assert bars_of([]) is None
