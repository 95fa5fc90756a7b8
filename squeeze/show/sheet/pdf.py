"""A bench sheet as PDF: two columns on one side if that can be, in black, white and greys."""

from __future__ import annotations

import io

from reportlab.lib.utils import simpleSplit
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas

from squeeze.show.paper import BAR_MM, PAPERS, PT_MM, draw_bar, font_for
from squeeze.show.sheet.contents import Sheet
from squeeze.show.sheet.layout import (
    FOOT_MM,
    GUTTER_MM,
    HEAD_PT,
    MARGIN_MM,
    UNDER_HEAD_MM,
    Look,
    SheetPart,
    caption_lines,
    heading_mm,
    laid_out,
    lines_of,
    picture_mm,
    verdict_lines,
    widths_mm,
)
from squeeze.show.sheet.parts import Grid, Row
from squeeze.show.sheet.picture import DrawnLine, Picture, Word, scale_of
from squeeze.show.sheet.word_places import words_apart

TITLE_PT, SMALL_PT = 15.0, 7.0


def as_pdf(sheet: Sheet, paper: str, compress: bool = True) -> bytes:
    """Return a bench sheet as PDF at true size.

    It takes one side if letters of 7 pt or more allow that, else as many as it needs. The same
    contents give the same bytes each time.

    Parameters
    ----------
    sheet : Sheet
    paper : str
        "a4" or "letter".
    compress : bool
        Whether to pack the pages' contents.
    """
    stream = io.BytesIO()
    wide, high = PAPERS[paper]
    canvas = Canvas(
        stream, pagesize=(wide * PT_MM, high * PT_MM), pageCompression=int(compress), invariant=1
    )
    canvas.setTitle(f"Bench sheet: {sheet.title}")
    canvas.setSubject(sheet.made_by)
    canvas.setViewerPreference("PrintScaling", "None")
    look, pages = laid_out(sheet, wide, high)
    for number, columns in enumerate(pages, start=1):
        top = _heading(canvas, sheet, wide, high, number, len(pages))
        for k, column in enumerate(columns):
            x = MARGIN_MM + k * (look.column_mm + GUTTER_MM)
            y = top
            for block in column:
                _draw(canvas, block, x, y, look)
                y -= block.high_mm
        _foot(canvas, sheet, wide)
        canvas.showPage()
    canvas.save()
    return stream.getvalue()


def _draw(canvas: Canvas, block: SheetPart, x: float, y: float, look: Look) -> None:
    """Draw a block whose upper left corner is at (x, y) [mm]."""
    part = block.part
    if isinstance(part, str):
        _draw_heading(canvas, part, x, y, look)
    elif isinstance(part, Row):
        _draw_row(canvas, part, x, y, look)
    elif isinstance(part, Grid):
        _draw_grid(canvas, part, x, y, look)
    else:
        _draw_picture(canvas, part, x, y, look)


def _write(canvas: Canvas, say: str, x: float, y: float, size: float, bold: bool = False) -> None:
    canvas.setFont(font_for(say, bold), size)
    canvas.drawString(x * PT_MM, y * PT_MM, say)


def _draw_heading(canvas: Canvas, say: str, x: float, y: float, look: Look) -> None:
    base = y - 1.35 * look.line_mm
    _write(canvas, say, x, base, 1.3 * look.size_pt, bold=True)
    canvas.setLineWidth(0.35 * PT_MM)
    canvas.line(x * PT_MM, (base - 0.9) * PT_MM, (x + look.column_mm) * PT_MM, (base - 0.9) * PT_MM)


def _draw_row(canvas: Canvas, row: Row, x: float, y: float, look: Look) -> None:
    base = y - 0.85 * look.line_mm
    _write(canvas, row.label, x, base, look.size_pt, bold=True)
    for line in lines_of(row, look):
        _write(canvas, line, x + look.label_mm, base, look.size_pt)
        base -= look.line_mm


def _draw_grid(canvas: Canvas, grid: Grid, x: float, y: float, look: Look) -> None:
    base = y - 0.6 - 0.85 * look.line_mm
    widths = widths_mm(grid, look)
    for row, bold in [(grid.heads, True), *((row, False) for row in grid.rows)]:
        left = x
        for k, (say, wide) in enumerate(zip(row, widths, strict=True)):
            say = _cut_to(say, wide - 1.0, look.size_pt, bold)
            if k == 0:
                _write(canvas, say, left, base, look.size_pt, bold)
            else:
                canvas.setFont(font_for(say, bold), look.size_pt)
                canvas.drawRightString((left + wide) * PT_MM, base * PT_MM, say)
            left += wide
        if bold:
            canvas.setLineWidth(0.15 * PT_MM)
            line = (base - 0.8) * PT_MM
            canvas.line(x * PT_MM, line, (x + look.column_mm) * PT_MM, line)
            base -= UNDER_HEAD_MM
        base -= look.line_mm


