"""A bench sheet as PDF: two columns on one side if that can be, in black, white and greys."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass

from reportlab.lib.utils import simpleSplit
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas

from squeeze.show.paper import BAR_MM, PAPERS, PT_MM, draw_bar, font_for
from squeeze.show.sheet.contents import Grid, Part, Row, Sheet
from squeeze.show.sheet.picture import DrawnLine, Picture, Word, scale_of, words_apart

MARGIN_MM, GUTTER_MM = 10.0, 5.0
FOOT_MM = 24.0
LABEL_GAP_MM, MOST_LABEL = 2.0, 0.34
SIZES = (
    *((size, 1.0) for size in (10.0, 9.5, 9.0, 8.5)),
    *((size, share) for size in (8.5, 8.0, 7.5, 7.0) for share in (1.0, 0.85, 0.7)),
)
"""Letters [pt], and shares of a picture's full height: the first pair with which all goes on one
side is taken. Letters are large only where no picture has to shrink for them."""

WHOLE_PT = 8.5
"""Letters may shrink to this [pt] where that keeps each step of the work in one column."""

MOST_IN_PICTURE_PT = 8.5
NARROW = 0.72
"""Numbers of a table take no more of its width; the rest is for the first column."""


@dataclass(frozen=True)
class Look:
    """Size of letters [pt], pictures over their full height, width of column and labels [mm]."""

    size_pt: float
    picture: float
    column_mm: float
    label_mm: float

    @property
    def line_mm(self) -> float:
        """From one line to the next."""
        return 1.19 * self.size_pt / PT_MM


@dataclass(frozen=True)
class SheetPart:
    """A part that is not broken over columns: what it is and how high it is [mm]."""

    part: Part | str
    high_mm: float


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
    look, pages = _laid_out(sheet, wide, high)
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


Column = list[SheetPart]


def _laid_out(sheet: Sheet, wide: float, high: float) -> tuple[Look, list[list[Column]]]:
    """Return the look and the pages with which the sheet takes the fewest sides."""
    column = (wide - 2 * MARGIN_MM - GUTTER_MM) / 2
    tried = []
    for size, picture in SIZES:
        fewest = min((len(pages) for _, pages in tried), default=0)
        if fewest == 1 and (size < WHOLE_PT or picture < 1):
            break
        look = Look(size, picture, column, _label_mm(sheet, size, column))
        pages = _pages(sheet, look, wide, high)
        if len(pages) == 1 and _is_whole(pages[0]):
            return look, pages
        tried.append((look, pages))
    fewest = min(len(pages) for _, pages in tried)
    return next((look, pages) for look, pages in tried if len(pages) == fewest)


def _is_whole(columns: list[Column]) -> bool:
    """Return whether each column begins with a step of the work, so that none is broken."""
    return all(isinstance(column[0].part, str) for column in columns if column)


def _label_mm(sheet: Sheet, size: float, column: float) -> float:
    """Return how wide the labels of all rows are, so that what they say stands in one line [mm]."""
    words = [row.label for step in sheet.steps for row in step.rows]
    widest = max((stringWidth(say, font_for(say, True), size) for say in words), default=0.0)
    return min(widest / PT_MM + LABEL_GAP_MM, MOST_LABEL * column)


def _pages(sheet: Sheet, look: Look, wide: float, high: float) -> list[list[Column]]:
    """Return the columns of each page; on one page both end at about the same height."""
    room = high - 2 * MARGIN_MM - FOOT_MM - _heading_mm(sheet, wide)
    blocks = list(_blocks(sheet, look))
    columns = _two(blocks, room) or _columns(blocks, room)
    return [columns[k : k + 2] for k in range(0, len(columns), 2)]


def _two(blocks: list[SheetPart], room: float) -> list[Column]:
    """Return two columns, parted between steps where that fits; nothing if they are too high.

    Of the places where they may be parted, the one that leaves both about as high is taken.
    """
    heights = [block.high_mm for block in blocks]
    found: list[tuple[bool, float, int]] = []
    for k in range(1, len(blocks)):
        high = max(sum(heights[:k]), sum(heights[k:]))
        if high <= room and not isinstance(blocks[k - 1].part, str):
            found.append((not isinstance(blocks[k].part, str), high, k))
    if not found:
        return []
    _, _, k = min(found)
    return [blocks[:k], blocks[k:]]


def _columns(blocks: list[SheetPart], room: float) -> list[Column]:
    columns: list[Column] = [[]]
    left = room
    for k, block in enumerate(blocks):
        need = block.high_mm
        if isinstance(block.part, str) and k + 1 < len(blocks):
            need += blocks[k + 1].high_mm  # no heading alone at a column's foot
        if need > left and columns[-1]:
            columns.append([])
            left = room
        columns[-1].append(block)
        left -= block.high_mm
    return columns


def _blocks(sheet: Sheet, look: Look) -> Iterator[SheetPart]:
    for number, step in enumerate(sheet.steps, start=1):
        yield SheetPart(f"{number}  {step.name}", 1.75 * look.line_mm)
        for part in step.parts:
            if isinstance(part, Grid):
                yield from _rows_of(part, look)
            else:
                yield SheetPart(part, _high(part, look))


MOST_ROWS = 12
"""A longer table may be broken over columns."""


def _rows_of(grid: Grid, look: Look) -> Iterator[SheetPart]:
    """Yield a table, in several where it is long."""
    for k in range(0, len(grid.rows), MOST_ROWS):
        part = Grid(grid.heads, grid.rows[k : k + MOST_ROWS], grid.wide)
        yield SheetPart(part, _high(part, look))


def _high(part: Part, look: Look) -> float:
    if isinstance(part, Row):
        return max(1, len(_lines(part, look))) * look.line_mm + 0.35
    if isinstance(part, Grid):
        return (len(part.rows) + 1) * look.line_mm + 1.6
    high = _picture_mm(part, look)
    return high + len(_caption(part, look, high)) * look.line_mm + 1.2


def _lines(row: Row, look: Look) -> list[str]:
    wide = look.column_mm - look.label_mm
    return simpleSplit(row.say, font_for(row.say), look.size_pt, wide * PT_MM)


def _picture_mm(picture: Picture, look: Look) -> float:
    """Return how high a picture is on paper."""
    most = picture.most_high_mm * look.picture
    _, y0, _, y1 = picture.box
    scale = scale_of(picture, look.column_mm, most)
    return min(most, (y1 - y0) / scale + 2 * picture.room_mm)


def _caption(picture: Picture, look: Look, high: float) -> list[str]:
    scale = scale_of(picture, look.column_mm, high + 1e-6)
    told = "true size" if scale == 1 else f"1 : {scale:.3g}"
    say = picture.caption.format(scale=told)
    return simpleSplit(say, font_for(say), 0.9 * look.size_pt, look.column_mm * PT_MM)


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
    for line in _lines(row, look):
        _write(canvas, line, x + look.label_mm, base, look.size_pt)
        base -= look.line_mm


def _draw_grid(canvas: Canvas, grid: Grid, x: float, y: float, look: Look) -> None:
    base = y - 0.6 - 0.85 * look.line_mm
    widths = _widths(grid, look)
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
        base -= look.line_mm


def _widths(grid: Grid, look: Look) -> list[float]:
    """Return the columns' widths [mm]: what the numbers and their heads need, the rest is names."""
    head = stringWidth(grid.heads[0], font_for(grid.heads[0], True), look.size_pt) / PT_MM + 1.1
    for apart in (3.0, 2.0, 1.2):
        need = [apart + _widest(grid, column, look) for column in range(1, len(grid.heads))]
        if head + sum(need) <= look.column_mm and sum(need) <= NARROW * look.column_mm:
            return [look.column_mm - sum(need), *need]
    return [share * look.column_mm for share in grid.wide]


