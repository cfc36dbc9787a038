"""The drawings of a zone's page in its PDF: the same numbers, stroked on paper.

A drawing is WIDTH units wide and as wide as the text; colours are those of print, so that each
mark is told from the others in grey as well.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from fpdf import FPDF

from bot.web.labels import latin
from bot.web.zone_drawing import MARGIN, PLOT_HEIGHT, PLOT_LEFT, WIDTH, Freedom, TimeAxis
from bot.web.zone_map import Case, ZoneMap

COVER, ALARM, INK, PALE = (43, 74, 61), (150, 40, 30), (20, 20, 20), (190, 190, 190)
SMALL, DOT = 7.5, 6.0
CAPTION_MM = 16.0
"""Room below a drawing, so that its first lines of caption stay on its page."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """Where a drawing stands: its upper left corner in mm, and mm a drawing unit."""

    pdf: FPDF
    left: float
    top: float
    scale: float

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Drawing units -> mm on the page."""
        return self.left + x * self.scale, self.top + y * self.scale

    def line(self, x1: float, y1: float, x2: float, y2: float) -> None:
        """A stroke in the colour that is set."""
        self.pdf.line(*self.at(x1, y1), *self.at(x2, y2))

    def rect(self, x: float, y: float, wide: float, high: float, style: str = "F") -> None:
        """A rectangle, filled or stroked."""
        self.pdf.rect(*self.at(x, y), wide * self.scale, high * self.scale, style=style)

    def circle(self, x: float, y: float, radius: float, style: str) -> None:
        """A circle round a point."""
        self.pdf.circle(*self.at(x, y), radius * self.scale, style=style)

    def words(self, x: float, y: float, words: str, align: str = "left") -> None:
        """Small words on a base line, beginning, centred or ending at x."""
        wide = self.pdf.get_string_width(words)
        left, base = self.at(x, y)
        shift = {"left": 0.0, "middle": wide / 2, "right": wide}[align]
        self.pdf.text(left - shift, base, words)


@contextmanager
def sheet(pdf: FPDF, height: float, caption: str) -> Iterator[Sheet]:
    """A frame of this height in drawing units, on a page with room for it; its caption below."""
    scale = pdf.epw / WIDTH
    if pdf.will_page_break(height * scale + CAPTION_MM):
        pdf.add_page()
    drawn = Sheet(pdf, pdf.l_margin, pdf.get_y() + 2, scale)
    pdf.set_font("Helvetica", "", SMALL)
    pdf.set_line_width(0.25)
    with pdf.rect_clip(drawn.left, drawn.top, pdf.epw, height * scale):
        yield drawn
    pdf.set_draw_color(*PALE)
    drawn.rect(0, 0, WIDTH, height, "D")
    pdf.set_draw_color(*INK)
    pdf.set_y(drawn.top + height * scale + 1.5)
    pdf.set_font("Times", "", 9.5)
    pdf.multi_cell(0, 4.2, latin(caption), new_x="LMARGIN", new_y="NEXT")
    pdf.ln(2)


def draw_map(pdf: FPDF, drawing: ZoneMap, caption: str) -> None:
    """Coverage, outline, clean animals and confirmed ones, places where nobody looked, a bar."""
    with sheet(pdf, drawing.height + 24, caption) as on:
        pdf.set_fill_color(*COVER)
        for x, y, wide, high, shade in drawing.squares:
            with pdf.local_context(fill_opacity=shade):
                on.rect(x, y, wide, high)
        pdf.set_draw_color(*INK)
        for ring in drawing.rings:
            pdf.polyline([on.at(*point) for point in ring], style="D")
        pdf.set_fill_color(255, 255, 255)
        for look in drawing.looks:
            on.circle(look.x, look.y, 3.0, "DF")
        for case in drawing.cases:
            _reach(on, case)
        for case in drawing.cases:
            _dot(on, case)
        for gap in drawing.unseen:
            pdf.set_dash_pattern(dash=0.8, gap=0.6)
            on.rect(gap.x - 10, gap.y - 10, 20, 20, "D")
            pdf.set_dash_pattern()
            on.words(gap.x, gap.y + 4, gap.name, "middle")
        if drawing.bar:
            on.line(MARGIN, drawing.height + 8, MARGIN + drawing.bar, drawing.height + 8)
            on.words(MARGIN + drawing.bar + 6, drawing.height + 11, drawing.bar_words)


def _reach(on: Sheet, case: Case) -> None:
    """Where a confirmed animal lived, and how far it may have come."""
    pdf = on.pdf
    pdf.set_draw_color(*ALARM)
    if case.near and case.young:
        pdf.set_fill_color(*ALARM)
        with pdf.local_context(fill_opacity=0.14):
            on.circle(case.x, case.y, case.near, "F")
        on.circle(case.x, case.y, case.near, "D")
    elif case.near:
        pdf.set_dash_pattern(dash=1.4, gap=1.1)
        on.circle(case.x, case.y, case.near, "D")
    if case.wide:
        pdf.set_dash_pattern(dash=0.4, gap=1.1)
        on.circle(case.x, case.y, case.wide, "D")
    pdf.set_dash_pattern()


def _dot(on: Sheet, case: Case) -> None:
    on.pdf.set_draw_color(*ALARM)
    on.pdf.set_fill_color(*(ALARM if case.young else (255, 255, 255)))
    on.circle(case.x, case.y, DOT, "DF")
    right = case.x >= WIDTH - 120
    on.words(case.x + (-11 if right else 11), case.y + 4, case.name, "right" if right else "left")
    on.pdf.set_draw_color(*INK)


def draw_axis(pdf: FPDF, axis: TimeAxis, caption: str) -> None:
    """The windows of the confirmed animals, a bar each."""
    with sheet(pdf, axis.height, caption) as on:
        for x, words in axis.ticks:
            pdf.set_draw_color(*PALE)
            on.line(x, 8, x, axis.height - 22)
            on.words(x, axis.height - 8, words, "right" if x > WIDTH - 40 else "middle")
        for bar in axis.bars:
            on.words(8, bar.y, bar.name)
            pdf.set_fill_color(*ALARM)
            with pdf.local_context(fill_opacity=0.45 if bar.opened else 1.0):
                on.rect(bar.x, bar.y - 11, bar.width, 14)
            pdf.set_fill_color(*PALE)
            on.rect(bar.lag_x, bar.y - 11, bar.lag_width, 14)


def draw_freedom(pdf: FPDF, freedom: Freedom, caption: str) -> None:
    """The probability by month with its band."""
    with sheet(pdf, PLOT_HEIGHT, caption) as on:
        for y, words in freedom.levels:
            pdf.set_draw_color(*PALE)
            on.line(PLOT_LEFT, y, WIDTH - MARGIN, y)
            on.words(PLOT_LEFT - 6, y + 3, words, "right")
        if freedom.band_points:
            pdf.set_fill_color(*COVER)
            with pdf.local_context(fill_opacity=0.18):
                pdf.polygon([on.at(*p) for p in freedom.band_points], style="F")
        pdf.set_draw_color(*COVER)
        pdf.set_line_width(0.6)
        pdf.polyline([on.at(*p) for p in freedom.line_points], style="D")
        for x, words in freedom.ticks:
            on.words(x, 226, words, "right" if x > WIDTH - 40 else "middle")
