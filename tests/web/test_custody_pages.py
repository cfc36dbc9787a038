"""The custody page and the laboratory's: what they show, and that every act is an event."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from bot.fieldwork.custody import HANDED_IN, LABORATORY
from bot.fieldwork.laboratory import MANIFEST
from bot.service.custody_shelf import CustodyShelf
from bot.service.desk import Desk
from tests.web.roads import HUNTER, NELL, Road, open_road
from tests.web.test_accounts import token

SPITE = "=cmd<script>alert(1)</script>"


@pytest.fixture
def road(tmp_path: Path) -> Iterator[Road]:
    road = open_road(tmp_path)
    yield road
    road.intake.database.close()


def shown(road: Road, code: str) -> str:
    answer = road.browser.get(f"/desk/find/{code}/custody")
    assert answer.status_code == 200
    return answer.get_data(as_text=True)


def act(road: Road, code: str, name: str, **form) -> int:
    page = road.browser.get(f"/desk/find/{code}/custody")
    html = page.get_data(as_text=True)
    based = {"seen": len(shelf(road).trail(code).events), "turn": turn(html)}
    data = {"csrf_token": token(page), "at": "", "state": "", **based, **form}
    return road.browser.post(f"/desk/find/{code}/custody/{name}", data=data).status_code


def turn(html: str) -> str:
    found = re.search(r'name="turn" value="(\d+)"', html)
    return found[1] if found else "0"


def shelf(road: Road) -> CustodyShelf:
    return CustodyShelf(road.intake.database)


def holders(road: Road, code: str) -> list[tuple[str, ...]]:
    return [s.holders for s in shelf(road).trail(code).specimens]


def reasons(road: Road) -> list[str]:
    rows = Desk(road.intake.database).review_list(road.clock())
    return [reason for row in rows for reason in row.reasons]


def test_the_page_shows_who_has_what_since_when(road: Road) -> None:
    code = road.collected()
    page = shown(road, code)
    assert "Nell Abbery" in page
    assert "the hunter to Nell Abbery" in page.replace("The hunter", "the hunter")
    assert "frozen" in page


def test_before_anything_is_collected_the_page_says_so(road: Road) -> None:
    assert "The trail begins when somebody collects the head" in shown(road, road.find())


def test_there_is_no_page_for_a_find_that_is_none(road: Road) -> None:
    assert road.browser.get("/desk/find/K7R-4TX/custody").status_code == 404


def test_nobody_sees_or_does_anything_without_a_log_in(road: Road) -> None:
    code = road.collected()
    paths = (f"/desk/find/{code}/custody", f"/desk/find/{code}/custody/labels-roll.pdf",
             "/desk/laboratory", "/desk/laboratory/manifest.csv")  # fmt: skip
    assert {road.passer_by.get(path).status_code for path in paths} == {302}
    form = {"csrf_token": token(road.passer_by.get("/log-in")), "giver": "f1", "receiver": "f2"}
    road.passer_by.post(f"/desk/find/{code}/custody/hand-over", data={**form, "seen": 1})
    assert holders(road, code) == [("f1",)]


def test_a_hand_over_and_a_contradiction_are_both_kept(road: Road) -> None:
    code = road.collected()
    assert act(road, code, "hand-over", giver="f1", receiver="f2", place=SPITE) == 303
    assert holders(road, code) == [("f2",)]
    assert act(road, code, "hand-over", giver="f3", receiver=HANDED_IN) == 303
    assert holders(road, code) == [("f2", HANDED_IN)]
    page = shown(road, code)
    assert "Two have it at once" in page
    assert "<script>alert" not in page
    assert "custody_two_hold" in reasons(road)
    assert act(road, code, "settle", receiver=HANDED_IN, words="rang Tom") == 303
    assert holders(road, code) == [(HANDED_IN,)]
    assert "custody_two_hold" not in reasons(road)


def test_what_is_lost_from_sight_is_a_gap_on_the_list(road: Road) -> None:
    code = road.collected()
    assert act(road, code, "hand-over", giver="f1", receiver="lost") == 303
    assert holders(road, code) == [()]
    assert "custody_gap" in reasons(road)


def test_a_page_that_is_overtaken_changes_nothing(road: Road) -> None:
    code = road.collected()
    assert act(road, code, "hand-over", giver="f1", receiver="f2", seen=0) == 409
    assert holders(road, code) == [("f1",)]


@pytest.mark.parametrize(("name", "form"), [
    ("hand-over", {"giver": "f1", "receiver": "f2", "state": "lukewarm"}),
    ("hand-over", {"giver": "f1", "receiver": "f2", "at": "2027-01-01T10:00"}),
    ("hand-over", {"giver": "f1", "receiver": "f2", "at": "soon"}),
    ("hand-over", {"giver": "f1", "receiver": "f2", "container": "M4C-9RJ"}),
    ("settle", {"receiver": ""}),
    ("hand-over", {"giver": "f1", "receiver": ""}),
    ("lab", {"status": "final", "outcome": ""}),
    ("lab", {"status": "received", "outcome": "negative"}),
    ("lab", {"status": "amended", "outcome": "negative"}),
    ("jaw", {"how": "eaten"}),
    ("unlabelled", {"finds": "", "part": "head", "receiver": "f1"}),
])  # fmt: skip
def test_a_form_that_makes_no_sense_says_why_and_changes_nothing(road, name, form) -> None:
    code = road.collected()
    assert act(road, code, name, **form) == 400
    assert len(shelf(road).trail(code).events) == 1


def test_containers_get_codes_and_go_their_own_ways(road: Road) -> None:
    code = road.collected()
    assert act(road, code, "add", part="nodes", receiver="", state="chilled") == 303
    assert act(road, code, "add", part="jaw", receiver="f1") == 303
    assert (
        act(road, code, "hand-over", container=f"{code}/1", giver="f1", receiver=LABORATORY) == 303
    )
    assert holders(road, code) == [("f1",), (LABORATORY,), ("f1",)]
    assert f"{code}/2" in shown(road, code)


def test_a_head_without_a_label_stands_on_both_finds_until_it_is_decided(road: Road) -> None:
    code = road.collected()
    other = road.text("ANOTHER. sow with pus in the jaw gland at Brindle Creek yesterday 5pm")
    assert other != code
    assert act(road, code, "unlabelled", finds=other, part="head", receiver="f1") == 303
    (root,) = {s.code for s in shelf(road).specimens()} - {code}
    for find in (code, other):
        assert root in shown(road, find)
        assert "whose head it is, a person must decide" in shown(road, find)
    form = {"container": root, "find": other, "seen": 1}
    assert act(road, other, "decide", **form) == 303
    assert root not in shown(road, code)


def test_a_result_waits_for_authority_and_approval(road: Road) -> None:
    code = road.collected()
    road.text(f"handed in {code}", NELL)
    assert act(road, code, "lab", status="final", outcome="positive", lab_number="L-1") == 303
    assert act(road, code, "approve") == 409
    assert "Waits until the authority has been told" in shown(road, code)
    assert act(road, code, "authority-told") == 303
    assert act(road, code, "approve") == 303
    assert "the hunter has been told" in shown(road, code)


def test_the_jaw_is_released_by_a_person(road: Road) -> None:
    code = road.collected()
    road.text(f"handed in {code}", NELL)
    assert "(wanted back)" in shown(road, code)
    assert act(road, code, "jaw", how="sent") == 303
    assert "sent to the hunter" in shown(road, code)


def test_labels_name_what_the_trade_asks_for(road: Road) -> None:
    pdfplumber = pytest.importorskip("pdfplumber")
    code = road.collected()
    act(road, code, "add", part="nodes", receiver="")
    for kind in ("roll", "a4"):
        answer = road.browser.get(f"/desk/find/{code}/custody/labels-{kind}.pdf")
        assert answer.mimetype == "application/pdf"
        with pdfplumber.open(io.BytesIO(answer.data)) as pdf:
            text = " ".join(p.extract_text() for p in pdf.pages).replace("\n", " ")
        for said in (code, f"{code}/1", "nodes", "boar", "Brindle Hut", "Sat 21 Nov", "Nell Abbery",
                     "frozen: 2026-11-26", "triple packaging", "03 5550 0175"):  # fmt: skip
            assert said in text, said
        assert "Dave" not in text, "no hunter's name goes round on a label"
    assert road.browser.get(f"/desk/find/{code}/custody/labels-tape.pdf").status_code == 404


def results(road: Road, text: str, path: str = "results") -> tuple[int, str]:
    page = road.browser.get("/desk/laboratory")
    form = {"csrf_token": token(page), "text": text}
    answer = road.browser.post(f"/desk/laboratory/{path}", data=form)
    return answer.status_code, answer.get_data(as_text=True)


HEAD = "code,status,lab_number,result,date,note\n"


def test_the_manifest_lists_what_is_on_its_way(road: Road) -> None:
    code = road.collected()
    answer = road.browser.get("/desk/laboratory/manifest.csv")
    head, row = csv.reader(io.StringIO(answer.get_data(as_text=True).removeprefix("\ufeff")))
    assert head == list(MANIFEST)
    cells = dict(zip(head, row, strict=True))
    assert (cells["code"], cells["species"], cells["state"]) == (code, "boar", "frozen")
    assert float(cells["lat"]) == pytest.approx(-36.87, abs=0.001)
    assert HUNTER not in answer.get_data(as_text=True)
    assert "Dave" not in answer.get_data(as_text=True)
    assert road.browser.get("/desk/laboratory/manifest.pdf").data[:5] == b"%PDF-"


def test_a_file_is_shown_first_and_kept_once(road: Road) -> None:
    code = road.collected()
    road.text(f"handed in {code}", NELL)
    file = f"{HEAD}{code},received,L-7,,,\n{code},final,L-7,negative,,\n"
    status, page = results(road, file)
    assert (status, "Keep 2 new lines" in page) == (200, True)
    assert len(shelf(road).trail(code).events) == 2, "nothing is kept by looking"
    assert "2 lines kept" in results(road, file, "results/keep")[1]
    assert shelf(road).trail(code).specimens[0].outcome == "negative"
    assert "Nothing in it is new" in results(road, file)[1]
    assert "Nothing was new" in results(road, file, "results/keep")[1]
    assert len(shelf(road).trail(code).events) == 4


def test_with_one_fault_nothing_of_a_file_is_kept(road: Road) -> None:
    code = road.collected()
    file = f"{HEAD}{code},received,L-7,,,\n{code},final,L-7,maybe,,\n"
    _, page = results(road, file)
    assert "Line 3, result" in page
    assert "Keep" not in page
    assert results(road, file, "results/keep")[0] == 409
    assert len(shelf(road).trail(code).events) == 1


def test_a_file_may_be_sent_as_a_file(road: Road) -> None:
    code = road.collected()
    page = road.browser.get("/desk/laboratory")
    file = io.BytesIO(f"\ufeff{HEAD}{code},received,L-7,,,\n".encode())
    form = {"csrf_token": token(page), "file": (file, "results.csv"), "text": ""}
    answer = road.browser.post("/desk/laboratory/results", data=form)
    assert "Keep 1 new line" in answer.get_data(as_text=True)