def _widest(grid: Grid, column: int, look: Look) -> float:
    """Return how wide the widest entry of a table's column is [mm]."""
    says = (grid.heads[column], *(row[column] for row in grid.rows))
    fonts = (font_for(say, k == 0) for k, say in enumerate(says))
    return max(map(stringWidth, says, fonts, [look.size_pt] * len(says))) / PT_MM


def _cut_to(say: str, wide_mm: float, size: float, bold: bool) -> str:
    """Return a word cut to a width, with dots where something is left out."""
    font = font_for(say, bold)
    if stringWidth(say, font, size) <= wide_mm * PT_MM:
        return say
    while say and stringWidth(say + "...", font, size) > wide_mm * PT_MM:
        say = say[:-1]
    return say + "..."


def _draw_picture(canvas: Canvas, picture: Picture, x: float, y: float, look: Look) -> None:
    high = _picture_mm(picture, look)
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
    for say in _caption(picture, look, high):
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


HEAD_PT, TITLE_PT, SMALL_PT = 10.0, 15.0, 7.0


def _head_lines(sheet: Sheet, wide: float) -> tuple[list[str], list[str]]:
    room = (wide - 2 * MARGIN_MM) * PT_MM
    head = simpleSplit(sheet.head, font_for(sheet.head, bold=True), HEAD_PT, room)
    advice = [
        line for say in sheet.advice[:2] for line in simpleSplit(say, font_for(say), 8.5, room)
    ]
    return head, advice


def _heading_mm(sheet: Sheet, wide: float) -> float:
    head, advice = _head_lines(sheet, wide)
    return 11.0 + 4.3 * len(head) + 3.6 * len(advice) + 1.5


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
    head, advice = _head_lines(sheet, wide)
    for line in head:
        _write(canvas, line, MARGIN_MM, y, HEAD_PT, bold=True)
        y -= 4.3
    for line in advice:
        _write(canvas, line, MARGIN_MM, y, 8.5)
        y -= 3.6
    return high - MARGIN_MM - _heading_mm(sheet, wide)


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
