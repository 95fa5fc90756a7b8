"""Templates as a PDF in true size, in tiles on A4 or Letter paper."""

from __future__ import annotations

import io
import math
from dataclasses import dataclass

from reportlab.pdfgen.canvas import Canvas

from squeeze.mold.geometry.curve import Line
from squeeze.show.paper import PAPERS, PT_MM, draw_bar, font_for
from squeeze.show.template.drawing import Template

MARGIN_MM, FOOT_MM, OVERLAP_MM = 12.0, 20.0, 10.0
CAUTION = "Estimates for planning. Cut and saw with guards and eye protection."


@dataclass(frozen=True)
class Tiles:
    """How a template is laid out over sheets.

    Attributes
    ----------
    paper_mm : (float, float)
        Width and height of a sheet as it lies.
    inner_mm : (float, float)
        What one sheet shows, overlap included.
    columns, rows : int
    """

    paper_mm: tuple[float, float]
    inner_mm: tuple[float, float]
    columns: int
    rows: int

    @property
    def step_mm(self) -> tuple[float, float]:
        """From one sheet to the next."""
        return self.inner_mm[0] - OVERLAP_MM, self.inner_mm[1] - OVERLAP_MM


def tiles_of(template: Template, paper: str) -> Tiles:
    """Return the layout with the fewest sheets, upright where that is as good.

    `paper` is a key of `PAPERS`.
    """
    wide, high = PAPERS[paper]
    lying = [_tiles(template, size) for size in ((wide, high), (high, wide))]
    return min(lying, key=lambda tiles: tiles.columns * tiles.rows)


def _tiles(template: Template, size: tuple[float, float]) -> Tiles:
    inner = size[0] - 2 * MARGIN_MM, size[1] - 2 * MARGIN_MM - FOOT_MM
    counts = (
        max(1, math.ceil((length - OVERLAP_MM) / (room - OVERLAP_MM) - 1e-9))
        for length, room in zip((template.width_mm, template.height_mm), inner, strict=True)
    )
    columns, rows = counts
    return Tiles(size, inner, columns, rows)


def template_pdf(templates: tuple[Template, ...], paper: str, compress: bool = True) -> bytes:
    """Return all templates as one PDF at true size.

    Every sheet carries a bar of 100 mm, "print at 100 %", the piece's name and the sheet's place;
    where a piece takes several sheets they overlap by 10 mm and crosses in the overlap lie on each
    other. The same templates give the same bytes each time.

    Parameters
    ----------
    templates : tuple of Template
    paper : str
        "a4" or "letter".
    compress : bool
        Whether to pack the pages' contents.
    """
    stream = io.BytesIO()
    canvas = Canvas(stream, pageCompression=int(compress), invariant=1)
    canvas.setTitle("Cradle templates, print at 100 %")
    canvas.setViewerPreference("PrintScaling", "None")
    for template in templates:
        tiles = tiles_of(template, paper)
        for row in range(tiles.rows):
            for column in range(tiles.columns):
                _sheet(canvas, template, tiles, column, row)
    canvas.save()
    return stream.getvalue()


def _sheet(canvas: Canvas, template: Template, tiles: Tiles, column: int, row: int) -> None:
    wide, high = tiles.paper_mm
    canvas.setPageSize((wide * PT_MM, high * PT_MM))
    canvas.saveState()
    canvas.translate(MARGIN_MM * PT_MM, (MARGIN_MM + FOOT_MM) * PT_MM)
    frame = canvas.beginPath()
    frame.rect(0, 0, tiles.inner_mm[0] * PT_MM, tiles.inner_mm[1] * PT_MM)
    canvas.clipPath(frame, stroke=0, fill=0)
    step = tiles.step_mm
    canvas.translate(-column * step[0] * PT_MM, -row * step[1] * PT_MM)
    _drawing(canvas, template)
    _crosses(canvas, tiles)
    canvas.restoreState()
    _foot(canvas, template, tiles, column, row)
    canvas.showPage()


