"""An age by text: from staff only, kept as a saying, answered in words, never guessed."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import select

from bot.commands.loading import loaded_dialog, loaded_programme
from bot.evidence.ageing import load_teeth
from bot.messages import Heard
from bot.service import tables
from bot.service.ages import ages_of
from bot.service.roster import import_roster
from bot.service.wiring import open_intake
from bot.shipped import dialog_files
from bot.talk.segments import MOST_SEGMENTS, segments_of

AT = datetime(2026, 11, 16, 19, 30, tzinfo=UTC)
PROGRAMME, DIALOG = loaded_programme(None), loaded_dialog(None)
STAFF = next(m for m in PROGRAMME.roster if m.role == "field")
HUNTER = "+61491570006"
PIG = (
    "sow, pus in the jaw gland, shot 5am today, 36 52.2 S 147 09.1 E, "
    "head in the freezer at Brindle Hut"
)
DEER = "red stag shot 5am today at -36.70 147.20, pus in the throat gland, head is in the ute"


class Line:
    """A database with the roster, and one way to text and to see the latest answer."""

    def __init__(self, database):
        import_roster(database, PROGRAMME.roster)
        self.database, self.intake, self.count = (
            database,
            open_intake(database, DIALOG, PROGRAMME),
            0,
        )

    def text(self, body, number=HUNTER):
        self.count += 1
        at = AT + timedelta(minutes=self.count)
        return self.intake.hear(Heard(f"t{self.count}", "paddock", number, body, at), at)

    def told(self, number=STAFF.number):
        out = tables.TextOut
        query = select(out.body).where(out.number == number).order_by(out.id.desc())
        with self.database.read() as connection:
            return connection.scalars(query).first() or ""

    def ages(self, code):
        with self.database.read() as connection:
            return ages_of(connection, code)


@pytest.fixture
def line(sqlite):
    return Line(sqlite)


def test_what_the_teeth_show_is_kept_and_answered(line):
    code = line.text(PIG).code
    line.text(f"age {code.lower()}: last molar three cusps, permanent premolars", STAFF.number)
    (told,) = line.ages(code)
    assert (told.by, told.how, told.species) == (STAFF.id, "teeth", "pig")
    assert told.answers == {"molars": "third_complete", "last_premolar": "two"}
    assert "26 months or more" in line.told(), "union of the three tables, trade figures 1.2"
    line.text(f"AGE {code} no molars yet, front milk", STAFF.number)
    assert "0 to 6 months" in line.told()
    assert len(line.ages(code)) == 2


@pytest.mark.parametrize(
    ("body", "words"),
    [
        ("age {code} about two years", 'can\'t read "about two years"'),
        ("age {code}", "Nothing was answered"),
        ("age {code} molars none, premolars permanent", "do not go together"),
        ("age K7R-4TX second molar", "no find by that code"),
        ("age second molar", "no find by that code"),
    ],
)
def test_what_cannot_be_read_is_asked_and_not_kept(line, body, words):
    code = line.text(PIG).code
    line.text(body.format(code=code), STAFF.number)
    assert words in line.told()
    assert line.ages(code) == ()


def test_deer_must_be_named(line):
    code = line.text(DEER).code
    line.text(f"age {code} third molar complete, front all four", STAFF.number)
    assert "say which one it is" in line.told()
    line.text(f"age {code} red deer, third molar complete, front all four", STAFF.number)
    assert "42 months or more" in line.told(), "Azorit et al. 2002: complete at 42 to 44 months"


def test_a_hunter_is_never_heard_so(line):
    code = line.text(PIG).code
    line.text(f"age {code} second molar", "+61491571266")
    line.text(f"age {code} second molar")
    assert line.ages(code) == ()
    for number in (HUNTER, "+61491571266"):
        assert "molar" not in line.told(number)
        assert "AGE" not in line.told(number)


def test_it_answers_no_offer_and_is_held_for_none(line):
    code = line.text(PIG).code
    numbers = [m.number for m in PROGRAMME.roster if f"Pickup {code}" in line.told(m.number)]
    line.text("age xx", numbers[0])
    line.text(f"yes {code}", numbers[0])
    assert f"{code} is yours" in line.told(numbers[0])
    text = tables.TextIn
    with line.database.read() as connection:
        claimed = connection.scalar(select(text.conversation_id).where(text.body == "age xx"))
    assert claimed is None


def test_every_text_keeps_to_two_segments(line):
    texts = load_teeth(dialog_files()["teeth.toml"]).texts
    code = line.text(PIG).code
    line.text(f"age {code} " + "long words that nobody can read " * 12, STAFF.number)
    assert segments_of(line.told()) <= MOST_SEGMENTS
    assert line.told().endswith("Never open a bagged head for it.")
    assert segments_of(texts.no_code) <= MOST_SEGMENTS
