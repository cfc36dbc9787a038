"""Settings are read once, typed, and a fault names its variable."""

from __future__ import annotations

from pathlib import Path

import pytest

from bot.settings import Settings, SettingsError

SECRET = "brindle hut, billy on, rain at dusk"
LEAST = {"BUSHPOST_DATABASE": "sqlite:///bushpost.sqlite3", "BUSHPOST_SECRET_KEY": SECRET}


def test_nothing_need_be_set() -> None:
    assert Settings.from_environment({}) == Settings("sqlite:///bushpost.sqlite3")


def test_what_is_set_is_read() -> None:
    settings = Settings.from_environment(LEAST)
    assert settings == Settings("sqlite:///bushpost.sqlite3", SECRET)


def test_everything_can_be_set(tmp_path: Path) -> None:
    settings = Settings.from_environment(
        LEAST
        | {
            "BUSHPOST_PROGRAMME": str(tmp_path),
            "BUSHPOST_DIALOGS": str(tmp_path),
            "BUSHPOST_HOST": "0.0.0.0",
            "BUSHPOST_PORT": "9000",
            "BUSHPOST_PUBLIC_URL": "https://bushpost.example/",
            "BUSHPOST_BEHIND_PROXY": "yes",
        }
    )
    assert settings.programme == settings.dialogs == tmp_path
    assert (settings.host, settings.port) == ("0.0.0.0", 9000)
    assert (settings.public_url, settings.behind_proxy) == ("https://bushpost.example", True)


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("BUSHPOST_SECRET_KEY", "short"),
        ("BUSHPOST_PROGRAMME", "/nowhere/at/all"),
        ("BUSHPOST_DIALOGS", "/nowhere/at/all"),
        ("BUSHPOST_PORT", "0"),
        ("BUSHPOST_PORT", "65536"),
        ("BUSHPOST_PORT", "http"),
        ("BUSHPOST_PUBLIC_URL", "bushpost.example"),
        ("BUSHPOST_TILES", "tiles.example"),
        ("BUSHPOST_BEHIND_PROXY", "perhaps"),
        ("BUSHPOST_LIMIT_PROOFS", "-1"),
        ("BUSHPOST_LIMIT_CHAT", "many"),
    ],
)
def test_a_fault_names_its_variable(name: str, value: str) -> None:
    with pytest.raises(SettingsError, match=name):
        Settings.from_environment(LEAST | {name: value})


def test_a_secret_is_not_repeated_in_its_fault() -> None:
    with pytest.raises(SettingsError) as caught:
        Settings.from_environment(LEAST | {"BUSHPOST_SECRET_KEY": "hunter2"})
    assert "hunter2" not in str(caught.value)
