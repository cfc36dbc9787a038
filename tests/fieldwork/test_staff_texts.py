"""Texts to staff: never over two segments, always GSM-7, and never without what they are for."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from bot.fieldwork.case import HEAVY, TIMED, WAY_IN
from bot.fieldwork.dispatch import Roster
from bot.fieldwork.pickups import move
from bot.fieldwork.replies import Ask, PassOn, ask_text
from bot.fieldwork.staff_dialog import (
    PLACEHOLDERS,
    StaffDialogError,
    load_staff_dialog,
)
from bot.fieldwork.staff_texts import job_values, offer_values, staff_text
from bot.fieldwork.state import Offer, pickup_of
from bot.messages import Opened, SendText
from bot.talk.segments import is_gsm7, segments_of
from tests.fieldwork.rosters import DIALOG, NOON, ORDER, PROGRAMME, programme

DETAINED = programme(head_may_move=False)
PICKUP = pickup_of("7K4T", ORDER)
OFFER = Offer("near", NOON, NOON, km=123.4, minutes=1234.5)
LONG = st.text(max_size=600) | st.lists(
    st.text(alphabet="aābcdéñ{}[]€ḗ漢 ", min_size=1, max_size=40), max_size=30
).map(" ".join)


@given(
    key=st.sampled_from([k for k in PLACEHOLDERS if not k.startswith("unsaid")]),
    place=LONG,
    what=LONG,
    contact=LONG,
    name=LONG,
    on=st.sampled_from([PROGRAMME, DETAINED]),
)
def test_two_segments_whatever_the_names(key, place, what, contact, name, on) -> None:
    pickup = replace(PICKUP, place_words=place, details=what, contact=contact, words=name)
    values = job_values(pickup, on) | offer_values(OFFER, on)
    values |= {"name": name, "codes": f"7K4T, {name}", "number": "3", "way": "1) 7K4T, 9 min."}
    text = staff_text(DIALOG, on, key, values)
    assert is_gsm7(text)
    assert segments_of(text) <= 2
    if "lat" in PLACEHOLDERS[key]:
        assert "-36.87000, 147.15000" in text
    if key == "offer":
        assert "YES 7K4T or NO 7K4T" in text


ADDED = {"whole_carcase": HEAVY, "access": WAY_IN, "best_by": TIMED}


@given(
    key=st.sampled_from(["offer", "assigned", "changed", "yours"]),
    access=LONG,
    also=st.sets(st.sampled_from(sorted(ADDED))),
    on=st.sampled_from([PROGRAMME, DETAINED]),
)
def test_two_segments_with_all_that_may_be_added(key, access, also, on) -> None:
    also = {sentence for sentence in also if key in ADDED[sentence]}
    code, contact = "WWWW-WWWW", "+000000000000000"
    pickup = replace(
        PICKUP, code=code, access=access, details="sow " * 30, contact=contact, best_by=NOON
    )
    values = job_values(pickup, on) | offer_values(OFFER, on)
    text = staff_text(DIALOG, on, key, values, tuple(k for k in ADDED if k in also))
    assert segments_of(text) <= 2
    assert ("WHOLE CARCASE" in text) == ("whole_carcase" in also)


def test_a_whole_carcase_is_offered_to_who_can_take_it_and_says_so() -> None:
    able = programme(
        "id,name,role,phone,lat,lon,whole_carcase\n"
        "near,Ada Birch,field,0491 570 156,-36.80,147.10,\n"
        "far,Cy Dunn,field,0491 570 158,-37.30,146.70,yes\n"
    )
    order = replace(ORDER, whole_carcase=True)
    roster = Roster(able.roster)
    pickup, effects = move(pickup_of("7K4T", order), Opened(NOON), roster, able, DIALOG)
    [offer] = [e.body for e in effects if isinstance(e, SendText)]
    assert [o.staff_id for o in pickup.offers] == ["far"]
    assert "WHOLE CARCASE to go: bring a vehicle for it and people to lift." in offer


def test_an_offer_in_full() -> None:
    values = job_values(PICKUP, PROGRAMME) | offer_values(OFFER, PROGRAMME)
    text = staff_text(DIALOG, PROGRAMME, "offer", values)
    for part in ("feral pig, lump", "Brindle Hut", "123 km", "1234 min", "0491 570 110", "12:00"):
        assert part in text


def test_what_was_not_said_is_not_left_blank() -> None:
    bare = replace(PICKUP, details="", contact=" ", place_words="")
    values = job_values(bare, PROGRAMME) | offer_values(OFFER, PROGRAMME)
    text = staff_text(DIALOG, PROGRAMME, "offer", values)
    for key in ("unsaid_what", "unsaid_contact", "unsaid_place"):
        assert DIALOG.texts["en"][key] in text


def test_where_the_law_detains_nothing_says_collect_or_head() -> None:
    for key in PLACEHOLDERS:
        template = DIALOG.template(key, ("en",), visit=True).lower()
        assert "collect" not in template, key
        assert "head" not in template, key


@pytest.mark.parametrize("why", ["which", "unsure", "meaning", "code", "report"])
def test_every_question_has_its_text(why) -> None:
    codes = tuple(f"{n}K4T" for n in range(9))
    for ask in (Ask(why, codes, "x"), PassOn(codes, "x")):
        text = ask_text(ask, DIALOG, PROGRAMME)
        assert "0K4T, 1K4T" in text
        assert segments_of(text) <= 2


# ------------------------------------------------------------------------------ the loader


def test_another_language_adds_words_and_has_its_own_texts(staff_toml: str) -> None:
    texts = "\n".join(f"{k} = '''{v}'''" for k, v in DIALOG.texts["en"].items())
    swedish = f'[staff.texts]\n{texts.replace("Thanks", "Tack")}\n[staff.words]\nyes = ["ja"]\n'
    files = {"staff.toml": staff_toml, "languages/sv.toml": swedish, "report.toml": "x = ["}
    dialog = load_staff_dialog(files)
    assert dialog.template("yours", ("sv", "en"), visit=False).startswith("Tack")
    assert dialog.template("yours", ("de",), visit=False).startswith("Thanks")
    assert dialog.words.phrases[("ja",)] == "yes"


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("\n[texts]\n", "\n[texts\n", "staff.toml"),
        ("called_off =", "called_of =", "staff.toml: texts.called_off: missing"),
        (
            "is handed in. Your",
            "is {handed} in. Your",
            "texts.handed_in_noted: no placeholder handed",
        ),
        (
            "{code} is called off",
            "It is called off",
            "texts.called_off: placeholder code is missing",
        ),
        ('ok = ["ok"', 'ok = ["OK!"', "words.ok: 'OK!' is not plain"),
        ('no = ["no"', 'no = ["yes"', "words.no: 'yes' stands under yes too"),
        ("not_codes =", "no_codes =", "words.no_codes: no such list"),
        ("'''\\bfirst thing", "'''(\\bfirst thing", "words.time"),
    ],
)
def test_a_fault_names_file_and_key(staff_toml: str, old: str, new: str, says: str) -> None:
    assert old in staff_toml
    with pytest.raises(StaffDialogError) as fault:
        load_staff_dialog({"staff.toml": staff_toml.replace(old, new, 1)})
    assert says in str(fault.value)


def test_no_dialog_at_all() -> None:
    with pytest.raises(StaffDialogError, match=r"staff\.toml is missing"):
        load_staff_dialog({})
