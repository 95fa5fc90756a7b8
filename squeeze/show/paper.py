"""What every printed sheet needs: sizes of paper, letters, and a bar to check the print with."""

from __future__ import annotations

import io
from pathlib import Path

from matplotlib import get_data_path
from pypdf import PdfReader, PdfWriter, Transformation
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from squeeze.verdict.words import MM_PER_INCH

PT_MM = 72 / MM_PER_INCH
PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height of a sheet [mm]."""

FITS_BOTH_MM = (min(w for w, _ in PAPERS.values()), min(h for _, h in PAPERS.values()))
"""Width and height of the largest sheet that lies on each of them [mm]."""

EDGE_MM = 8.0
"""No printer reaches the very edge."""

BAR_MM = 100.0


def font_for(say: str, bold: bool = False) -> str:
    """Return the name of a font that has the letters of `say`, upright or `bold`.

    It is a built-in one, unless there are letters beyond those of western Europe.
    """
    try:
        say.encode("cp1252")
    except UnicodeEncodeError:
        name = "DejaVuSans-Bold" if bold else "DejaVuSans"
        if name not in pdfmetrics.getRegisteredFontNames():
            pdfmetrics.registerFont(TTFont(name, Path(get_data_path(), f"fonts/ttf/{name}.ttf")))
        return name
    return "Helvetica-Bold" if bold else "Helvetica"


def draw_bar(canvas: Canvas, x_mm: float, y_mm: float) -> None:
    """Draw a bar of 100 mm with a tick at its ends and in its middle.

    Parameters
    ----------
    canvas : Canvas
    x_mm, y_mm : float
        Its left end, from the left lower corner of the paper.
    """
    canvas.setLineWidth(0.5 * PT_MM)
    y = y_mm * PT_MM
    canvas.line(x_mm * PT_MM, y, (x_mm + BAR_MM) * PT_MM, y)
    for x in (x_mm, x_mm + BAR_MM / 2, x_mm + BAR_MM):
        canvas.line(x * PT_MM, y - 2 * PT_MM, x * PT_MM, y + 2 * PT_MM)


def on_paper(page: bytes) -> bytes:
    """Return a PDF of one page so that it prints whole on A4 and on Letter.

    A page that is too large is made smaller and laid upright or across, whichever leaves it larger;
    one that fits stays as it is.
    """
    drawn = PdfReader(io.BytesIO(page)).pages[0]
    wide, high = float(drawn.mediabox.width), float(drawn.mediabox.height)
    short, long = (PT_MM * size for size in FITS_BOTH_MM)
    sheets = [(short, long), (long, short)]
    edge = 2 * EDGE_MM * PT_MM

    def share(sheet: tuple[float, float]) -> float:
        return min((sheet[0] - edge) / wide, (sheet[1] - edge) / high)

    if max(map(share, sheets)) >= 1:
        return page
    sheet = max(sheets, key=share)
    scale = share(sheet)
    writer = PdfWriter()
    laid = writer.add_blank_page(*sheet)
    left, up = 0.5 * (sheet[0] - scale * wide), sheet[1] - 0.5 * edge - scale * high
    laid.merge_transformed_page(drawn, Transformation().scale(scale).translate(left, up))
    writer.compress_identical_objects()
    stream = io.BytesIO()
    writer.write(stream)
    return stream.getvalue()
