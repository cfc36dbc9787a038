"""Logs as one JSON object a line: ids, reason codes and durations. Never words, never numbers.

Only the fields named here are written, so that a body or a telephone number cannot slip in by
way of a message, an argument or an exception's text.
"""

from __future__ import annotations

import json
import logging
import sys
from datetime import UTC, datetime
from typing import TextIO

FIELDS = (
    "text_id",
    "hunter_id",
    "conversation_id",
    "pickup_id",
    "outbox_id",
    "timer_id",
    "event",
    "fault",
    "reason",
    "gateway",
    "attempts",
    "count",
    "ms",
)


class JsonLines(logging.Formatter):
    """One line for one record. An exception is told by its kind and the place it came from."""

    def format(self, record: logging.LogRecord) -> str:
        """The record as JSON. The message must be a plain code: its arguments are not filled in."""
        line: dict[str, object] = {
            "at": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "room": record.name,
            "what": str(record.msg),
        }
        line.update({f: getattr(record, f) for f in FIELDS if hasattr(record, f)})
        if record.exc_info and record.exc_info[1] is not None:
            line["fault"] = fault_code(record.exc_info[1])
        return json.dumps(line, ensure_ascii=True, default=str)


def fault_code(fault: BaseException) -> str:
    """What broke and where, without its message, which may hold somebody's words."""
    trace = fault.__traceback__
    while trace is not None and trace.tb_next is not None:
        trace = trace.tb_next
    where = "" if trace is None else f"{trace.tb_frame.f_globals.get('__name__')}:{trace.tb_lineno}"
    return f"{type(fault).__name__}@{where}"


def start_logging(stream: TextIO | None = None, level: int = logging.INFO) -> None:
    """Send this program's own records to a stream (standard error) as JSON lines."""
    handler = logging.StreamHandler(stream or sys.stderr)
    handler.setFormatter(JsonLines())
    logger = logging.getLogger("bot")
    logger.handlers[:] = [handler]
    logger.setLevel(level)
    logger.propagate = False
