"""`bushpost evidence`: from texts in a database to one zone's JSON."""

from __future__ import annotations

import json
from datetime import UTC, datetime

import pytest

from bot.__main__ import main
from bot.commands.loading import loaded_dialog, loaded_programme
from bot.messages import Heard
from bot.service.database import open_database
from bot.service.wiring import open_intake

AT = datetime(2026, 11, 16, 19, 30, tzinfo=UTC)


@pytest.fixture(scope="module")
def address(tmp_path_factory) -> str:
    """A database with one clean find in Tallow North and a suspect one in Tallow South."""
    address = f"sqlite:///{tmp_path_factory.mktemp('evidence') / 'b.sqlite3'}"
    database = open_database(address)
    intake = open_intake(database, loaded_dialog(None), loaded_programme(None))
    for number, (sender, body) in enumerate(
        [
            ("+61491573770", "all six glands clear, boar shot 5am today, -36.766 147.119"),
            ("+61491570006", "sow shot 5am today at -37.20 147.20, pus in the jaw gland"),
        ]
    ):
        intake.hear(Heard(f"t{number}", "paddock", sender, body, AT), AT)
    database.close()
    return address


def ask(address, zone="Tallow North", until="2026-11-25", *more):
    return main(["evidence", "--zone", zone, "--until", until, "--database", address, *more])


def test_a_zone_as_json(address, capsys):
    assert ask(address, "Tallow North", "2026-11-25", "--cell-km", "2") == 0
    account = json.loads(capsys.readouterr().out)
    assert account["result"]["zone"] == "Tallow North"
    assert account["result"]["animals"] == 1
    assert 0 < account["result"]["sse"] < 0.2
    assert account["result"]["assumptions"]["pstar"] == 0.01
    assert set(account["result"]["moves"]) == {"pstar", "reach", "catch", "se", "prior", "p_intro"}
    assert account["until"] == "2026-11-26T00:00:00+11:00"
    assert account["unplaced"] == []


def test_assumptions_can_be_set(address, capsys):
    assert ask(address, "Tallow North", "2026-11-25", "--cell-km", "2", "--catch", "0.4") == 0
    doubled = json.loads(capsys.readouterr().out)
    assert doubled["result"]["assumptions"]["catch"] == 0.4


def test_what_is_not_given_is_the_programmes_own(address, capsys, tmp_path):
    """The command and the page must not disagree about the same zone."""
    folder = tmp_path / "programme"
    folder.mkdir()
    for name, text in loaded_programme(None).files.items():
        (folder / name).write_text(text)
    with (folder / "programme.toml").open("a") as file:
        file.write("\n[evidence]\npstar = 0.02\ncell_km = 2\nprior = 0.4\n")
    assert (
        ask(address, "Tallow North", "2026-11-25", "--programme", str(folder), "--catch", "0.1")
        == 0
    )
    account = json.loads(capsys.readouterr().out)
    assumed = account["result"]["assumptions"]
    assert (assumed["pstar"], assumed["prior"], assumed["catch"]) == (0.02, 0.4, 0.1)
    assert account["cell_km"] == 2


def test_a_zone_with_an_open_suspect_has_no_probability(address, capsys):
    assert ask(address, "Tallow South", "2026-11-25", "--cell-km", "2") == 0
    account = json.loads(capsys.readouterr().out)
    assert account["result"]["pending"] == 1
    assert account["result"]["pfree"] is None
    assert "still waiting for the laboratory" in account["sentences"][0]


@pytest.mark.parametrize(
    ("arguments", "named"),
    [
        (("Nowhere",), "--zone: no 'Nowhere' here, but Tallow North, Tallow South"),
        (("Tallow North", "tomorrow"), "--until: 'tomorrow'"),
        (("Tallow North", "2026-11-25", "--pstar", "2"), "pstar: 2 is not between 0 and 1"),
        (("Tallow North", "2026-11-25", "--cell-km", "0"), "cell_km"),
    ],
)
def test_what_is_at_fault_is_one_line(address, capsys, arguments, named):
    assert ask(address, *arguments) == 2
    said = capsys.readouterr()
    assert named in said.err
    assert said.err.count("\n") == 1
    assert not said.out
