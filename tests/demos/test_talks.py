"""Every shipped transcript goes as it is written, and no text in any of them breaks our rules.

The rules on wording are those that keep people safe: no verdict on meat, no
diagnosis, no drug, no disinfectant, nobody told to open a lump.
"""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from shipped_talks import FILES, TALKS

from bot.commands.replay import differences, replayed
from bot.demo.figures import cost
from bot.demo.transcript import Line, Transcript, parse, write
from bot.programme import Programme, e164
from bot.talk.dialog import Dialog
from bot.talk.segments import is_gsm7, segments_of


def test_a_talk_goes_as_it_is_written(talk: Transcript, programme: Programme, dialog: Dialog):
    played, faults = replayed(talk, programme, dialog)
    assert "\n".join(differences(talk, played)) == ""
    assert faults == ()
    assert talk.facts, "a talk must say what comes of it"


@pytest.mark.parametrize("file", FILES, ids=lambda f: f.stem)
def test_a_file_stands_as_the_writer_writes_it(file):
    assert write(parse(file.read_text(encoding="utf-8"))) == file.read_text(encoding="utf-8")


def test_no_text_costs_more_than_two_segments(talk: Transcript):
    assert [line.body for line in talk.lines if line.by_bot and segments_of(line.body) > 2] == []
    assert all(is_gsm7(line.body) for line in talk.lines if line.by_bot)


def to_reporter(talk: Transcript) -> list[Line]:
    reporter = talk.script[0].who
    own = {"", *(p.key for p in talk.people), reporter}
    written = {line.body for line in talk.script if line.act == "writes"}
    return [x for x in talk.lines if x.by_bot and x.to in own and x.body not in written]


KEPT_FOR = re.compile("to track disease|para seguir enfermedades|pour suivre les maladies")


def test_who_keeps_the_data_is_said_once(talk: Transcript):
    assert sum(len(KEPT_FOR.findall(said.body)) for said in to_reporter(talk)) == 1


SIGNS = re.compile(
    r"\b(pus|lump[sy]?|abscess|blisters?|swollen|dead pig|not right|cheesy|hinchados|abcès)\b"
)
ADVICE = re.compile(
    r"Stop cutting|Stop there|Leave it where it lies|Don't touch|Deje de cortar|Arretez de couper"
)


def test_advice_comes_with_the_first_answer_and_before_any_question(talk: Transcript):
    first = talk.script[0]
    assert SIGNS.search(first.body) or "clear" in first.body or "clean" in first.body
    if not SIGNS.search(first.body):
        return
    answers = " ".join(x.body for x in to_reporter(talk) if x.at == first.at)
    found = ADVICE.search(answers)
    assert found, answers
    assert "?" not in answers[: found.start()].replace("No bags?", "").replace("No freezer?", "")


FORBIDDEN = {
    "a verdict on meat": r"\b(safe|fit|fine|ok|okay|good) to (eat|use|feed)|can (still )?eat"
    r"|apt[ao] para|puede comer|propre à la|pouvez (en )?manger|sans danger|sin peligro",
    "a way of cooking": r"\bcook|degrees C|trim|cocin|cocer|cuire|cuisez",
    "a diagnosis": r"\b(tb|tuberculosis|bovis|brucell\w*|anthrax|\w+ fever|foot and mouth|cwd)\b",
    "a likelihood": r"\bprobably|likely|nothing to worry|harmless|don't worry|probable|sans doute",
    "a drug": r"\b(antibiotic|penicillin|isoniazid|paracetamol|ibuprofen|tablets?|medicine)"
    r"|antibi[oó]tic|pastilla|comprimé|médicament",
    "a disinfectant": r"\b(bleach|disinfect\w*|chlorine|alcohol|iodine|peroxide|sanitis\w*)"
    r"|lej[ií]a|desinfe|désinfe|javel|alcool",
    "opening a lump": r"(?<!don't )\b(open|cut|squeeze|slice) (the |a )?(lump|gland)",
    "doubting a report": r"only if you are sure|unless (you are|you're) sure|false alarm",
    "permission to hunt": r"permission|licen[cs]e|permit|permis\b|permiso de caza",
    "legal notice": r"counts as (legal )?notice|legal duty is done",
}  # fmt: skip


