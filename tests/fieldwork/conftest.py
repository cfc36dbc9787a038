"""The words and the roster that the tests of this room share: all people are invented, the
numbers come from the list that the Australian regulator reserves for fiction."""

from __future__ import annotations

from pathlib import Path

import pytest

from bot.fieldwork.staff_dialog import StaffDialog, load_staff_dialog

DIALOGS = Path(__file__).parents[2] / "dialogs"


@pytest.fixture(scope="session")
def staff_toml() -> str:
    """The real dialog: the words to listen for are what these tests are about."""
    return (DIALOGS / "staff.toml").read_text(encoding="utf-8")


@pytest.fixture(scope="session")
def dialog(staff_toml: str) -> StaffDialog:
    return load_staff_dialog({"staff.toml": staff_toml})