def _drawing(canvas: Canvas, template: Template) -> None:
    canvas.setLineWidth(0.25 * PT_MM)
    path = canvas.beginPath()
    x, y = template.outline[0].at(0.0)[0] * PT_MM
    path.moveTo(x, y)
    for piece in template.outline:
        if isinstance(piece, Line):
            path.lineTo(piece.end[0] * PT_MM, piece.end[1] * PT_MM)
            continue
        (cx, cy), r = piece.centre, piece.radii[0]
        box = (v * PT_MM for v in (cx - r, cy - r, cx + r, cy + r))
        begin, sweep = math.degrees(piece.start_rad), math.degrees(piece.sweep_rad)
        path.arcTo(*box, startAng=begin, extent=sweep)  # pyright: ignore[reportArgumentType]
    path.close()
    canvas.drawPath(path)
    canvas.setDash(3 * PT_MM, 2 * PT_MM)
    for line in template.dashed:
        path = canvas.beginPath()
        path.moveTo(*(line[0] * PT_MM))
        for point in line[1:]:
            path.lineTo(*(point * PT_MM))
        canvas.drawPath(path)
    canvas.setDash()
    for text in template.texts:
        canvas.setFont(font_for(text.say), text.high_mm * PT_MM)
        x, y = (v * PT_MM for v in text.at)
        canvas.drawCentredString(x, y - 0.35 * text.high_mm * PT_MM, text.say)


def _crosses(canvas: Canvas, tiles: Tiles) -> None:
    """Draw crosses in the middle of the overlaps, at the same places on both sheets."""
    xs = _joints(tiles.columns, tiles.step_mm[0], tiles.inner_mm[0])
    ys = _joints(tiles.rows, tiles.step_mm[1], tiles.inner_mm[1])
    along_x = _quarters(tiles.columns, tiles.step_mm[0], tiles.inner_mm[0])
    along_y = _quarters(tiles.rows, tiles.step_mm[1], tiles.inner_mm[1])
    canvas.setLineWidth(0.15 * PT_MM)
    for x, y in [(x, y) for x in xs for y in along_y] + [(x, y) for x in along_x for y in ys]:
        a, b, arm = x * PT_MM, y * PT_MM, 4 * PT_MM
        canvas.line(a - arm, b, a + arm, b)
        canvas.line(a, b - arm, a, b + arm)
        canvas.circle(a, b, 1.5 * PT_MM)


def _quarters(count: int, step: float, inner: float) -> list[float]:
    """Return two places on each sheet along one direction."""
    return [k * step + share * inner for k in range(count) for share in (0.25, 0.75)]


def _joints(count: int, step: float, inner: float) -> list[float]:
    """Return the middles of the overlaps along one direction."""
    return [k * step + (inner - step) / 2 for k in range(1, count)]


def _foot(canvas: Canvas, template: Template, tiles: Tiles, column: int, row: int) -> None:
    wide = tiles.paper_mm[0]
    x0, y0 = MARGIN_MM, MARGIN_MM
    canvas.setLineWidth(0.15 * PT_MM)
    width, height = (v * PT_MM for v in tiles.inner_mm)
    canvas.rect(x0 * PT_MM, (y0 + FOOT_MM) * PT_MM, width, height)
    draw_bar(canvas, x0, y0 + 9)
    canvas.setFont("Helvetica", 3.2 * PT_MM)
    say = "Print at 100 % (actual size). This bar is 100 mm long: measure it."
    canvas.drawString(x0 * PT_MM, (y0 + 13) * PT_MM, say)
    canvas.setFont("Helvetica", 2.6 * PT_MM)
    canvas.drawString(x0 * PT_MM, (y0 + 3) * PT_MM, CAUTION)
    right = (wide - MARGIN_MM) * PT_MM
    name = template.name[:40]
    canvas.setFont(font_for(name, bold=True), 3.2 * PT_MM)
    canvas.drawRightString(right, (y0 + 13) * PT_MM, name)
    canvas.setFont("Helvetica", 2.6 * PT_MM)
    place = f"row {row + 1} of {tiles.rows} from below, column {column + 1} of {tiles.columns}"
    single = tiles.rows * tiles.columns == 1
    canvas.drawRightString(right, (y0 + 8.5) * PT_MM, "one sheet" if single else place)
    if not single:
        text = "lay the crosses on each other: 10 mm overlap"
        canvas.drawRightString(right, (y0 + 4.5) * PT_MM, text)
