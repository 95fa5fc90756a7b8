"""A map of a measure over two columns of a study: tinted fields with their numbers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure as Drawn
from matplotlib.patches import Rectangle

from squeeze.show.figure.section import HATCH, INK, SOFT
from squeeze.show.figure.tint import Levels, levels, tint
from squeeze.show.study.labels import label_of, value_of
from squeeze.show.study.lines import held_words
from squeeze.show.text.line_breaks import fill
from squeeze.study import Study
from squeeze.study.measure_errors import ERROR
from squeeze.study.plan.tables import FigureTable
from squeeze.verdict.words import MM_PER_INCH

Row = dict[str, Any]
MM = 1 / MM_PER_INCH
CELL_MM = (14.0, 9.0)
BOTTOM_MM = 22.0
SMALL_MM = 1.75
"""Width of a small letter."""

LETTER = CELL_MM[0] / 2.2
"""Letters of a title over one field."""
YES_NO = Levels(1.0, (tint(0.0), tint(0.75)))


def draw_map(figure: FigureTable, rows: Sequence[Row], study: Study) -> Drawn:
    """Return the map; a case without an answer is hatched."""
    assert figure.x is not None
    assert figure.value is not None
    across, up = sorted_values(rows, figure.x), _upwards(rows, figure.y[0])
    title = fill(figure.title or study.file.title, max(30, round(LETTER * len(across) + 24)))
    left = 16 + 1.9 * max(len(value_of(value)) for value in up)
    top = 8 + 4.5 * title.count("\n") + 4
    fields = CELL_MM[0] * len(across)
    over = max(0.0, 0.5 * (1.9 * len(label_of(figure.x, study.file.names)) - fields))
    wide = max(left + fields + max(6, over + 3), 2.2 * max(map(len, title.split("\n"))) + 8)
    below = fill(_below(figure, rows, study), int((wide - 6) / SMALL_MM))
    bottom = BOTTOM_MM + 3.4 * below.count("\n")
    high = top + CELL_MM[1] * len(up) + bottom
    drawn = Drawn(figsize=(wide * MM, high * MM))
    FigureCanvasAgg(drawn)
    size = fields / wide, CELL_MM[1] * len(up) / high
    ax = drawn.add_axes((left / wide, bottom / high, *size))
    scale = _levels(rows, figure.value)
    for row in rows:
        x, y = across.index(row[figure.x]), up.index(row[figure.y[0]])
        _cell(ax, x, y, row[figure.value], scale)
    _dress(ax, figure, across, up, study.file.names)
    drawn.text(3 / wide, 1 - 3 / high, title, va="top", fontsize=10.5, fontweight="bold")
    drawn.text(3 / wide, 3 / high, below, fontsize=8, color=SOFT)
    return drawn


def _below(figure: FigureTable, rows: Sequence[Row], study: Study) -> str:
    """Say what stands in the fields."""
    assert figure.value is not None
    text = f"in the fields: {label_of(figure.value, study.file.names)}"
    if held := held_words(figure, study):
        text += f"; {held}"
    errors = [row.get(ERROR + figure.value) for row in rows]
    if known := [each for each in errors if each is not None]:
        text += f"; error of the mesh at most {value_of(max(known))}"
    return text + ("; hatched: no answer" if any(row[figure.value] is None for row in rows) else "")


def sorted_values(rows: Sequence[Row], name: str) -> list:
    """Return the values of the column `name`: numbers by size, words as they come."""
    values = list(dict.fromkeys(row[name] for row in rows))
    return values if any(isinstance(v, str) for v in values) else sorted(values)


def _upwards(rows: Sequence[Row], name: str) -> list:
    """Return the values of the upright axis: numbers grow upwards, words read downwards."""
    values = sorted_values(rows, name)
    return values[::-1] if any(isinstance(v, str) for v in values) else values


def _levels(rows: Sequence[Row], measure: str) -> Levels:
    values = [row[measure] for row in rows if row[measure] is not None]
    if any(isinstance(value, bool) for value in values):
        return YES_NO
    return levels(max((abs(float(value)) for value in values), default=1.0) or 1.0)


def _cell(ax: Axes, x: int, y: int, value: Any, scale: Levels) -> None:
    if value is None:
        ax.add_patch(Rectangle((x, y), 1, 1, fc="white", ec=INK, lw=0.5, hatch=HATCH))
        return
    colour = scale.of([abs(float(value))])[0]
    ax.add_patch(Rectangle((x, y), 1, 1, fc=colour, ec=INK, lw=0.5))
    ink = "white" if sum(colour) < 1.5 else INK
    text = _short(value, scale) if isinstance(value, float) else value_of(value)
    ax.text(x + 0.5, y + 0.5, text, ha="center", va="center", fontsize=8, color=ink)


def _short(value: float, scale: Levels) -> str:
    """Return two figures of a number; 0 for what is less than a thousandth of the scale."""
    return "0" if abs(value) < scale.edges[-1] / 1000 else f"{value:.2g}"


def _dress(ax: Axes, figure: FigureTable, across: list, up: list, names: Mapping[str, str]) -> None:
    ax.set_xlim(0, len(across))
    ax.set_ylim(0, len(up))
    ax.set_xticks([k + 0.5 for k in range(len(across))], [value_of(v) for v in across])
    ax.set_yticks([k + 0.5 for k in range(len(up))], [value_of(v) for v in up])
    ax.tick_params(length=0, labelsize=8.5)
    ax.set_xlabel(label_of(str(figure.x), names))
    ax.set_ylabel(fill(label_of(figure.y[0], names), 24))
    for side in ax.spines.values():
        side.set_visible(False)
