"""Each finding of `check` is provoked by one change to what is shipped, and only by it."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping

import pytest

from bot.__main__ import main
from bot.checking import Finding, check, check_tracks
from bot.fieldwork.staff_dialog import load_staff_dialog
from bot.programme import load_programme, read_folder
from bot.shipped import dialog_files, shipped
from bot.talk.dialog import load_dialog

DIALOGS = dialog_files()
FOLDER = read_folder(shipped("demo_conversations") / "programme")
Files = Mapping[str, str]


def findings(dialogs: Files = DIALOGS, folder: Files = FOLDER) -> tuple[Finding, ...]:
    dialog = load_dialog(dialogs)
    return check(dialog, load_staff_dialog(dialogs), load_programme(folder))


def changed(files: Files, name: str, old: str, new: str) -> Files:
    assert old in files[name], f"{name} no longer holds {old!r}"
    return {**files, name: files[name].replace(old, new, 1)}


SPOKEN = 'languages = ["en", "es", "fr"]'
ENGLISH = changed(FOLDER, "programme.toml", SPOKEN, 'languages = ["en"]')
SLIM = {n: t for n, t in DIALOGS.items() if not n.endswith(("/es.toml", "/fr.toml"))}
"""English alone, which loads in a third of the time."""


def dialog(name: str, old: str, new: str) -> Callable[[], tuple[Finding, ...]]:
    return lambda: findings(changed(SLIM, name, old, new), ENGLISH)


def folder(name: str, old: str, new: str) -> Callable[[], tuple[Finding, ...]]:
    return lambda: findings(folder=changed(FOLDER, name, old, new))


def with_spanish(old: str, new: str) -> Callable[[], tuple[Finding, ...]]:
    def run() -> tuple[Finding, ...]:
        spoken = changed(FOLDER, "programme.toml", SPOKEN, 'languages = ["en", "es"]')
        return findings(changed(DIALOGS, "languages/es.toml", old, new), spoken)

    return run


SHIPPED = frozenset(findings())
ASKED = 'ask_when = {kind = ["head"]}'
CREEK, HUT_AGAIN = "Dunnart Creek,-36.9050,147.0330", "Brindle Hut,-36.8701,147.1501"
DONE = 'all_done = "'
LONG = "Only the position from your telephone will really do, so please send us that one now. " * 4


def test_what_is_shipped_has_no_error_and_one_landmark_that_is_asked_about():
    assert [f for f in SHIPPED if f.weight == "error"] == []
    assert [f.what.split(",")[0] for f in SHIPPED] == ["'sandy creek' names two places"]


def test_every_shipped_language_is_whole():
    assert SPOKEN in FOLDER["programme.toml"]
    assert [f for f in SHIPPED if f.where.startswith(("say.", "languages/"))] == []


@pytest.mark.parametrize(
    ("run", "where", "what"),
    [
        (dialog("report.toml", ASKED, 'ask_when = {kind = ["heads"]}'),
         "question head_at", "never asked: kind is never heads"),
        (dialog("report.toml", ASKED, 'ask_when = {mood = ["good"]}'),
         "question head_at", "no fact 'mood'"),
        (dialog("report.toml", ASKED, 'ask_when = {kind = ["head", "hed"]}'),
         "question head_at", "kind is never hed"),
        (dialog("report.toml", 'key = "jaw"', 'key = "name"'), "question name", "stands 2 times"),
        (dialog("report.toml", "tries = 2", "tries = 0"), "question seen", "tries is below 1"),
        (dialog("report.toml", 'too_old = "That is a while ago."', ""),
         "say.why.too_old", "no sentence"),
        (dialog("report.toml", 'ask = "When', f'ask = "{LONG} When'), "when.ask (en)", "segments"),
        (dialog("report.toml", "That's all we need", "That's all we need, дома"),
         "all_done (en)", "outside GSM-7"),
        (dialog("report.toml", "That's all we need", "That's all we need {mate}"),
         "say.all_done", "nothing fills {mate}"),
        (dialog("staff.toml", "Your part is done.", "Your part is done, дома."),
         "staff.handed_in_noted (en)", "outside GSM-7"),
        (with_spanish('all_done = "', 'all_do = "'), "say.all_done", "not translated"),
        (with_spanish('all_done = "', 'all_done = "{code} '), "say.all_done", "names {code}"),
        (with_spanish("{staff} ya ha ido", "Ya ha ido"), "say.news_collected_visit", "leaves out"),
        (with_spanish(DONE, f'spare = "x"\n{DONE}'), "say.spare", "no such sentence"),
        (folder("programme.toml", SPOKEN, 'languages = ["en", "sv"]'),
         "languages/sv.toml", "missing"),
        (folder("staff.csv", "-36.72,147.05,90", "-35.72,147.05,40"), "f1", "out of every zone"),
        (folder("staff.csv", "-36.72,147.05,90", "-36.42,147.05,90"), "f1", "out of every zone"),
        (folder("staff.csv", "0491 570 157", "0491 570 156"), "staff.csv", "the same number"),
        (folder("landmarks.csv", CREEK, HUT_AGAIN),
         "landmarks.csv", "listed twice for one spot"),
    ],
)  # fmt: skip
def test_each_finding_is_provoked(run: Callable[[], tuple[Finding, ...]], where: str, what: str):
    new = set(run()) - SHIPPED
    assert any(where in f.where and what in f.what for f in new), new


@pytest.mark.parametrize("role", ["field", "coordinator"])
def test_nobody_of_a_role_is_found(role: str):
    rows = [r for r in FOLDER["staff.csv"].splitlines() if f",{role}," not in r]
    new = findings(folder={**FOLDER, "staff.csv": "\n".join(rows) + "\n"})
    assert any(f"nobody with the role {role}" in f.what for f in new)


def test_the_command_prints_findings_and_one_line(capsys):
    assert main(["check"]) == 0
    *found, last = capsys.readouterr().out.splitlines()
    assert [row.split(":")[0] for row in found] == ["warning"]
    assert last.endswith("0 errors, 1 warnings")


def test_every_sentence_is_shown_with_its_price(capsys):
    assert main(["check", "--all"]) == 0
    assert any(row.startswith("2  en  kind.head") for row in capsys.readouterr().out.splitlines())


def test_an_error_gives_exit_code_1_and_a_broken_file_2(tmp_path, capsys):
    for name, text in FOLDER.items():
        (tmp_path / name).write_text(text)
    (tmp_path / "staff.csv").write_text(FOLDER["staff.csv"].splitlines()[0] + "\n")
    assert main(["check", str(tmp_path)]) == 1
    (tmp_path / "staff.csv").write_text("id,name\n")
    assert main(["check", str(tmp_path)]) == 2
    assert "staff.csv: line 1: no column" in capsys.readouterr().err
    assert main(["check", str(tmp_path / "nowhere")]) == 2


def test_tracks_that_lead_nowhere_and_a_base_far_from_all_are_warned_of():
    parts = ([[147.0, -36.7], [147.1, -36.7]], [[147.3, -36.9], [147.4, -36.9]])
    shapes = [{"type": "LineString", "coordinates": part} for part in parts]
    features = [{"properties": {"class": "track"}, "geometry": shape} for shape in shapes]
    tracks = json.dumps({"features": features})
    programme = load_programme({**FOLDER, "tracks.geojson": tracks})
    found = [(f.weight, f.where, f.what) for f in check_tracks(programme)]
    assert found[0] == ("warning", "tracks.geojson", "1 stretches are cut off from the rest")
    far = {what.partition(":")[0] for _, where, what in found if where == "staff.csv"}
    assert far == {"f2", "f3", "f4", "f5", "f6", "f7"}
    assert list(check_tracks(load_programme(FOLDER))) == []
