"""A zone's page as a PDF for a file or a meeting: words, drawings, the figures by month."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from fpdf import FPDF

from bot.web.labels import latin
from bot.web.zone_drawing import Freedom, TimeAxis
from bot.web.zone_map import ZoneMap
from bot.web.zone_pdf_drawings import draw_axis, draw_freedom, draw_map

HEAD = ("Month", "Found if there", "Belief before", "Below {pstar}", "Lowest", "Highest")


@dataclass(frozen=True, slots=True)
class Drawings:
    """A zone's drawings, each with its caption; None is not drawn for this zone."""

    map: tuple[ZoneMap, str]
    axis: tuple[TimeAxis, str] | None
    freedom: tuple[Freedom, str] | None


def zone_pdf(
    title: str,
    paragraphs: Iterable[str],
    drawings: Drawings,
    pstar: str,
    rows: Iterable[Sequence[str]],
    ending: str,
) -> bytes:
    """One zone: its name, its sentences, its drawings, a row a month as in HEAD, and its day."""
    pdf = FPDF(format="A4")
    pdf.set_margin(18)
    pdf.set_title(title)
    pdf.add_page()
    pdf.set_font("Times", "B", 18)
    pdf.multi_cell(0, 9, latin(title), new_x="LMARGIN", new_y="NEXT")
    pdf.set_font("Times", "", 11)
    for paragraph in paragraphs:
        pdf.ln(2)
        pdf.multi_cell(0, 5.5, latin(paragraph), new_x="LMARGIN", new_y="NEXT")
    pdf.ln(2)
    draw_map(pdf, *drawings.map)
    if drawings.axis:
        draw_axis(pdf, *drawings.axis)
    if drawings.freedom:
        draw_freedom(pdf, *drawings.freedom)
    pdf.set_font("Times", "", 10)
    with pdf.table(text_align=("LEFT", *["RIGHT"] * 5)) as table:
        for cells in ([name.format(pstar=pstar) for name in HEAD], *rows):
            row = table.row()
            for cell in cells:
                row.cell(latin(cell))
    pdf.ln(3)
    pdf.multi_cell(0, 5, latin(ending), new_x="LMARGIN", new_y="NEXT")
    return bytes(pdf.output())
