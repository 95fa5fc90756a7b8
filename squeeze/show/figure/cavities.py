"""The cavities as they were poured and as they close, side by side, at a stated exaggeration."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure
from matplotlib.patches import Polygon

from squeeze.show.figure.section import INK, SOFT, Drawing
from squeeze.show.figure.tint import round_down
from squeeze.show.text.line_breaks import fill
from squeeze.verdict import length
from squeeze.verdict.casting.distortion import CavityVerdict

A_ROW = 6
ROW_IN, PICTURE_IN, EDGE_IN = 2.55, 1.5, 0.3
LARGEST = 0.2
"""Of the cavity's size: how far its edge is moved at most in the drawing."""


def cavity_rows(drawing: Drawing) -> int:
    """Return how many rows of pictures the cavities take."""
    return int(np.ceil(len(drawing.closing.cavities) / A_ROW)) if drawing.solved else 0


def exaggeration(drawing: Drawing) -> float:
    """Return one multiple of the shifts that suits all cavities."""
    shares = [
        cavity.largest_shift_mm / float(np.ptp(cavity.edge_mm, axis=0).max())
        for cavity in drawing.closing.cavities
    ]
    largest = max(shares, default=0.0)
    return max(1.0, round_down(LARGEST / largest)) if largest > 1e-9 else 1.0


def draw_cavities(figure: Figure, drawing: Drawing, top_in: float) -> None:
    """Draw all cavities in rows that begin `top_in` above the lower edge [inch]."""
    cavities = drawing.closing.cavities
    if not cavity_rows(drawing):
        return
    factor = exaggeration(drawing)
    wide = (figure.get_figwidth() - 2 * EDGE_IN) / min(len(cavities), A_ROW)
    w, h = figure.get_size_inches()
    head = "Castings" if factor == 1 else f"Castings, changes drawn {factor:g} times as large"
    text = "dashed = as poured, line = as cast"
    text = f"{text}, drawn true" if factor == 1 else text
    top = (top_in - 0.08) / h
    figure.text(EDGE_IN / w, top, head, fontsize=12.5, fontweight="bold", va="top")
    figure.text(1 - EDGE_IN / w, top, text, fontsize=8.5, va="top", ha="right", color=SOFT)
    for k in range(len(cavities)):
        left = EDGE_IN + (k % A_ROW) * wide
        _draw(figure, drawing, k, (left, top_in - 0.42 - (k // A_ROW) * ROW_IN, wide), factor)


def _draw(
    figure: Figure, drawing: Drawing, k: int, box: tuple[float, float, float], factor: float
) -> None:
    left, top, wide = box
    w, h = figure.get_size_inches()
    high = PICTURE_IN
    ax = figure.add_axes((left / w, (top - high) / h, 0.9 * wide / w, high / h))
    ax.set_axis_off()
    cavity = drawing.closing.cavities[k]
    ax.add_patch(Polygon(cavity.edge_mm, fill=False, ec=SOFT, lw=0.8, ls=(0, (5, 3))))
    ax.add_patch(
        Polygon(cavity.edge_mm + factor * cavity.shift_mm, fill=False, ec=INK, lw=1.3, zorder=2)
    )
    size = float(np.ptp(cavity.edge_mm, axis=0).max())
    middle = 0.5 * (cavity.edge_mm.min(axis=0) + cavity.edge_mm.max(axis=0))
    half = (0.5 + 1.1 * LARGEST) * size
    ax.set_xlim(middle[0] - half, middle[0] + half)
    ax.set_ylim(middle[1] - half, middle[1] + half)
    ax.set_aspect("equal")
    words = fill(_words(drawing.verdict.cavities[k], drawing.inches), max(18, int(wide / 0.068)))
    ax.text(0.5, -0.02, words, transform=ax.transAxes, fontsize=7.5, ha="center", va="top")


def _words(cavity: CavityVerdict, inches: bool) -> str:
    def signed(mm: float) -> str:
        return f"{'-' if mm < 0 else '+'}{length(abs(mm), inches)}"

    return (
        f"{cavity.name}: width {signed(cavity.width_change_mm)}, "
        f"height {signed(cavity.height_change_mm)}, "
        f"off by {length(cavity.largest_shift_mm, inches)}, "
        f"step {length(cavity.step_mm, inches)}"
    )
