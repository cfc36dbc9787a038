"""The roster at the desk: who is on duty and why not, one member's duty changed, the CSV."""

from __future__ import annotations

import re
from datetime import date, timedelta

import pytest

from bot.fieldwork.dispatch import rank
from bot.folder.staff import read_roster
from bot.messages import Assigned, SendNow
from bot.service.roster import roster
from tests.web.office import RICH, token_of
from tests.web.wires import PROGRAMME

FORM = {
    "off_duty": "no",
    "days": ["0", "1", "4"],
    "from": "08:00",
    "to": "16:30",
    "leave_first": ["2026-12-20", ""],
    "leave_last": ["2027-01-05", ""],
    "on_call": ["5"],
    "call_from": "19:00",
    "call_to": "05:00",
    "reach_km": "75.5",
    "most_jobs": "4",
}
PAGE = "/desk/roster/f1"


def nell(office):
    with office.database.read() as connection:
        return roster(connection).by_id["f1"]


def save(client, **changes):
    page = client.get(PAGE)
    seen = re.search(r'name="seen" value="(\w+)"', page.get_data(as_text=True)).group(1)
    form = {"csrf_token": token_of(page), "seen": seen, **FORM, **changes}
    return client.post(PAGE, data=form)


def slip(client, key="f1", query=""):
    """One member's part of the list, without its marks."""
    page = client.get(f"/desk/roster/{query}").get_data(as_text=True)
    part = page[page.index(f'id="m-{key}"') :]
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", part[: part.index("</li>")]))


def test_the_list_says_who_is_on_duty_and_why_another_is_not(office, ines):
    """18:00 on Wednesday the 25th in Melbourne: Nell works till 20:00, Ruta till 18:00."""
    on, off = slip(ines), slip(ines, "f3")
    for said in ("Nell Abbery", "On duty", "Mon-Sun, 06:00-20:00", "90 km", "0491 570 156",
                 "Open jobs none", "MGA zone 55"):  # fmt: skip
        assert said in on, said
    assert "Off duty : outside his hours, next on Thu 26 Nov, 07:00" in off


def test_open_jobs_lead_to_the_round(office, ines):
    code = office.text(RICH)
    now = office.clock()
    office.intake.tell(code, SendNow(now, "ines"), now)
    office.intake.tell_pickup(code, Assigned(now, "ines", "f1"), now)
    assert "Open jobs 1" in slip(ines)
    page = ines.get(f"{PAGE}/round").get_data(as_text=True)
    assert "Round of Nell Abbery" in page
    assert f"/desk/find/{code}" in page
    assert ines.get("/desk/roster/nobody/round").status_code == 404


def test_what_is_changed_is_kept_and_counts_at_once(office, ines):
    assert save(ines).status_code == 303
    member = nell(office)
    assert (member.days, member.from_minute, member.to_minute) == ((0, 1, 4), 480, 990)
    assert member.leave == ((date(2026, 12, 20), date(2027, 1, 5)),)
    assert (member.on_call, member.call_from, member.call_to) == ((5,), 1140, 300)
    assert (member.reach_km, member.most_jobs, member.name) == (75.5, 4, "Nell Abbery")
    said = slip(ines)
    for words in ("Mon Tue Fri, 08:00-16:30", "Sat, 19:00-05:00", "none of 4 at most",
                  "20 Dec 2026 to 5 Jan 2027", "next on Fri 27 Nov, 08:00"):  # fmt: skip
        assert words in said, words


def test_whoever_is_taken_off_duty_is_asked_for_nothing(office, ines):
    save(ines, off_duty="yes", days=list("0123456"), **{"from": "", "to": ""})
    assert "Off duty : taken off duty" in slip(ines)
    assert "next on" not in slip(ines)
    with office.database.read() as connection:
        rows = rank(-36.72, 147.05, office.clock(), roster(connection), PROGRAMME)
    assert {row.member.id: row.why_not for row in rows}["f1"] == "off_duty"
    save(ines, off_duty="no", days=list("0123456"), **{"from": "", "to": ""})
    assert "On duty" in slip(ines)
    assert "Mon-Sun, all day" in slip(ines)


