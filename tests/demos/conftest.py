"""The transcripts that are shipped, and the programme and dialog they are played on."""

from __future__ import annotations

import pytest
from shipped_talks import TALKS

from bot.commands.loading import loaded_dialog, loaded_programme
from bot.demo.transcript import Transcript
from bot.programme import Programme
from bot.talk.dialog import Dialog


@pytest.fixture(params=TALKS, ids=list(TALKS))
def talk(request: pytest.FixtureRequest) -> Transcript:
    """Each shipped transcript in turn."""
    return TALKS[request.param]


@pytest.fixture(scope="session")
def programme() -> Programme:
    """The invented programme."""
    return loaded_programme(None)


@pytest.fixture(scope="session")
def dialog() -> Dialog:
    """The shipped dialogs."""
    return loaded_dialog(None)
