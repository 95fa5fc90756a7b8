"""How a bench sheet lies on paper: size of letters, columns, and which part stands in which."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from reportlab.lib.utils import simpleSplit
from reportlab.pdfbase.pdfmetrics import stringWidth

from squeeze.show.paper import PT_MM, font_for
from squeeze.show.sheet.contents import Sheet
from squeeze.show.sheet.parts import Grid, Part, Row
from squeeze.show.sheet.picture import Picture, scale_of

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


Column = list[SheetPart]


def laid_out(sheet: Sheet, wide: float, high: float) -> tuple[Look, list[list[Column]]]:
    """Return the look and the pages with which a sheet takes the fewest sides.

    Parameters
    ----------
    sheet : Sheet
    wide, high : float
        Of the paper [mm].
    """
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
    room = high - 2 * MARGIN_MM - FOOT_MM - heading_mm(sheet, wide)
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
        if high <= room and not isinstance(blocks[k - 1].part, str) and not _goes_on(blocks[k]):
            found.append((not isinstance(blocks[k].part, str), high, k))
    if not found:
        return []
    _, _, k = min(found)
    return [blocks[:k], blocks[k:]]


def _columns(blocks: list[SheetPart], room: float) -> list[Column]:
    columns: list[Column] = [[]]
    left = room
    for k, block in enumerate(blocks):
        need = _together_mm(blocks, k)
        if columns[-1] and (block.high_mm > left or left < need <= room):
            columns.append([])
            left = room
        columns[-1].append(block)
        left -= block.high_mm
    return columns


def _goes_on(block: SheetPart) -> bool:
    """Return whether a row goes on with the label of the one above."""
    return isinstance(block.part, Row) and not block.part.label


def _together_mm(blocks: list[SheetPart], k: int) -> float:
    """Return how high a part is with those that should stay with it: a heading with what comes.

    A row stays with those that go on with its label.
    """
    high = blocks[k].high_mm
    if _goes_on(blocks[k]):
        return high
    for before, block in pairwise(blocks[k:]):
        if not isinstance(before.part, str) and not _goes_on(block):
            break
        high += block.high_mm
    return high


def _blocks(sheet: Sheet, look: Look) -> Iterator[SheetPart]:
    for number, step in enumerate(sheet.steps, start=1):
        yield SheetPart(f"{number}  {step.name}", 1.75 * look.line_mm)
        for part in step.parts:
            if isinstance(part, Grid):
                yield from _rows_of(part, look)
            else:
                yield SheetPart(part, _high(part, look))


UNDER_HEAD_MM = 0.7
"""Left free between a table's head and its first row, for the line between them [mm]."""

MOST_ROWS = 12
"""A longer table may be broken over columns."""


def _rows_of(grid: Grid, look: Look) -> Iterator[SheetPart]:
    """Yield a table, in several where it is long."""
    for k in range(0, len(grid.rows), MOST_ROWS):
        part = Grid(grid.heads, grid.rows[k : k + MOST_ROWS], grid.wide)
        yield SheetPart(part, _high(part, look))


def _high(part: Part, look: Look) -> float:
    if isinstance(part, Row):
        return max(1, len(lines_of(part, look))) * look.line_mm + 0.35
    if isinstance(part, Grid):
        return (len(part.rows) + 1) * look.line_mm + UNDER_HEAD_MM + 1.6
    high = picture_mm(part, look)
    return high + len(caption_lines(part, look, high)) * look.line_mm + 1.2


def lines_of(row: Row, look: Look) -> list[str]:
    """Return the lines that a row says beside its label."""
    wide = look.column_mm - look.label_mm
    return simpleSplit(row.say, font_for(row.say), look.size_pt, wide * PT_MM)


def picture_mm(picture: Picture, look: Look) -> float:
    """Return how high a picture is on paper."""
    most = picture.most_high_mm * look.picture
    _, y0, _, y1 = picture.box
    scale = scale_of(picture, look.column_mm, most)
    return min(most, (y1 - y0) / scale + 2 * picture.room_mm)


def caption_lines(picture: Picture, look: Look, high: float) -> list[str]:
    """Return the lines under a picture that is at most `high` [mm] on paper."""
    scale = scale_of(picture, look.column_mm, high + 1e-6)
    in_words = "true size" if scale == 1 else f"1 : {scale:.3g}"
    say = picture.caption.format(scale=in_words)
    return simpleSplit(say, font_for(say), 0.9 * look.size_pt, look.column_mm * PT_MM)


def widths_mm(grid: Grid, look: Look) -> list[float]:
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


HEAD_PT = 10.0


def verdict_lines(sheet: Sheet, wide: float) -> tuple[list[str], list[str]]:
    """Return the lines of the verdict, and of what to do, on paper `wide` across [mm]."""
    room = (wide - 2 * MARGIN_MM) * PT_MM
    head = simpleSplit(sheet.head, font_for(sheet.head, bold=True), HEAD_PT, room)
    advice = [
        line for say in sheet.advice[:2] for line in simpleSplit(say, font_for(say), 8.5, room)
    ]
    return head, advice


def heading_mm(sheet: Sheet, wide: float) -> float:
    """Return how high title, verdict and advice stand on paper `wide` across [mm]."""
    head, advice = verdict_lines(sheet, wide)
    return 11.0 + 4.3 * len(head) + 3.6 * len(advice) + 1.5
