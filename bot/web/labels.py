"""Labels for specimens as PDF: a roll of 62 mm and sheets of A4. Values in, bytes out.

The mark UN 3373 by packing instruction P650: a square on its point, sides of 50 mm and more, a
line of 2 mm and more, letters and figures of 6 mm and more, and the proper name beside it of
6 mm and more. On its point such a square spans 71 mm, so that a roll of 62 mm prints it turned
by 45 degrees, its sides along the roll; whoever sticks it on turns it back.
"""

from __future__ import annotations

import io
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import segno
from fpdf import FPDF
from fpdf.enums import RenderStyle

POINT_MM = 25.4 / 72
CAP = 0.718
"""Height of a capital as a share of the size (Helvetica's AFM: cap height 718 of 1000)."""

MARK_SIDE_MM, MARK_LINE_MM = 52.4, 2.2
"""The side goes to the middle of the line, so that the square measures 50 mm inside, with a hair
to spare for a printer's rounding."""
MARK_POINTS = 26.0
NAME_POINTS = 24.4
NAME = ("BIOLOGICAL", "SUBSTANCE,", "CATEGORY B")

ROLL_MM = 62.0
LABEL_MM = 100.0
ROLL_MARK_MM = 106.0
A4_MM = (210.0, 297.0)
SHEET_COLUMNS, SHEET_ROWS, SHEET_MARGIN_MM = 2, 2, 12.0


@dataclass(frozen=True, slots=True)
class Label:
    """One specimen's label: its code, what the QR code holds, and lines of (name, words)."""

    code: str
    part: str
    qr: str
    lines: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class LabelWords:
    """What every label says besides: the note on packing, and what to do with the mark."""

    packing: str
    turn_mark: str


def roll(labels: Sequence[Label], words: LabelWords) -> bytes:
    """A page of the roll for each label, then one with the mark."""
    pdf = _pdf("Labels, 62 mm roll")
    for label in labels:
        pdf.add_page(format=(ROLL_MM, LABEL_MM))
        _label(pdf, label, words, 2.5, 2.5, ROLL_MM - 5)
    pdf.add_page(format=(ROLL_MM, ROLL_MARK_MM))
    _mark_turned(pdf, ROLL_MM / 2, 3 + (MARK_SIDE_MM + MARK_LINE_MM) / 2)
    _name(pdf, 3, 66)
    _text(pdf, 3, 94, words.turn_mark, ROLL_MM - 6, 8)
    return bytes(pdf.output())


def sheets(labels: Sequence[Label], words: LabelWords) -> bytes:
    """A4: two labels and, beside each, the mark on its point."""
    pdf = _pdf("Labels, A4")
    width = (A4_MM[0] - 2 * SHEET_MARGIN_MM) / SHEET_COLUMNS
    height = (A4_MM[1] - 2 * SHEET_MARGIN_MM) / SHEET_ROWS
    for place, label in enumerate(labels):
        row = place % SHEET_ROWS
        if row == 0:
            pdf.add_page(format="A4")
        top = SHEET_MARGIN_MM + row * height
        pdf.set_line_width(0.2)
        pdf.set_dash_pattern(1, 1)
        pdf.rect(SHEET_MARGIN_MM, top, 2 * width, height)
        pdf.set_dash_pattern()
        _label(pdf, label, words, SHEET_MARGIN_MM + 5, top + 6, width - 14)
        middle = SHEET_MARGIN_MM + 1.5 * width
        _mark(pdf, middle, top + 45)
        _name(pdf, middle - 29, top + 97)
    return bytes(pdf.output())


def latin(words: str) -> str:
    """The words in the letters that every PDF reader has: others lose their accents, or become
    a question mark."""
    return "".join(c if _fits(c) else _plainer(c) for c in words)


def _fits(character: str) -> bool:
    return character.encode("latin-1", "ignore") != b""


def _plainer(character: str) -> str:
    bare = unicodedata.normalize("NFKD", character).encode("latin-1", "ignore").decode("latin-1")
    return bare or "?"


