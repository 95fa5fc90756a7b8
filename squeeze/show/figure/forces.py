"""Bands round the block, where they push, and pushes on the outside."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Polygon
from numpy.typing import NDArray
from shapely import get_parts, union_all
from shapely.geometry import MultiPoint

from squeeze.mold.forces.loads import Push
from squeeze.show.figure.arrows import OFF, merged_pushes
from squeeze.show.figure.section import INK, SOFT, Drawing, body_paths

Array = NDArray[np.float64]

LONGEST = 0.11


def draw_forces(ax: Axes, drawing: Drawing) -> float:
    """Draw the band and the pushes; return the force [N/mm] that the longest arrow stands for."""
    closing, size = drawing.closing, drawing.pose.size_mm
    largest = 0.0
    if closing.wrap is not None:
        _draw_band(ax, drawing)
        at, force = merged_pushes(closing.wrap)
        at = _moved(at, drawing)
        largest = float(np.hypot(*force.T).max(initial=0.0))
        if largest > 0:
            _draw_arrows(ax, at, force * (LONGEST * size / largest), OFF * size)
    for push in closing.loads.pushes:
        _draw_push(ax, push, drawing)
    if closing.loads.all_round_mpa:
        _draw_all_round(ax, drawing)
    return largest


def _moved(at: Array, drawing: Drawing) -> Array:
    """Return places as drawn: each moves as the nearest node does."""
    field = drawing.closing.field
    near = [int(np.argmin(np.hypot(*(field.points_mm - p).T))) for p in at]
    return drawing.pose.at(at, field.displacement_mm[near])


def _draw_band(ax: Axes, drawing: Drawing) -> None:
    paths = body_paths(drawing.closing.field, drawing.pose).values()
    hull = MultiPoint(np.vstack([path.vertices for path in paths])).convex_hull
    line = np.array(hull.buffer(OFF * drawing.pose.size_mm * 0.6).exterior.coords)
    ax.add_patch(Polygon(line, fill=False, edgecolor=SOFT, lw=2.4, zorder=2))


def _draw_arrows(ax: Axes, at: Array, arrow: Array, off: float) -> None:
    """Draw arrows (n, 2) whose heads stop `off` before the places they push."""
    length = np.hypot(*arrow.T)
    heads = at - arrow / np.maximum(length, 1e-300)[:, None] * off
    for head, tail, long in zip(heads, heads - arrow, length, strict=True):
        if long > 0.02 * length.max():
            ax.annotate("", head, tail, arrowprops=arrow_style(long / length.max()), zorder=6)


def arrow_style(share: float) -> dict:
    """Return how an arrow looks whose length is `share` of the longest."""
    width = 0.10 + 0.14 * share
    return {
        "arrowstyle": f"-|>,head_length={2 * width},head_width={width}",
        "color": INK,
        "lw": 1.1,
        "shrinkA": 0,
        "shrinkB": 0,
    }


def _draw_push(ax: Axes, push: Push, drawing: Drawing) -> None:
    at, inwards = _on_outline(push.at_mm, drawing)
    along = np.array([-inwards[1], inwards[0]]) * push.width_mm / 2
    size = drawing.pose.size_mm
    bar = at - 0.01 * size * inwards
    ax.plot(*np.array([bar - along, bar + along]).T, color=INK, lw=4, solid_capstyle="butt")
    shares = np.array([-0.8, 0.0, 0.8])[:, None]
    _draw_arrows(ax, bar + shares * along, np.tile(0.07 * size * inwards, (3, 1)), 0.01 * size)


def _on_outline(at_mm: tuple[float, float], drawing: Drawing) -> tuple[Array, Array]:
    """Return the nearest place of block or cradle and the unit vector inwards there."""
    section = drawing.closing.section
    loops = (section.outline, *(piece.loop for piece in section.cradles))
    outline = min(loops, key=lambda loop: loop.nearest(at_mm)[2])
    piece, t, _ = outline.nearest(at_mm)
    near = np.clip([t - 1e-4, t + 1e-4], 0.0, 1.0)
    a, b = outline.pieces[piece].at(near)
    tangent = (b - a) / np.hypot(*(b - a))
    return outline.pieces[piece].at(t)[0], np.array([-tangent[1], tangent[0]])


def _draw_all_round(ax: Axes, drawing: Drawing) -> None:
    section = drawing.closing.section
    solid = [
        loop.polygon.buffer(1e-6) for loop in (section.outline, *(p.loop for p in section.cradles))
    ]
    ring = max(get_parts(union_all(solid)), key=lambda part: part.area).exterior
    size = drawing.pose.size_mm
    places = [ring.interpolate(s).coords[0] for s in np.linspace(0, ring.length, 25)[:-1]]
    found = [_on_outline((p[0], p[1]), drawing) for p in places]
    at, inwards = np.array([a for a, _ in found]), np.array([n for _, n in found])
    _draw_arrows(ax, at, 0.05 * size * inwards, 0.01 * size)
