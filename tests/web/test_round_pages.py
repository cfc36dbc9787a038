"""The round of the day: asked for by text, opened by its link, saved as files."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from xml.etree import ElementTree

import pytest
from sqlalchemy import select

from bot.fieldwork.round_text import GPX
from bot.messages import Assigned
from bot.service import tables as t
from bot.service.roster import import_roster
from bot.talk.segments import segments_of
from tests.web.roads import NELL, Road, open_road
from tests.web.wires import PROGRAMME

MATE = "+61491570110"
SECOND = (
    "Sow shot this morning, pus in the jaw gland, at -36.80 147.20. Head is with me at "
    "-36.80 147.20 in the freezer, 2 bags. State forest. Name's Jo, no jaw"
)


@pytest.fixture
def road(tmp_path: Path) -> Iterator[Road]:
    road = open_road(tmp_path)
    yield road
    road.intake.database.close()


def give(road: Road, code: str, staff_id: str = "f1") -> str:
    road.intake.tell_pickup(code, Assigned(road.clock(), "ines", staff_id), road.clock())
    return code


@pytest.fixture
def two(road: Road) -> list[str]:
    """Two finds by two hunters, both given to Nell."""
    return [give(road, road.find()), give(road, road.text(SECOND, MATE))]


def said_to(road: Road, number: str = NELL) -> str:
    with road.intake.database.read() as connection:
        query = select(t.TextOut.body).where(t.TextOut.number == number).order_by(t.TextOut.id)
        return list(connection.scalars(query))[-1]


def path_in(words: str) -> str:
    found = re.search(r"https://post\.example(/round/\S+)$", words)
    assert found, words
    return found.group(1)


def asked(road: Road, words: str = "what's my round?") -> str:
    road.text(words, NELL)
    return path_in(said_to(road))


def see(road: Road, path: str) -> str:
    answer = road.passer_by.get(path)
    assert answer.status_code == 200
    return answer.get_data(as_text=True)


def test_a_text_brings_the_round_in_order_with_its_link(road: Road, two: list[str]) -> None:
    road.text("Todays jobs", NELL)
    text = said_to(road)
    assert segments_of(text) <= 2
    minutes = [int(m) for m in re.findall(r"(\d+) min", text)]
    # By the demo's tracks: the whole way first, then the leg to each of the two.
    assert len(minutes) == 3
    assert minutes[0] > sum(minutes[1:])
    assert "as the crow flies" not in text
    assert all(code in text for code in two)
    page = see(road, path_in(text))
    order = sorted(two, key=text.index)
    assert page.index(order[0]) < page.index(order[1])
    assert f"<b>{minutes[0]} min</b>" in page
    for said in ("2 stops", "roads and tracks", "No other order is shorter", "tel:+61491570006",
                 "MGA zone 55", "Home again", "<svg", "polyline"):  # fmt: skip
        assert said in page, said


def test_a_yes_and_the_round_in_one_text(road: Road) -> None:
    code = road.find()
    road.text(f"yes {code}, what's my round now", NELL)
    assert said_to(road).startswith("Your round")
    assert code in said_to(road)


def test_nobody_is_taken_for_a_hunter_who_asks_without_having_jobs(road: Road) -> None:
    road.text("my round", NELL)
    assert said_to(road).startswith("Nothing is waiting for you to drive to.")
    with road.intake.database.read() as connection:
        assert connection.scalars(select(t.Conversation.id)).all() == []
    assert "Nothing is waiting" in see(road, path_in(said_to(road)))


def test_asking_for_the_round_is_no_miss(road: Road, two: list[str]) -> None:
    """One word that cannot be read is asked back about, though the round was asked for before."""
    asked(road)
    road.text(f"hmm {two[0]} what", NELL)
    assert said_to(road).startswith("Sorry, I can't tell what you mean")


def test_each_job_has_a_link_that_opens_it(road: Road, two: list[str]) -> None:
    page = see(road, asked(road))
    links = re.findall(r'href="(/job/[^"]+)"', page)
    assert len(links) == 2
    for link in links:
        job = see(road, link)
        assert "I have it" in job
        assert road.passer_by.get(link.replace("/job/", "/round/")).status_code == 404


def test_what_is_collected_stands_apart(road: Road, two: list[str]) -> None:
    road.text(f"got {two[0]}", NELL)
    road.text("my round", NELL)
    assert f"To hand in, with you: {two[0]}." in said_to(road)
    page = see(road, path_in(said_to(road)))
    assert "1 stop," in page
    assert page.index("Home again") < page.index("still to hand in") < page.index(two[0])


def test_the_files(road: Road, two: list[str]) -> None:
    path = asked(road)
    answer = road.passer_by.get(f"{path}/round.gpx")
    assert answer.mimetype == "application/gpx+xml"
    assert "attachment" in answer.headers["Content-Disposition"]
    names = ElementTree.fromstring(answer.data).findall(
        f"{{{GPX}}}rte/{{{GPX}}}rtept/{{{GPX}}}name"
    )
    answer = road.passer_by.get(f"{path}/round.geojson")
    assert answer.mimetype == "application/geo+json"
    *points, way = json.loads(answer.data)["features"]
    assert [n.text for n in names] == [p["properties"]["code"] for p in points]
    assert way["properties"]["by"] == "network"
    assert road.passer_by.get(f"{path}/round.kml").status_code == 404


def test_a_link_that_is_too_old_says_what_to_do(road: Road, two: list[str]) -> None:
    path = asked(road)
    road.clock.at += timedelta(hours=25)
    for each in (path, f"{path}/round.gpx"):
        answer = road.passer_by.get(each)
        assert answer.status_code == 410
        assert "Text <b>MY ROUND</b>" in answer.get_data(as_text=True)


def test_a_link_is_for_one_person_and_one_purpose(road: Road, two: list[str]) -> None:
    token = asked(road).rpartition("/")[2]
    for path in (f"/round/{token.replace('f1', 'f2', 1)}", f"/job/{token}", "/round/nonsense"):
        assert road.passer_by.get(path).status_code == 404


def test_who_has_left_the_roster_sees_nothing_more(road: Road, two: list[str]) -> None:
    path = asked(road)
    import_roster(road.intake.database, [m for m in PROGRAMME.roster if m.id != "f1"])
    assert road.passer_by.get(path).status_code == 404


def test_no_script_and_nothing_from_elsewhere(road: Road, two: list[str]) -> None:
    page = see(road, asked(road))
    assert "<script" not in page
    assert "http" not in page
