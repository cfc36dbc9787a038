"""What every test may use: the shipped words, the demo's programme, and a scene at a fixed time."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from hypothesis import settings

from bot.programme import Programme, load_programme, read_folder
from bot.reading.scene import Scene
from bot.reading.words import Words, load_words
from bot.scenes import scene_for
from bot.shipped import dialog_files, shipped

settings.register_profile("ci", derandomize=True, deadline=None, max_examples=60)
settings.load_profile("ci")

NOW = datetime(2026, 11, 25, 3, 0, tzinfo=UTC)
"""Wednesday the 25th of November 2026, 14:00 in Melbourne."""


@pytest.fixture(scope="session")
def words() -> Words:
    return load_words(dialog_files())


@pytest.fixture(scope="session")
def programme() -> Programme:
    return load_programme(read_folder(shipped("demo_conversations") / "programme"))


@pytest.fixture
def scene(programme: Programme, words: Words) -> Scene:
    return scene_for(programme, words, NOW)