@pytest.mark.parametrize("what", FORBIDDEN)
def test_nothing_forbidden_is_ever_said(what: str):
    for name, talk in TALKS.items():
        for line in to_reporter(talk):
            assert not re.search(FORBIDDEN[what], line.body, re.IGNORECASE), f"{name}: {line.body}"


def test_the_rules_on_wording_can_fail():
    bad = "It is safe to eat if you cook it; open the lump. Probably TB: take a tablet, use bleach."
    caught = [what for what, rule in FORBIDDEN.items() if re.search(rule, bad, re.IGNORECASE)]
    assert len(caught) == 7


PROMPT = {
    "08-found-dead-with-blood-at-the-nose": "Ring 1800 160 401 now",
    "10-blisters-on-a-mouth": "Ring 1800 160 401 now",
    "25-a-hunter-who-is-lost": "call 000 now",
    "09-a-cut-finger": "see a doctor today",
}


@pytest.mark.parametrize(("name", "says"), PROMPT.items())
def test_what_cannot_wait_is_in_the_very_first_text(name: str, says: str):
    assert says in to_reporter(TALKS[name])[0].body


def test_no_pickup_opens_by_itself_but_for_a_sign_in_the_head():
    for name in ("08-found-dead-with-blood-at-the-nose", "10-blisters-on-a-mouth"):
        assert dict(TALKS[name].facts)["pickup"] == "none"
    lungs = TALKS["26-lumps-on-the-lungs"]
    sent = next(line.at for line in lungs.script if line.act == "sends")
    assert all(line.at >= sent for line in lungs.lines if line.to == "f3")


def test_a_full_first_text_costs_three_texts_with_who_comes():
    """In English; the same words are longer in Spanish and French, and may take a fourth."""
    full = {name: cost(talk) for name, talk in TALKS.items() if cost(talk).full}
    assert len(full) >= 5
    longer = {name for name, c in full.items() if c.known > 3}
    assert longer <= {"60-en-espanol-de-una-vez", "62-en-francais-d-un-coup"}
    assert all(c.known <= 4 for c in full.values())


def test_the_talks_follow_one_another_so_that_one_clock_can_play_them():
    end = None
    for name, talk in TALKS.items():
        assert end is None or talk.starts >= end, name
        end = talk.starts + talk.lines[-1].at
        assert all(a.at <= b.at for a, b in zip(talk.script, talk.script[1:], strict=False))


def test_every_number_is_kept_for_fiction(programme: Programme):
    """Australia: ACMA's numbers for radio, books, film and TV (from memory, not read at their
    source). Great Britain: Ofcom, 07700 900000 to 900999."""
    mobiles = {
        "0491570": "006 156 157 158 159 110 313 737", "0491571": "266 491 804",
        "0491572": "549 665 983", "0491573": "770 087", "0491574": "118 632",
        "0491575": "254 789", "0491576": "398 801", "0491577": "426 644",
        "0491578": "957 148 888", "0491579": "212 760 455",
    }  # fmt: skip
    kept = {e164(start + end, "AU") for start, ends in mobiles.items() for end in ends.split()}
    kept |= {f"+447700900{n:03d}" for n in range(1000)}
    for talk in TALKS.values():
        assert {e164(p.number, "AU") for p in talk.people} <= kept, talk.title
    fixed = re.compile(r"\+61[2378](5550|7010)\d{4}")
    assert all(m.number in kept or fixed.fullmatch(m.number) for m in programme.roster)


def test_twenty_talks_and_the_named_ones_are_there():
    assert len(TALKS) >= 20
    assert max(talk.lines[-1].at for talk in TALKS.values()) > timedelta(days=2)
