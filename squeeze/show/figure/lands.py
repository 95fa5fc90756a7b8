"""Pressure and gap along each land."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection
from matplotlib.figure import Figure
from matplotlib.ticker import AutoLocator, MaxNLocator
from numpy.typing import NDArray

from squeeze.show.figure.outlines import interpolated
from squeeze.show.figure.section import HATCH, INK, SOFT, Drawing
from squeeze.show.figure.tint import Levels
from squeeze.show.text.line_breaks import fill
from squeeze.solve.land import Land

Array = NDArray[np.float64]

A_ROW = 6
ROW_IN, PRESSURE_IN, GAP_IN = 3.0, 1.3, 0.62
LEFT_IN, RIGHT_IN, BETWEEN_IN = 0.75, 0.2, 0.3
LEAST_SHARE = 0.75
ERROR_BAND: dict[str, Any] = {"facecolor": "#c2500a", "alpha": 0.45, "lw": 0}
"""How the error of the mesh looks: no tint of pressure has this hue."""


def panel_rows(drawing: Drawing) -> int:
    """Return how many rows of panels the lands take."""
    return int(np.ceil(len(drawing.closing.lands) / A_ROW)) if drawing.solved else 0


def draw_along(figure: Figure, drawing: Drawing, top_in: float) -> None:
    """Draw one panel a land, in rows that begin `top_in` above the lower edge [inch]."""
    lands = drawing.closing.lands
    rows = panel_rows(drawing)
    each = int(np.ceil(len(lands) / max(rows, 1)))
    for row in range(rows):
        numbers = range(row * each, min(len(lands), (row + 1) * each))
        _draw_row(figure, drawing, list(numbers), top_in - row * ROW_IN)


def _draw_row(figure: Figure, drawing: Drawing, numbers: list[int], top_in: float) -> None:
    lands = drawing.closing.lands
    length = np.array([lands[k].length_mm for k in numbers])
    share = np.maximum(length, LEAST_SHARE * length.mean())
    room = figure.get_figwidth() - LEFT_IN - RIGHT_IN - BETWEEN_IN * (len(numbers) - 1)
    wide = room * share / share.sum()
    left = LEFT_IN
    for place, k in enumerate(numbers):
        _draw_panel(figure, drawing, k, (left, top_in - 0.55, float(wide[place])), place == 0)
        left += float(wide[place]) + BETWEEN_IN


def _draw_panel(
    figure: Figure, drawing: Drawing, k: int, box_in: tuple[float, float, float], first: bool
) -> None:
    left, top, wide = box_in
    pressure = _axes(figure, left, top - PRESSURE_IN, wide, PRESSURE_IN)
    gap = _axes(figure, left, top - PRESSURE_IN - GAP_IN - 0.12, wide, GAP_IN)
    land = drawing.closing.lands[k]
    _draw_pressure(pressure, land, k, drawing)
    _draw_gap(gap, land, k, drawing)
    scale, unit = drawing.unit
    name = drawing.verdict.lands[k].name
    if len(drawing.closing.section.cuts) > 1:
        name = f"{land.cut}: {name}"
    title = fill(f"{k + 1}  {name}", max(12, int(wide / 0.068)))
    pressure.set_title(title, fontsize=8.5, loc="left", pad=4)
    pressure.tick_params(labelbottom=False)
    times, name_of_pressure = drawing.pressure_unit
    if drawing.inches:
        pressure.yaxis.set_major_locator(_RoundIn(times))
        pressure.yaxis.set_major_formatter(lambda value, _: f"{value * times:.3g}")
    if first:
        pressure.set_ylabel(f"pressure [{name_of_pressure}]", fontsize=8.5)
        gap.set_ylabel(f"gap [{unit}]", fontsize=8.5)
        gap.set_xlabel(f"along the land [{unit}]", fontsize=8.5, loc="left")
    for ax in (pressure, gap):
        ax.set_xlim(0.0, land.length_mm * scale)
        ax.tick_params(labelleft=first)
        ax.yaxis.set_label_coords(-0.5 / wide, 0.5)


class _RoundIn(AutoLocator):
    """Ticks at round figures of the unit that is shown; `times` of it make one that is drawn."""

    def __init__(self, times: float) -> None:
        super().__init__()
        self.times = times

    def tick_values(self, vmin: float, vmax: float) -> Sequence[float]:
        """Return where the ticks stand, in the unit that is drawn."""
        return [v / self.times for v in super().tick_values(vmin * self.times, vmax * self.times)]


def _axes(figure: Figure, left: float, bottom: float, wide: float, high: float) -> Axes:
    w, h = figure.get_size_inches()
    ax = figure.add_axes((left / w, bottom / h, wide / w, high / h))
    ax.spines[["top", "right"]].set_visible(False)
    ax.tick_params(labelsize=8, length=3)
    ax.xaxis.set_major_locator(MaxNLocator(max(2, int(wide / 0.45)), min_n_ticks=2))
    return ax


@dataclass(frozen=True)
class Curves:
    """What is drawn along a land: its places, and one more midway wherever it begins to open.

    Somewhere between a place that presses and the next one, which is open, pressure and gap are
    both zero. Midway is where they are drawn so.

    Attributes
    ----------
    s_mm, pressure_kpa, gap_mm : (n,) array
    open_mm : list of (float, float)
        From where to where the land is open.
    """

    s_mm: Array
    pressure_kpa: Array
    gap_mm: Array
    open_mm: list[tuple[float, float]]


def curves(land: Land) -> Curves:
    """Return the curves of a land, so that none shows pressure where it shows a gap."""
    s, is_open = land.s_mm, land.gap_mm > 0
    turn = np.flatnonzero(is_open[1:] != is_open[:-1]) + 1
    middle = 0.5 * (s[turn] + s[turn - 1])
    bounds = [s[0], *middle, s[-1]]
    stretches = list(pairwise(bounds))
    return Curves(
        np.insert(s, turn, middle),
        np.insert(np.where(is_open, 0.0, land.pressure_kpa), turn, 0.0),
        np.insert(land.gap_mm, turn, 0.0),
        [(float(a), float(b)) for a, b in stretches[0 if is_open[0] else 1 :: 2]],
    )


def _error_band(ax: Axes, s_mm: Array, values: Array, off: Array, scale: float) -> None:
    """Draw a light band as far as values may be off, over what is there; none below zero."""
    ax.fill_between(
        scale * s_mm, np.maximum(values - off, 0.0), values + off, **ERROR_BAND, zorder=3
    )


def _draw_pressure(ax: Axes, land: Land, k: int, drawing: Drawing) -> None:
    drawn = curves(land)
    s, p = drawn.s_mm * drawing.unit[0], drawn.pressure_kpa
    _fill(ax, interpolated(s), interpolated(p), drawing.levels)
    ax.plot(s, p, color=INK, lw=1.3)
    if (errors := drawing.closing.errors) is not None:
        off = errors.lands[k].pressures_kpa
        _error_band(ax, land.s_mm, land.pressure_kpa, off, drawing.unit[0])
    ax.set_ylim(0.0, 1.1 * _top(drawing))
    ax.axhline(drawing.verdict.needed_kpa, color=SOFT, lw=0.9, ls=(0, (4, 2)))
    _hatch_open(ax, drawn, drawing)
    _star(ax, land, land.pressure_kpa, drawing)


def _fill(ax: Axes, s: Array, p: Array, levels: Levels) -> None:
    """Fill under a curve, each strip in the tint of its level."""
    top, foot = np.column_stack([s, p]), np.column_stack([s, 0 * p])
    strips = np.stack([top[:-1], top[1:], foot[1:], foot[:-1]], axis=1)
    tints = levels.of(0.5 * (p[1:] + p[:-1]))
    ax.add_collection(PolyCollection(list(strips), facecolors=tints, edgecolors=tints, lw=0.4))


def _draw_gap(ax: Axes, land: Land, k: int, drawing: Drawing) -> None:
    scale = drawing.unit[0]
    largest = scale * max(each.largest_gap_mm for each in drawing.closing.lands)
    drawn = curves(land)
    ax.plot(scale * drawn.s_mm, scale * drawn.gap_mm, color=INK, lw=1.3)
    if (errors := drawing.closing.errors) is not None:
        off = errors.lands[k].gaps_mm
        _error_band(ax, land.s_mm, scale * land.gap_mm, scale * off, scale)
    ax.set_ylim(0.0, 1.2 * largest if largest > 0 else 0.1)
    ax.yaxis.set_major_locator(MaxNLocator(3))
    _hatch_open(ax, drawn, drawing)
    _star(ax, land, scale * land.gap_mm, drawing)


def _top(drawing: Drawing) -> float:
    top = max(float(land.pressure_kpa.max()) for land in drawing.closing.lands)
    return max(top, 1.5 * drawing.verdict.needed_kpa)


def _hatch_open(ax: Axes, drawn: Curves, drawing: Drawing) -> None:
    scale = drawing.unit[0]
    for a, b in drawn.open_mm:
        ax.axvspan(scale * a, scale * b, fc="none", ec="#bbbbbb", hatch=HATCH, lw=0)


def _star(ax: Axes, land: Land, value: np.ndarray, drawing: Drawing) -> None:
    worst = drawing.verdict.worst
    if worst is not None and (worst.cut, worst.land) == (land.cut, land.land):
        place = (drawing.unit[0] * land.s_mm[worst.place], value[worst.place])
        ax.plot(*place, marker="*", ms=12, mfc="white", mec=INK, mew=1.1, clip_on=False, zorder=9)
