"""The shipped wording and words to listen for, as a fixture."""

from __future__ import annotations

import pytest

from bot.fieldwork.staff_dialog import StaffDialog
from bot.shipped import dialog_files
from tests.fieldwork.rosters import DIALOG


@pytest.fixture(scope="session")
def dialog() -> StaffDialog:
    return DIALOG


@pytest.fixture(scope="session")
def staff_toml() -> str:
    return dialog_files()["staff.toml"]
