"""A zone's page as a PDF for a file or a meeting: the words, the caveats, the figures by month.

The drawings stand on the page itself, which prints as well.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from fpdf import FPDF

from bot.web.labels import latin

HEAD = ("Month", "Found if there", "Belief before", "Below", "Lowest", "Highest")


def zone_pdf(
    title: str, paragraphs: Iterable[str], rows: Iterable[Sequence[str]], ending: str
) -> bytes:
    """One zone: its name, its sentences, a row a month as HEAD names them, and its day."""
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
    pdf.ln(4)
    pdf.set_font("Times", "", 10)
    with pdf.table(text_align=("LEFT", *["RIGHT"] * 5)) as table:
        for cells in (HEAD, *rows):
            row = table.row()
            for cell in cells:
                row.cell(latin(cell))
    pdf.ln(3)
    pdf.multi_cell(0, 5, latin(ending), new_x="LMARGIN", new_y="NEXT")
    return bytes(pdf.output())