@pytest.mark.parametrize(("field", "value", "fault"), [
    ("days", [], "Tick at least one day"),
    ("from", "", "Give both times"),
    ("to", "25:00", "Give both times"),
    ("call_from", "late", "Give both times"),
    ("leave_first", ["20 Dec"], "Give the first day"),
    ("leave_first", [""], "Give the first day"),
    ("leave_last", ["2026-12-19"], "ends before it begins"),
    ("reach_km", "far", "no number within"),
    ("reach_km", "2001", "no number within"),
    ("reach_km", "nan", "no number within"),
    ("most_jobs", "2.5", "no number within"),
    ("most_jobs", "-1", "no number within"),
])  # fmt: skip
def test_a_wrong_field_is_named_and_nothing_typed_is_lost(office, ines, field, value, fault):
    before = nell(office)
    form = {"leave_first": ["2026-12-20"], "leave_last": ["2027-01-05"], field: value}
    answer = save(ines, **form)
    page = answer.get_data(as_text=True)
    assert answer.status_code == 400
    assert page.count(fault) == 2, "once at the top, once at the field"
    assert 'aria-invalid="true"' in page
    assert nell(office) == before
    (top,) = re.findall(r'<li><a href="#(f-[\w-]+)">', page)
    assert f'id="{top}"' in page
    kept = {**FORM, **form}
    for typed in ("reach_km", "most_jobs", "from", "to"):
        assert f'name="{typed}" value="{kept[typed]}"' in page
    assert f'name="leave_first" value="{form["leave_first"][0]}"' in page


def test_whoever_comes_second_is_told_and_keeps_his_words(office, ines):
    other = office.client("ada")
    token = token_of(ines.get(PAGE))
    seen = re.search(r'name="seen" value="(\w+)"', ines.get(PAGE).get_data(as_text=True)).group(1)
    assert save(other, reach_km="33").status_code == 303
    answer = ines.post(PAGE, data={"csrf_token": token, "seen": seen, **FORM, "reach_km": "44"})
    assert answer.status_code == 409
    assert 'value="44"' in answer.get_data(as_text=True)
    assert nell(office).reach_km == 33.0
    # The page that says so is based on the newest, so that it may be kept from there.
    seen = re.search(r'name="seen" value="(\w+)"', answer.get_data(as_text=True)).group(1)
    again = ines.post(PAGE, data={"csrf_token": token, "seen": seen, **FORM, "reach_km": "44"})
    assert again.status_code == 303


def test_a_form_without_its_token_changes_nothing(office, ines):
    before = nell(office)
    assert ines.post(PAGE, data=FORM).status_code == 400
    assert nell(office) == before


def test_a_viewer_sees_no_roster(office):
    vera = office.client("vera")
    for path in ("", "f1", "f1/round", "staff.csv"):
        assert vera.get(f"/desk/roster/{path}").status_code == 403


def test_changes_and_downloads_are_written_down(office, ines):
    save(ines)
    save(ines, reach_km="far")
    ines.get("/desk/roster/staff.csv")
    page = office.client("ada").get("/desk/people/audit?about=ines").get_data(as_text=True)
    assert page.count("changed somebody&#39;s duty") == 1
    assert page.count("saved the roster") == 1


def test_the_file_is_what_the_import_reads(office, ines):
    save(ines)
    answer = ines.get("/desk/roster/staff.csv")
    assert answer.mimetype == "text/csv"
    with office.database.read() as connection:
        people = roster(connection).members
    assert tuple(read_roster(answer.get_data(as_text=True), "AU")) == people
    assert len(people) == len(PROGRAMME.roster)


def test_somebody_is_found_by_name_or_number(office, ines):
    page = ines.get("/desk/roster/?for=0491570157").get_data(as_text=True)
    assert "Tom Quarrie" in page
    assert "Nell" not in page
    assert "Nobody of that name" in ines.get("/desk/roster/?for=zz").get_data(as_text=True)


def test_leave_that_is_over_is_not_shown_but_kept(office, ines):
    save(ines)
    office.clock.at += timedelta(days=60)
    ines = office.client("ines")
    assert "Leave" not in slip(ines)
    assert 'value="2026-12-20"' in ines.get(PAGE).get_data(as_text=True)
