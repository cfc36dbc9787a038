"""A real service at a desk, and a coordinator's browser before it."""

from __future__ import annotations

import pytest

from tests.web.office import open_office


@pytest.fixture
def office(tmp_path):
    with open_office(tmp_path) as office:
        yield office


@pytest.fixture
def ines(office):
    return office.client("ines")
