"""A CSV file of a programme's folder, row by row, and the error that names a fault's place."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping

from bot.folder.cells import plain_cell


class ProgrammeError(ValueError):
    """The programme's own files are at fault; the message names the file and the field."""


def rows(name: str, text: str, needs: tuple[str, ...]) -> Iterator[tuple[str, dict[str, str]]]:
    """Each row of a CSV as a dict, with the words that say where it stands. The apostrophe that
    our own files put before what a spreadsheet would reckon is taken off."""
    table = csv.DictReader(io.StringIO(text))
    try:
        missing = [n for n in needs if n not in (table.fieldnames or ())]
        if missing:
            raise ProgrammeError(f"{name}: line 1: no column {', '.join(missing)}")
        for row in table:
            cells = {k: plain_cell((v or "").strip()).strip() for k, v in row.items() if k}
            yield f"{name}: line {table.line_num}", cells
    except csv.Error as fault:  # As for a cell of more than 131,072 characters.
        raise ProgrammeError(f"{name}: line {table.line_num}: {fault}") from fault


def number_in(where: str, row: Mapping[str, str], field: str, low: float, high: float) -> float:
    """A row's field as a number between two bounds; ProgrammeError if it is none."""
    try:
        value = float(row[field])
    except ValueError:
        raise ProgrammeError(f"{where}: {field}: {row[field]!r} is not a number") from None
    if not low <= value <= high:
        raise ProgrammeError(f"{where}: {field}: {value:g} is not between {low:g} and {high:g}")
    return value
