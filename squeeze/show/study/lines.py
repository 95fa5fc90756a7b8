"""Lines over a number, or bars over words: measures of a study against one column."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure as Drawn
from matplotlib.patches import Patch

from squeeze.show.figure.section import HATCH, INK, SOFT
from squeeze.show.figure.tint import tint
from squeeze.show.study.ends import GAP_IN, LETTERS_PT, label_ends
from squeeze.show.study.labels import is_number, label_of, said, value_of
from squeeze.show.text.line_breaks import fill
from squeeze.study import Study
from squeeze.study.measure_errors import ERROR
from squeeze.study.plan.tables import FigureTable
from squeeze.verdict.words import MM_PER_INCH

Row = dict[str, Any]
MM = 1 / MM_PER_INCH
MARKS = "osD^vPX*<>"
DASHES = ("-", (0, (6, 2)), (0, (2, 1.5)), (0, (6, 2, 1, 2)))
COLOURS = ("#1d1d1b", "#0b66b2", "#c2500a", "#0e8163", "#8a3d97", "#8c7300")
"""Hues far apart, of even darkness: for lines alone. Pressure keeps its own single hue."""

TITLE_IN, EDGE_IN = 0.52, 0.62
LETTER_MM = 1.75
"""Width of a letter in keys and under bars [mm]."""


def draw_lines(figure: FigureTable, rows: Sequence[Row], study: Study) -> Drawn:
    """Return the figure: a line for each value of `each`, a panel for each measure.

    Over words there are bars in place of lines. A case without an answer has no mark; where it
    would have a bar stands why.
    """
    assert figure.x is not None
    over_words = not all(is_number(row[figure.x]) for row in rows)
    return (_bars if over_words else _lines)(figure, rows, study)


def series_of(figure: FigureTable, rows: Sequence[Row]) -> dict[Any, list[Row]]:
    """Return the rows of each line, in the order in which its value comes first."""
    found: dict[Any, list[Row]] = {}
    for row in rows:
        found.setdefault(row[figure.each] if figure.each else None, []).append(row)
    return found


def looks(k: int, n: int) -> dict[str, Any]:
    """Return the looks of line `k` of `n`: colour, mark and dash, distinct without colour, too.

    The first line is the widest and its marks are the largest, so that lines that run on top of
    each other are all seen.
    """
    early = (n - 1 - k) / max(n - 1, 1)
    colour = COLOURS[k % len(COLOURS)]
    return {
        "color": colour,
        "marker": MARKS[k % len(MARKS)],
        "mfc": "white" if k % 2 == 0 and n > 1 else colour,
        "ls": DASHES[k % len(DASHES)],
        "lw": 1.3 + 1.6 * early,
        "ms": 4.0 + 3.5 * early,
    }


def _lines(figure: FigureTable, rows: Sequence[Row], study: Study) -> Drawn:
    wide, high = figure.size_mm or (160, 45 + 55 * len(figure.y))
    series = series_of(figure, rows)
    names = study.file.names
    head = fill(label_of(figure.each, names), 20) if figure.each else ""
    letters = [*map(value_of, series), *head.split("\n")] if figure.each else []
    right = 1 - (LETTER_MM * max(map(len, letters), default=0) + 10) / wide
    drawn, axes = _panels(wide, high, len(figure.y), 1, 22 / wide, right)
    for ax, measure in zip(axes, figure.y, strict=True):
        for k, (value, part) in enumerate(series.items()):
            x, y = _points(part, str(figure.x), measure)
            ax.plot(x, y, label=value_of(value), **looks(k, len(series)))
            _error_band(ax, part, str(figure.x), measure, looks(k, len(series))["color"])
        _dress(ax, measure, rows, names)
    axes[-1].set_xlabel(label_of(str(figure.x), names))
    for ax in axes[:-1]:
        ax.tick_params(labelbottom=False)
    if figure.each:
        for ax in axes:
            place = ax.get_position()
            label_ends(ax, (wide * MM * place.width, high * MM * place.height))
        _end_head(axes[0], head)
    return _titled(drawn, figure, study, rows)


def _end_head(ax: Axes, head: str) -> None:
    """Write over the labels at the ends what they are values of."""
    ax.annotate(
        head,
        (1, 1),
        (72 * GAP_IN, 10),
        xycoords="axes fraction",
        textcoords="offset points",
        annotation_clip=False,
        va="bottom",
        fontsize=LETTERS_PT,
        color=SOFT,
    )


def _points(rows: Sequence[Row], x: str, y: str) -> tuple[np.ndarray, np.ndarray]:
    """Return the points of a line, NaN where there is no answer."""
    found = sorted(((row[x], row[y]) for row in rows), key=lambda pair: pair[0])
    values = [np.nan if value is None else float(value) for _, value in found]
    return np.array([at for at, _ in found], float), np.array(values)


def _error_band(ax: Axes, rows: Sequence[Row], x: str, measure: str, colour: str) -> None:
    """Draw how far the points are off, where the study knows: a light band, and a bar at each."""
    if not has_errors(measure, rows):
        return
    at, y = _points(rows, x, measure)
    off = np.nan_to_num(_points(rows, x, ERROR + measure)[1])
    ax.fill_between(at, y - off, y + off, color=colour, alpha=0.18, lw=0, zorder=1)
    ax.errorbar(at, y, off, fmt="none", ecolor=colour, elinewidth=0.8, capsize=2, zorder=1)


def has_errors(measure: str, rows: Sequence[Row]) -> bool:
    """Return whether any row says how far a measure is off."""
    return any(row.get(ERROR + measure) is not None for row in rows)


def error_words(measures: Sequence[str], rows: Sequence[Row]) -> str:
    """Say what the light bands and bars of `measures` are; nothing where there are none."""
    there = any(has_errors(measure, rows) for measure in measures)
    return "light bands and bars: error of the mesh" if there else ""


def _dress(ax: Axes, measure: str, rows: Sequence[Row], names: Mapping[str, str]) -> None:
    ax.set_ylabel(fill(label_of(measure, names), 26))
    ax.grid(color="#dddddd", lw=0.6)
    ax.set_axisbelow(True)
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)
    if _is_share(measure):
        ax.set_ylim(-0.03, 1.03)
    elif any(isinstance(row[measure], bool) for row in rows):
        ax.set_ylim(-0.2, 1.2)
        ax.set_yticks([0, 1], ["no", "yes"])
    else:
        _zero_in(ax, [float(row[measure]) for row in rows if row[measure] is not None])


def _zero_in(ax: Axes, values: list[float]) -> None:
    """Let the axis begin at zero, or take it in; leave room for the marks."""
    low, high = min([0.0, *values]), max([0.0, *values])
    room = 0.06 * ((high - low) or 1.0)
    ax.set_ylim(low - (room if low < 0 else 0.3 * room), high + room)


def _is_share(measure: str) -> bool:
    return measure.endswith(("_share", "evenness"))


def held_words(figure: FigureTable, study: Study) -> str:
    """Say which columns a figure holds at which value."""
    names = study.file.names
    return ", ".join(said(k, v, names) for k, v in figure.where.items() if not isinstance(v, list))


def _bars(figure: FigureTable, rows: Sequence[Row], study: Study) -> Drawn:
    assert figure.x is not None
    words = list(dict.fromkeys(row[figure.x] for row in rows))
    series = series_of(figure, rows)
    height = 7.0 * max(1.0, 0.62 * len(series)) * len(words)
    wide, high = figure.size_mm or (max(160, 60 * len(figure.y) + 40), 34 + height)
    longest = max(len(value_of(word)) for word in words)
    left = min(0.4, (6 + 1.9 * longest) / wide)
    drawn, axes = _panels(wide, high, 1, len(figure.y), left, 0.97, 14 / high)
    letters = int((0.97 - left) * wide / len(figure.y) / LETTER_MM) - 2
    for ax, measure in zip(axes, figure.y, strict=True):
        for k, part in enumerate(series.values()):
            _bar_row(ax, measure, part, figure.x, words, k, len(series))
        _dress_bars(ax, measure, rows, words)
        ax.set_xlabel(fill(label_of(measure, study.file.names), letters), fontsize=9)
    for ax in axes[1:]:
        ax.tick_params(labelleft=False)
    if figure.each:
        _bar_key(drawn, label_of(figure.each, study.file.names), list(series))
    return _titled(drawn, figure, study, rows)


def _bar_row(
    ax: Axes, measure: str, rows: Sequence[Row], x: str, words: list, k: int, n: int
) -> None:
    thick = 0.74 / n
    for row in rows:
        y = words.index(row[x]) + (k - (n - 1) / 2) * thick
        value = row[measure]
        size = float(value or 0)
        looks_ = {"color": _bar_tint(k, n), "edgecolor": INK, "hatch": _bar_hatch(k)}
        ax.barh(y, size, 0.9 * thick, lw=0.6, **looks_)
        text = value_of(value) if value is not None else _why(row)
        if off := row.get(ERROR + measure):
            text += f" ± {value_of(float(off))}"
            ax.errorbar(size, y, xerr=off, fmt="none", ecolor=INK, elinewidth=0.8, capsize=2)
            size += off
        ax.annotate(text, (size, y), (3, 0), textcoords="offset points", va="center", fontsize=7.5)


def _why(row: Row) -> str:
    return str(row["outcome"] if row["state"] == "done" else row["state"])


def _dress_bars(ax: Axes, measure: str, rows: Sequence[Row], words: list) -> None:
    ax.set_yticks(range(len(words)), [value_of(word) for word in words])
    ax.set_ylim(len(words) - 0.45, -0.55)
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)
    ax.tick_params(labelsize=8.5)
    top = max((float(row[measure] or 0) for row in rows), default=1.0)
    if _is_share(measure):
        ax.set_xlim(0, 1.25)
        ax.set_xticks([0, 0.5, 1])
    elif all((row[measure] or 0) >= 0 for row in rows):
        ax.set_xlim(0, 1.28 * top if top > 0 else 1)


def _bar_key(drawn: Drawn, label: str, values: list) -> None:
    n = len(values)
    handles = [Patch(fc=_bar_tint(k, n), ec=INK, hatch=_bar_hatch(k)) for k in range(n)]
    drawn.legend(
        handles,
        [f"{label}: {value_of(v)}" for v in values],
        loc="lower left",
        bbox_to_anchor=(0.01, 0.0),
        ncols=min(n, 4),
        frameon=False,
        fontsize=8,
    )


def _bar_tint(k: int, n: int) -> tuple[float, float, float]:
    return tint(0.25 + 0.6 * k / max(n - 1, 1))


def _bar_hatch(k: int) -> str | None:
    return HATCH if k % 2 else None


def _panels(
    wide: float, high: float, rows: int, columns: int, left: float, right: float, foot: float = 0.0
) -> tuple[Drawn, list[Axes]]:
    """Return a figure of a size [mm] with panels between `left` and `right` (shares)."""
    drawn = Drawn(figsize=(wide * MM, high * MM))
    FigureCanvasAgg(drawn)
    h = high * MM
    grid = drawn.add_gridspec(
        rows,
        columns,
        left=left,
        right=right,
        top=1 - TITLE_IN / h,
        bottom=max(EDGE_IN / h, foot),
        hspace=0.12,
        wspace=0.1,
    )
    axes: list[Axes] = []
    for k in range(rows * columns):
        shared = {"sharex": axes[0]} if axes and rows > 1 else {}
        axes.append(drawn.add_subplot(grid[k // columns, k % columns], **shared))
    return drawn, axes


def _titled(drawn: Drawn, figure: FigureTable, study: Study, rows: Sequence[Row]) -> Drawn:
    h = drawn.get_size_inches()[1]
    title = figure.title or study.file.title
    drawn.text(0.02, 1 - 0.1 / h, title, va="top", fontsize=10.5, fontweight="bold")
    below = "; ".join(filter(None, (held_words(figure, study), error_words(figure.y, rows))))
    if below:
        drawn.text(0.02, 1 - 0.32 / h, below, va="top", fontsize=8, color=SOFT)
    return drawn
