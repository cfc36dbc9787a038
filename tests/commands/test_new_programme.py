"""A new programme's folder is clean as it stands, in any country, and overwrites nothing."""

from __future__ import annotations

import pytest

from bot.__main__ import main
from bot.commands.new_programme import city_of
from bot.programme import load_programme, read_folder


@pytest.mark.parametrize(
    ("country", "zone"),
    [
        ("AU", "Australia/Melbourne"),
        ("NZ", "Pacific/Auckland"),
        ("GB", "Europe/London"),
        ("ES", "Europe/Madrid"),
        ("US", "America/Chicago"),
        ("fr", "Europe/Paris"),
    ],
)
def test_a_new_folder_is_clean(tmp_path, capsys, country: str, zone: str):
    folder = tmp_path / "mine"
    assert main(["new-programme", str(folder), "--country", country, "--zone", zone]) == 0
    assert main(["check", str(folder)]) == 0
    assert capsys.readouterr().out.endswith("0 errors, 0 warnings\n")
    made = load_programme(read_folder(folder))
    assert (made.head.country, made.head.zone) == (country.upper(), zone)
    assert not made.head.law.head_may_move, "what the law allows is not guessed"


def test_every_setting_of_the_starter_is_explained(tmp_path):
    main(["new-programme", str(tmp_path), "--country", "AU", "--zone", "Australia/Hobart"])
    rows = (tmp_path / "programme.toml").read_text().splitlines()
    settings = [n for n, row in enumerate(rows) if " = " in row and not row.startswith("#")]
    assert len(settings) > 20
    for number in settings:
        before = rows[:number]
        while before and " = " in before[-1] and not before[-1].startswith("#"):
            before.pop()  # Two settings in a row may share what stands above them.
        assert before[-1].startswith("#"), rows[number]


@pytest.mark.parametrize(
    ("zone", "lat", "lon"),
    [
        # zone.tab of the tz database: +-DDMM+-DDDMM.
        ("Australia/Melbourne", -(37 + 49 / 60), 144 + 58 / 60),
        ("America/New_York", 40 + 42 / 60 + 51 / 3600, -(74 + 23 / 3600)),
    ],
)
def test_a_zones_city_is_where_the_zone_table_puts_it(zone: str, lat: float, lon: float):
    assert city_of(zone) == pytest.approx((lat, lon), abs=1e-6)


@pytest.mark.parametrize(
    ("country", "zone", "says"),
    [
        ("XX", "Australia/Melbourne", "--country"),
        ("AU", "Mars/Olympus", "--zone"),
        ("AU", "UTC", "--zone"),
    ],
)
def test_what_cannot_be_is_one_clear_line(tmp_path, capsys, country: str, zone: str, says: str):
    folder = tmp_path / "mine"
    assert main(["new-programme", str(folder), "--country", country, "--zone", zone]) == 2
    said = capsys.readouterr().err.splitlines()
    assert len(said) == 1
    assert says in said[0]
    assert not folder.exists()


def test_nothing_is_overwritten(tmp_path, capsys):
    (tmp_path / "staff.csv").write_text("mine")
    order = ["new-programme", str(tmp_path), "--country", "AU", "--zone", "Australia/Hobart"]
    assert main(order) == 2
    assert (tmp_path / "staff.csv").read_text() == "mine"
    assert "not empty" in capsys.readouterr().err