def _cut_to(say: str, wide_mm: float, size: float, bold: bool) -> str:
    """Return a word cut to a width, with dots where something is left out."""
    font = font_for(say, bold)
    if stringWidth(say, font, size) <= wide_mm * PT_MM:
        return say
    while say and stringWidth(say + "...", font, size) > wide_mm * PT_MM:
        say = say[:-1]
    return say + "..."


def _draw_picture(canvas: Canvas, picture: Picture, x: float, y: float, look: Look) -> None:
    high = picture_mm(picture, look)
    scale = scale_of(picture, look.column_mm, high + 1e-6)
    x0, y0, x1, y1 = picture.box
    left = x + (look.column_mm - (x1 - x0) / scale) / 2 - x0 / scale
    base = y - high / 2 - (y0 + y1) / 2 / scale
    for stroke in picture.strokes:
        _draw_stroke(canvas, stroke, left, base, scale)
    for word in words_apart(picture, scale):
        at = (
            left + word.at[0] / scale + word.shift_mm[0],
            base + word.at[1] / scale + word.shift_mm[1],
        )
        _draw_word(canvas, word, at, look)
    line = y - high - 0.5 * look.line_mm
    for say in caption_lines(picture, look, high):
        canvas.setFont(font_for(say), 0.9 * look.size_pt)
        canvas.drawCentredString((x + look.column_mm / 2) * PT_MM, line * PT_MM, say)
        line -= look.line_mm


def _draw_stroke(canvas: Canvas, stroke: DrawnLine, left: float, base: float, scale: float) -> None:
    path = canvas.beginPath()
    for k, (px, py) in enumerate(stroke.points):
        go = path.moveTo if k == 0 else path.lineTo
        go((left + px / scale) * PT_MM, (base + py / scale) * PT_MM)
    if stroke.closed:
        path.close()
    canvas.saveState()
    canvas.setLineWidth(stroke.width_mm * PT_MM)
    canvas.setStrokeGray(stroke.line or 0.0)
    canvas.setFillGray(stroke.fill or 0.0)
    if stroke.dash_mm:
        canvas.setDash([mm * PT_MM for mm in stroke.dash_mm])
    canvas.drawPath(path, stroke=int(stroke.line is not None), fill=int(stroke.fill is not None))
    canvas.restoreState()


MOST_IN_PICTURE_PT = 8.5


def _draw_word(canvas: Canvas, word: Word, at: tuple[float, float], look: Look) -> None:
    font = font_for(word.say, bold=True)
    size = min(look.size_pt, MOST_IN_PICTURE_PT)
    if word.ringed:
        radius = max(1.55, stringWidth(word.say, font, size) / PT_MM / 2 + 0.5)
        canvas.saveState()
        canvas.setFillGray(1.0)
        canvas.setLineWidth(0.2 * PT_MM)
        canvas.circle(at[0] * PT_MM, at[1] * PT_MM, radius * PT_MM, stroke=1, fill=1)
        canvas.restoreState()
    canvas.setFont(font, size)
    canvas.drawCentredString(at[0] * PT_MM, at[1] * PT_MM - 0.35 * size, word.say)


def _heading(
    canvas: Canvas, sheet: Sheet, wide: float, high: float, number: int, count: int
) -> float:
    """Draw title and verdict; return where the columns begin [mm]."""
    y = high - MARGIN_MM - 5.0
    room = wide - 2 * MARGIN_MM
    _write(canvas, _cut_to(sheet.title, room, TITLE_PT, True), MARGIN_MM, y, TITLE_PT, bold=True)
    y -= 4.4
    page = "" if count == 1 else f" - side {number} of {count}"
    _write(
        canvas, _cut_to(sheet.made_by, room - 20, SMALL_PT, False) + page, MARGIN_MM, y, SMALL_PT
    )
    y -= 5.2
    head, advice = verdict_lines(sheet, wide)
    for line in head:
        _write(canvas, line, MARGIN_MM, y, HEAD_PT, bold=True)
        y -= 4.3
    for line in advice:
        _write(canvas, line, MARGIN_MM, y, 8.5)
        y -= 3.6
    return high - MARGIN_MM - heading_mm(sheet, wide)


def _foot(canvas: Canvas, sheet: Sheet, wide: float) -> None:
    room = (wide - 2 * MARGIN_MM) * PT_MM
    y = MARGIN_MM + FOOT_MM - 7.5
    draw_bar(canvas, MARGIN_MM, y)
    say = "Print at 100 %: this bar is 100 mm long."
    _write(canvas, say, MARGIN_MM + BAR_MM + 4, y - 1.0, 7.5)
    y -= 5.0
    for line in simpleSplit(sheet.cautions, font_for(sheet.cautions), SMALL_PT, room):
        _write(canvas, line, MARGIN_MM, y, SMALL_PT)
        y -= 2.95
