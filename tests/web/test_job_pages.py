"""The pages behind signed links: one job, one label, and links that open nothing."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from pyproj import Transformer

from bot.fieldwork.custody import DEPOT, HANDED_IN
from bot.programme import load_programme
from bot.service.custody_shelf import CustodyShelf
from bot.service.desk import Desk
from bot.web.grid_words import grid_reference
from tests.web.roads import NELL, Road, open_road
from tests.web.wires import PROGRAMME


@pytest.fixture
def road(tmp_path: Path) -> Iterator[Road]:
    road = open_road(tmp_path)
    yield road
    road.intake.database.close()


def job_path(road: Road, code: str, staff_id: str = "f1") -> str:
    return road.intake.links.job(code, staff_id, road.clock()).removeprefix("https://post.example")


def label_path(road: Road, code: str) -> str:
    return road.intake.links.specimen(code, road.clock()).removeprefix("https://post.example")


def see(road: Road, path: str) -> str:
    return road.passer_by.get(path).get_data(as_text=True)


def press(road: Road, path: str, **form) -> int:
    return road.passer_by.post(path, data=form).status_code


def pickup(road: Road, code: str):
    card = Desk(road.intake.database).find_card(code)
    return card.pickup.state, card.pickup.staff_id


def trail(road: Road, code: str):
    return CustodyShelf(road.intake.database).trail(code)


def test_the_whole_job_without_a_log_in(road: Road) -> None:
    code = road.find()
    path = job_path(road, code)
    page = see(road, path)
    for said in (code, "Brindle Hut", "-36.87000, 147.15000", "MGA zone 55", "jaw node pus",
                 "I take it", "I can&#39;t", "tel:+61491570006", "<svg"):  # fmt: skip
        assert said.replace("&#39;", "'") in page.replace("&#39;", "'"), said
    assert press(road, path, answer="yes", words="by 10") == 303
    assert pickup(road, code) == ("taken", "f1")
    assert press(road, path, answer="collected") == 303
    assert press(road, path, answer="handed_in", where="Kerrin Flat Depot") == 303
    assert pickup(road, code) == ("handed_in", "f1")
    assert [e.receiver for e in trail(road, code).events] == ["f1", DEPOT + "Kerrin Flat Depot"]
    assert "Your part is done" in see(road, path)


def test_handed_in_without_a_place_is_laboratory_or_depot(road: Road) -> None:
    code = road.collected()
    press(road, job_path(road, code), answer="handed_in", where="")
    assert trail(road, code).specimens[0].holder == HANDED_IN


@pytest.mark.parametrize("answer", ["collected", "handed_in", "not_there", "nonsense", ""])
def test_a_button_that_the_page_did_not_show_does_nothing(road: Road, answer: str) -> None:
    code = road.find()
    assert press(road, job_path(road, code), answer=answer) == 303
    assert pickup(road, code)[0] == "offered"


def test_a_job_that_went_to_another_says_so_and_has_no_buttons(road: Road) -> None:
    code = road.find()
    path = job_path(road, code)
    road.text(f"no {code}", NELL)
    page = see(road, path)
    assert "no longer yours" in page
    assert "<button" not in page
    assert "text the code or ring the coordinator" in page
    before = pickup(road, code)
    press(road, path, answer="yes")
    assert pickup(road, code) == before


def test_a_link_that_is_too_old_says_what_to_do(road: Road) -> None:
    path = job_path(road, road.find())
    road.clock.at += timedelta(days=8)
    answer = road.passer_by.get(path)
    assert answer.status_code == 410
    assert "too old" in answer.get_data(as_text=True)
    assert "Answer by text as always" in answer.get_data(as_text=True)
    assert press(road, path, answer="yes") == 410


@pytest.mark.parametrize("path", ["/job/K7R-4TR~f1.x.y", "/job/nonsense", "/specimen/nonsense"])
def test_a_link_that_is_none_opens_nothing(road: Road, path: str) -> None:
    assert road.passer_by.get(path).status_code == 404
    assert road.passer_by.post(path, data={"answer": "yes"}).status_code == 404


def test_a_link_for_one_job_opens_no_other_and_no_label(road: Road) -> None:
    code = road.find()
    token = job_path(road, code).rpartition("/")[2]
    assert road.passer_by.get(f"/specimen/{token}").status_code == 404
    forged = token.replace("f1", "f2", 1)
    assert road.passer_by.get(f"/job/{forged}").status_code == 404


def test_the_pages_need_no_javascript_and_load_nothing_from_elsewhere(road: Road) -> None:
    for path in (job_path(road, road.find()), label_path(road, road.collected())):
        page = see(road, path)
        assert "<script" not in page
        assert "http://" not in page.replace("http://www.w3.org", "")
        assert "https://" not in page


def test_a_scanned_label_records_a_hand_over(road: Road) -> None:
    code = road.collected()
    path = label_path(road, code)
    page = see(road, path)
    assert "With Nell Abbery" in page
    assert "Dave" not in page
    assert "Brindle" not in page, "a label tells nobody where the animal lay"
    form = {"giver": "f1", "receiver": "f2", "state": "chilled", "place": "Tallow Saddle"}
    assert press(road, path, **form) == 303
    last = trail(road, code).events[-1]
    assert (last.giver, last.receiver, last.by, last.place) == (
        "f1",
        "f2",
        "label",
        "Tallow Saddle",
    )
    assert "With Tom Quarrie" in see(road, path)


def test_pressed_twice_a_hand_over_is_one(road: Road) -> None:
    code = road.collected()
    for _ in range(2):
        press(road, label_path(road, code), giver="f1", receiver="f2", state="")
    assert len(trail(road, code).events) == 2


@pytest.mark.parametrize("form", [
    {"giver": "f1", "receiver": "<script>", "state": ""},
    {"giver": "f1", "receiver": "f2", "state": "lukewarm"},
    {"giver": "nobody", "receiver": "f2", "state": ""},
    {},
])  # fmt: skip
def test_a_forged_form_records_nothing(road: Road, form) -> None:
    code = road.collected()
    assert press(road, label_path(road, code), **form) == 404
    assert len(trail(road, code).events) == 1


def with_grids(grids: str):
    text = PROGRAMME.files["programme.toml"].replace('grids = ["mga"]', f"grids = [{grids}]")
    return load_programme({**PROGRAMME.files, "programme.toml": text})


@pytest.mark.parametrize(("grids", "lat", "lon", "said"), [
    # Big Ben stands at TQ 302 796, the station Flinders Peak in zone 55 at 273,741 E: both from
    # memory, to the first figures; the way back is checked to a metre or two below.
    ('"osgb"', 51.50070, -0.12460, "OSGB, 530"),
    ('"mga"', -37.95103, 144.42487, "MGA zone 55, 2737"),
    ("", -36.87, 147.15, "UTM zone 55S, 513"),
])  # fmt: skip
def test_a_place_is_written_in_the_programmes_grid(grids, lat, lon, said) -> None:
    assert grid_reference(lat, lon, with_grids(grids)).startswith(said)


@pytest.mark.parametrize(("lat", "lon", "epsg"), [
    (-36.87, 147.15, 7855), (-37.3, 146.712, 7855), (-33.9, 151.2, 7856), (-31.9, 115.9, 7850),
])  # fmt: skip
def test_the_figures_lead_back_to_the_place(lat: float, lon: float, epsg: int) -> None:
    words = grid_reference(lat, lon, PROGRAMME).split()
    east, north = float(words[-4]), float(words[-2])
    back = Transformer.from_crs(f"EPSG:{epsg}", "EPSG:4326", always_xy=True).transform(east, north)
    assert back == pytest.approx((lon, lat), abs=2e-5)
    assert words[2] == f"{epsg - 7800},"


def test_a_shut_gate_is_a_button_and_what_the_hunter_says_stands_on_the_page(road: Road) -> None:
    code = road.find()
    path = job_path(road, code)
    press(road, path, answer="yes")
    page = see(road, path)
    for said in ("Nobody there", "Can't get in", "Head gone", "Wrong head"):
        assert said.replace("'", "&#39;") in page or said in page, said
    assert press(road, path, answer="no_access", words="chain on the gate") == 303
    assert pickup(road, code) == ("taken", "f1")
    road.text("key is under the mat")
    assert "key is under the mat" in see(road, path)
