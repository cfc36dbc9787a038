"""The transcripts that are shipped, by the names of their files."""

from __future__ import annotations

from bot.demo.transcript import parse
from bot.shipped import shipped

FILES = sorted(shipped("demo_conversations").glob("*.txt"))
TALKS = {file.stem: parse(file.read_text(encoding="utf-8")) for file in FILES}
