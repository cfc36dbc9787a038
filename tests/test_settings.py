"""Settings are read once, typed, and a fault names its variable."""

from __future__ import annotations

import base64
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
        ("BUSHPOST_ENCRYPTION_KEY", "c2hvcnQ="),
        ("BUSHPOST_ENCRYPTION_KEY", "no base64 at all"),
        ("BUSHPOST_ENCRYPTION_KEY_FILE", "/nowhere/at/all"),
    ],
)
def test_a_fault_names_its_variable(name: str, value: str) -> None:
    with pytest.raises(SettingsError, match=name):
        Settings.from_environment(LEAST | {name: value})


def test_a_secret_is_not_repeated_in_its_fault() -> None:
    with pytest.raises(SettingsError) as caught:
        Settings.from_environment(LEAST | {"BUSHPOST_SECRET_KEY": "hunter2"})
    assert "hunter2" not in str(caught.value)


KEYS = tuple(bytes([n]) * 32 for n in (251, 255))
AS_BASE64 = [base64.b64encode(KEYS[0]).decode(), base64.urlsafe_b64encode(KEYS[1]).decode()]


def test_keys_that_encrypt_come_from_a_variable_or_a_file(tmp_path: Path) -> None:
    file = tmp_path / "keys"
    file.write_text("\n".join(AS_BASE64) + "\n")
    for env in (
        {"BUSHPOST_ENCRYPTION_KEY": ", ".join(AS_BASE64)},
        {"BUSHPOST_ENCRYPTION_KEY_FILE": str(file)},
    ):
        settings = Settings.from_environment(env)
        assert settings.encryption_keys == KEYS
        assert AS_BASE64[0] not in repr(settings)
        assert str(KEYS[0]) not in repr(settings)
    both = {"BUSHPOST_ENCRYPTION_KEY": AS_BASE64[0], "BUSHPOST_ENCRYPTION_KEY_FILE": str(file)}
    with pytest.raises(SettingsError, match="either that or the file"):
        Settings.from_environment(both)


def test_a_key_that_is_none_is_not_repeated(tmp_path: Path) -> None:
    (tmp_path / "empty").write_text("\n")
    for env in (
        {"BUSHPOST_ENCRYPTION_KEY": f"{AS_BASE64[0]} nearlyakey"},
        {"BUSHPOST_ENCRYPTION_KEY_FILE": str(tmp_path / "empty")},
    ):
        with pytest.raises(SettingsError) as caught:
            Settings.from_environment(env)
        assert "nearlyakey" not in str(caught.value)
