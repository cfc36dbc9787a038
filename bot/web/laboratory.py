"""/desk/laboratory: what goes to the laboratory as a list, and what comes back as a file.

A file is shown line by line before anything of it is kept; with one fault in it nothing is.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from flask import Blueprint, render_template, request
from werkzeug.exceptions import BadRequest
from werkzeug.wrappers import Response

from bot.fieldwork.custody import LABORATORY
from bot.fieldwork.laboratory import (
    MANIFEST,
    RESULTS,
    Fault,
    Weighed,
    read_results,
    table_text,
    weigh,
)
from bot.fieldwork.specimens import Specimen, root_of
from bot.service.custody_shelf import CustodyShelf
from bot.web import access, stored, wired
from bot.web.custody import lines
from bot.web.labels import table

blueprint = Blueprint("laboratory", __name__, url_prefix="/desk/laboratory")
access.keep(blueprint, reads="coordinator")
LONGEST_FILE = 90_000
ON_PAPER = ("code", "part", "species", "killed", "place", "state", "cold_since", "holder")
"""Columns that the printed list has room for; the CSV has them all."""


@dataclass(frozen=True, slots=True)
class Preview:
    """A file of results before it is kept."""

    text: str
    lines: tuple[Weighed, ...]
    faults: tuple[Fault, ...]

    @property
    def news(self) -> tuple[Weighed, ...]:
        """The lines that say something new."""
        return tuple(each for each in self.lines if each.news == "new")


@blueprint.get("")
def page() -> str:
    """Specimens that are on their way, and the door for results."""
    return _page()


@blueprint.get("/manifest.csv")
def manifest_csv() -> Response:
    """The list as CSV; its columns are told on the page."""
    rows = ([row[column] for column in MANIFEST] for row in _rows())
    text = table_text(tuple(MANIFEST), rows)
    name = f"attachment; filename=manifest-{wired().now():%Y-%m-%d}.csv"
    head = {"Content-Disposition": name}
    return Response("\ufeff" + text, mimetype="text/csv; charset=utf-8", headers=head)


@blueprint.get("/manifest.pdf")
def manifest_pdf() -> Response:
    """The list on paper, to go with the box."""
    words, head = lines().words, wired().programme.head
    laboratory = ", ".join(filter(None, (head.laboratory.name, head.laboratory.address)))
    made = f"{wired().now().astimezone(wired().programme.zone):%Y-%m-%d %H:%M}"
    notes = [
        f"From: {head.name}, telephone {head.contacts.coordinator}",
        f"To: {laboratory or '-'}",
        f"Made {made}. {words.of('manifest', 'note')}",
    ]
    rows = ([row[column] for column in ON_PAPER] for row in _rows())
    names = [column.replace("_", " ") for column in ON_PAPER]
    data = table(words.of("manifest", "title"), notes, names, rows)
    return Response(data, mimetype="application/pdf")


@blueprint.post("/results")
def preview() -> str:
    """What a file of results would change, line by line."""
    return _page(_preview(_text()))


@blueprint.post("/results/keep")
def keep() -> str | tuple[str, int]:
    """Keep a file that was shown: read again, and all of it or nothing."""
    shown = _preview(_text())
    if shown.faults:
        return _page(shown), 409
    events = [each.entry.said for each in shown.news]
    if events:
        wired().intake.tell_custody(events, wired().now())
    return _page(kept=len(events))


def _text() -> str:
    """The file that was sent, or the words that were pasted."""
    sent = request.files.get("file")
    raw = sent.read(LONGEST_FILE + 1) if sent and sent.filename else b""
    text = raw.decode("utf-8-sig", "replace") if raw else request.form.get("text", "")
    if not text.strip():
        raise BadRequest("There is nothing to read.")
    if len(text) > LONGEST_FILE:
        raise BadRequest("That file is too long.")
    return text


def _preview(text: str) -> Preview:
    """Nothing is weighed before every line can be read by itself."""
    entries, faults = read_results(text, access.name(), wired().now(), wired().programme.zone)
    if faults:
        return Preview(text, (), faults)
    return Preview(text, *weigh(entries, CustodyShelf(stored()).history()))


def _on_the_way(specimens: tuple[Specimen, ...]) -> Iterator[Specimen]:
    """What was collected and is not at the laboratory yet."""
    for s in specimens:
        if s.holders != (LABORATORY,) and not s.released and s.since is not None:
            yield s


def _rows() -> list[dict[str, str]]:
    """The manifest's rows: those on the way, or only those that were ticked."""
    shelf, write = CustodyShelf(stored()), lines()
    ticked = set(request.args.getlist("code"))
    chosen = [s for s in _on_the_way(shelf.specimens()) if not ticked or s.code in ticked]
    talks = shelf.talks(s.find for s in chosen if s.find)
    trails = {root: shelf.trail(root) for root in {root_of(s.code) for s in chosen}}
    return [write.cells(s, trails[root_of(s.code)], talks.get(s.find)) for s in chosen]


def _page(shown: Preview | None = None, kept: int | None = None) -> str:
    return render_template(
        "desk/laboratory.html",
        rows=_rows(),
        shown=shown,
        kept=kept,
        manifest=MANIFEST,
        results=RESULTS,
        names=lines().words,
        laboratory=wired().programme.head.laboratory,
    )
