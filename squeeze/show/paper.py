"""What every printed sheet needs: sizes of paper, letters, and a bar to check the print with."""

from __future__ import annotations

from pathlib import Path

from matplotlib import get_data_path
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

PT_MM = 72 / 25.4
PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height of a sheet [mm]."""

BAR_MM = 100.0


def font_for(say: str, bold: bool = False) -> str:
    """Return the built-in font, or one that has letters beyond those of western Europe."""
    try:
        say.encode("cp1252")
    except UnicodeEncodeError:
        name = "DejaVuSans-Bold" if bold else "DejaVuSans"
        if name not in pdfmetrics.getRegisteredFontNames():
            pdfmetrics.registerFont(TTFont(name, Path(get_data_path(), f"fonts/ttf/{name}.ttf")))
        return name
    return "Helvetica-Bold" if bold else "Helvetica"


def draw_bar(canvas: Canvas, x_mm: float, y_mm: float) -> None:
    """Draw a bar of 100 mm with a tick at its ends and in its middle."""
    canvas.setLineWidth(0.5 * PT_MM)
    y = y_mm * PT_MM
    canvas.line(x_mm * PT_MM, y, (x_mm + BAR_MM) * PT_MM, y)
    for x in (x_mm, x_mm + BAR_MM / 2, x_mm + BAR_MM):
        canvas.line(x * PT_MM, y - 2 * PT_MM, x * PT_MM, y + 2 * PT_MM)
