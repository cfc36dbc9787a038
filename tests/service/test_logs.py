"""Logs say what happened to which row, and never what anybody said or from where."""

from __future__ import annotations

import io
import json
import logging

import pytest

from bot.service.logs import JsonLines, start_logging

WORDS = "boar with lumps, ring 0491 570 006"


@pytest.fixture
def logger() -> logging.Logger:
    plain = logging.Logger("bot.test")
    plain.stream = io.StringIO()
    handler = logging.StreamHandler(plain.stream)
    handler.setFormatter(JsonLines())
    plain.addHandler(handler)
    return plain


def line_of(logger: logging.Logger) -> dict[str, object]:
    return json.loads(logger.stream.getvalue())


def test_a_record_is_one_line_of_json(logger: logging.Logger) -> None:
    logger.warning("not_sent", extra={"outbox_id": 7, "reason": "timeout", "attempts": 2})
    line = line_of(logger)
    assert line.pop("at").endswith("+00:00")
    assert line == {
        "level": "warning",
        "room": "bot.test",
        "what": "not_sent",
        "outbox_id": 7,
        "reason": "timeout",
        "attempts": 2,
    }


def test_no_words_get_in(logger: logging.Logger) -> None:
    try:
        raise ValueError(WORDS)
    except ValueError:
        logger.exception("text_fault %s", WORDS, extra={"body": WORDS, "number": "+61491570006"})
    line = line_of(logger)
    assert "lumps" not in logger.stream.getvalue()
    assert "570" not in logger.stream.getvalue().replace("text_fault", "")
    assert line["fault"].startswith(f"ValueError@{__name__}:")


def test_only_our_own_records_are_sent() -> None:
    stream = io.StringIO()
    start_logging(stream)
    try:
        logging.getLogger("bot.service.intake").info("heard")
        logging.getLogger("somebody.else").info("noise")
        assert [json.loads(x)["what"] for x in stream.getvalue().splitlines()] == ["heard"]
    finally:
        logging.getLogger("bot").handlers.clear()
        logging.getLogger("bot").propagate = True
