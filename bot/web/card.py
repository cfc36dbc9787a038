"""What the desk's pages show, made of what the service reads: values in words, times as spans."""

from __future__ import annotations


def list_rows(wiring, now): ...
def card_of(wiring, found): ...