# ------------------------------------------------------------------------------------ drawing


def _pdf(title: str) -> FPDF:
    pdf = FPDF(unit="mm")
    pdf.set_auto_page_break(False)
    pdf.set_margin(0)
    pdf.set_title(title)
    pdf.c_margin = 0
    return pdf


def _label(
    pdf: FPDF, label: Label, words: LabelWords, left: float, top: float, width: float
) -> None:
    """The code large, the QR code beside the first lines, the note at the foot."""
    pdf.set_font("Courier", "B", 24)
    pdf.text(left, top + 8, label.code)
    pdf.set_font("Helvetica", "B", 11)
    pdf.text(left, top + 14, latin(label.part))
    qr = 25.0
    pdf.image(_qr(label.qr), left + width - qr, top + 16, qr, qr)
    y = top + 17
    for name, said in label.lines:
        room = width - qr - 2 if y < top + 16 + qr else width
        pdf.set_font("Helvetica", "", 6.5)
        pdf.text(left, y + 2, latin(name))
        y = _text(pdf, left, y + 2.7, said or "-", room, 9) + 0.9
    _text(pdf, left, max(y + 1, top + 80), words.packing, width, 7)


def _text(pdf: FPDF, left: float, top: float, words: str, width: float, points: float) -> float:
    """Words in lines of a width; where they end."""
    pdf.set_font("Helvetica", "", points)
    pdf.set_xy(left, top)
    pdf.multi_cell(width, points * POINT_MM * 1.15, latin(words), align="L")
    return float(pdf.get_y())


def _qr(content: str) -> io.BytesIO:
    picture = io.BytesIO()
    segno.make(content, error="m", micro=False).save(picture, kind="png", scale=8, border=2)
    picture.seek(0)
    return picture


def _mark(pdf: FPDF, x: float, y: float) -> None:
    """The mark on its point round a middle."""
    half = MARK_SIDE_MM / 2**0.5
    pdf.set_line_width(MARK_LINE_MM)
    corners = ((x, y - half), (x + half, y), (x, y + half), (x - half, y))
    pdf.polygon(corners, style=RenderStyle.D)
    _number(pdf, x, y)


def _mark_turned(pdf: FPDF, x: float, y: float) -> None:
    """The same mark turned by 45 degrees: its sides stand upright, its number slants."""
    with pdf.rotation(45, x, y):
        _mark(pdf, x, y)


def _number(pdf: FPDF, x: float, y: float) -> None:
    pdf.set_font("Helvetica", "B", MARK_POINTS)
    pdf.text(x - pdf.get_string_width("UN3373") / 2, y + CAP * MARK_POINTS * POINT_MM / 2, "UN3373")


def _name(pdf: FPDF, left: float, top: float) -> None:
    """The proper name in three lines beside the mark; `top` is the first line's foot."""
    pdf.set_font("Helvetica", "", NAME_POINTS)
    for number, line in enumerate(NAME):
        pdf.text(left, top + number * 9.2, line)


def table(
    title: str, notes: Iterable[str], head: Sequence[str], rows: Iterable[Sequence[str]]
) -> bytes:
    """A list on A4 across, with its head on every page: what goes with the box."""
    pdf = FPDF(orientation="L", unit="mm", format="A4")
    pdf.set_auto_page_break(True, 12)
    pdf.set_margins(12, 12)
    pdf.set_title(title)
    pdf.add_page()
    pdf.set_font("Helvetica", "B", 15)
    pdf.cell(0, 9, latin(title), new_x="LMARGIN", new_y="NEXT")
    pdf.set_font("Helvetica", "", 9)
    for note in notes:
        pdf.multi_cell(0, 4.6, latin(note), new_x="LMARGIN", new_y="NEXT")
    pdf.ln(3)
    pdf.set_font("Helvetica", "", 8)
    with pdf.table(line_height=4.4, text_align="LEFT", padding=0.8) as made:
        for cells in (head, *rows):
            row = made.row()
            for cell in cells:
                row.cell(latin(cell))
    return bytes(pdf.output())
