"""A changed dialog on stored talks: what parts is shown, nothing is sent, bad zips are refused."""

from __future__ import annotations

import io
import time
import zipfile

import pytest
from sqlalchemy import func, select

from bot.messages import Text
from bot.service import tables as t
from bot.service.trial import Trial, dialog_in_zip
from bot.talk.dialog import DialogError, load_dialog
from bot.talk.state import Conversation
from bot.talk.trying import part, play
from tests.web.office import MATE, RICH, open_office, token_of
from tests.web.wires import DIALOG, NOW, PROGRAMME

FILE = "report.toml"
OLD = next(q.ask for q in DIALOG.questions if q.key == "when")
NEW = "On which day was that?"


def zipped(**files: str) -> bytes:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w") as archive:
        for name, text in files.items():
            archive.writestr(name, text)
    return held.getvalue()


def changed() -> str:
    text = DIALOG.files[FILE]
    assert text.count(OLD) == 1
    return text.replace(OLD, NEW)


def test_the_same_dialog_parts_nothing_and_a_changed_sentence_parts_where_it_is_said():
    new = load_dialog({**DIALOG.files, FILE: changed()})
    asked = (Text("lump in the jaw of a boar, near Brindle Hut", NOW, NOW),)
    full = (Text(RICH, NOW, NOW),)
    first = Conversation("K7R-4TR", NOW)
    assert part(first, asked, (DIALOG, DIALOG), PROGRAMME) is None
    assert part(first, full, (DIALOG, new), PROGRAMME) is None
    parting = part(first, asked, (DIALOG, new), PROGRAMME)
    assert any(row[0] == "-" and OLD in row for row in parting.diff)
    assert any(row[0] == "+" and NEW in row for row in parting.diff)
    assert parting.old.handovers == parting.new.handovers
    assert play(first, asked, DIALOG, PROGRAMME).segments >= 2


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"no zip at all",
        zipped(**{"readme.toml": "x = 1"}),
        zipped(**{FILE: "version = ["}),
        zipped(**{"../../dialogs/report.toml": "version = 1"}),
        zipped(**{FILE: "#" * 5_000_000}),
    ],
)
def test_a_zip_that_will_not_do_says_why(data):
    with pytest.raises(DialogError):
        dialog_in_zip(data, DIALOG)


@pytest.mark.parametrize("folder", ["", "dialogs/", "my work/dialogs/"])
def test_a_changed_file_lies_anywhere_in_the_zip(folder):
    new = dialog_in_zip(zipped(**{folder + FILE: changed()}), DIALOG)
    assert next(q.ask for q in new.questions if q.key == "when") == NEW
    assert new.files["desk.toml"] == DIALOG.files["desk.toml"]


@pytest.fixture
def office(tmp_path):
    with open_office(tmp_path) as office:
        office.text("lump in the jaw of a boar, near Brindle Hut")
        office.text(RICH, MATE)
        yield office


def counts(database):
    with database.read() as connection:
        return [
            connection.scalar(select(func.count()).select_from(table))
            for table in (t.TextOut, t.Event, t.Effect, t.Review, t.Timer, t.Conversation)
        ]


def test_history_is_tried_and_nothing_is_written(office):
    before = counts(office.database)
    trial = Trial(weeks=1)
    new = dialog_in_zip(zipped(**{FILE: changed()}), DIALOG)
    trial.run(office.database, (DIALOG, new), PROGRAMME, office.clock.at)
    assert (trial.total, trial.done, trial.over, trial.fault) == (2, 2, True, "")
    assert len(trial.partings) == 1
    assert counts(office.database) == before


def test_the_page_tries_an_uploaded_zip(office):
    ines = office.client("ines")
    form = {"csrf_token": token_of(ines.get("/desk/try/")), "weeks": "4"}
    bad = ines.post("/desk/try/", data={**form, "dialogs": (io.BytesIO(b"x"), "d.zip")})
    assert bad.status_code == 400
    held = io.BytesIO(zipped(**{"dialogs/report.toml": changed()}))
    assert ines.post("/desk/try/", data={**form, "dialogs": (held, "d.zip")}).status_code == 303
    for _ in range(100):
        page = ines.get("/desk/try/").get_data(as_text=True)
        if "What would have gone otherwise" in page:
            break
        assert 'http-equiv="refresh"' in page
        time.sleep(0.1)
    assert "<b>1</b> of 2 talks" in page
    assert NEW in page


def test_a_viewer_tries_nothing(office):
    assert office.client("vera").get("/desk/try/").status_code == 403
