"""Vents in the section: dotted lines with the numbers that the bench sheet gives them."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray

from squeeze.show.figure.section import INK, Drawing
from squeeze.show.vents import vent_lines, vent_numbers, vents_named

Array = NDArray[np.float64]
DOTTED = (0, (1, 1.6))
ABOVE_IN = 0.24
"""A number stands this far above the end of its vent [inch]."""


def draw_vents(ax: Axes, drawing: Drawing) -> None:
    """Draw all vents of the mold, from all along the block; they move with the rubber."""
    for line in vent_lines(drawing.vents):
        ax.plot(*_posed(np.array(line), drawing).T, color=INK, lw=1.6, ls=DOTTED, zorder=5)
    for end, numbers in vent_numbers(drawing.vents).items():
        x, y = _posed(np.array([end]), drawing)[0]
        ax.text(
            x,
            y + ABOVE_IN * drawing.mm_per_inch,
            vents_named(numbers),
            ha="center",
            va="center",
            fontsize=8,
            fontweight="bold",
            color=INK,
            zorder=7,
            bbox={"boxstyle": "square,pad=0.1", "fc": "white", "ec": "none"},
        )


def _posed(points: Array, drawing: Drawing) -> Array:
    """Return where places (n, 2) are drawn: each moves as the node next to it [mm]."""
    field = drawing.closing.field
    near = [int(np.argmin(np.hypot(*(field.points_mm - point).T))) for point in points]
    return drawing.pose.at(points, field.displacement_mm[near])
