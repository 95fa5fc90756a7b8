"""Bands round the block, where they push, and pushes on the outside."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Polygon
from numpy.typing import NDArray
from shapely.geometry import MultiPoint

from squeeze.mold.section import Push
from squeeze.show.section import INK, SOFT, Drawing
from squeeze.show.shape import body_paths
from squeeze.solve.closing import Wrap

Array = NDArray[np.float64]

OFF = 0.025
LONGEST = 0.11
ARROWS_ROUND = 36


def draw_forces(ax: Axes, drawing: Drawing) -> float:
    """Draw the band and the pushes; return the force [N/mm] that the longest arrow stands for."""
    closing, size = drawing.closing, drawing.pose.size_mm
    largest = 0.0
    if closing.wrap is not None:
        _draw_band(ax, drawing)
        at, force = gathered(closing.wrap)
        at = _moved(at, drawing)
        largest = float(np.hypot(*force.T).max(initial=0.0))
        if largest > 0:
            _draw_arrows(ax, at, force * (LONGEST * size / largest), OFF * size)
    for push in closing.loads.pushes:
        _draw_push(ax, push, drawing)
    if closing.loads.all_round_mpa:
        _draw_all_round(ax, drawing)
    return largest


def gathered(wrap: Wrap) -> tuple[Array, Array]:
    """Return where the band pushes, near places taken together: places and forces, (n, 2) each.

    A group reaches over at most 1/36 of the wrap, so that a corner has one arrow and an arc many.
    """
    strength = np.hypot(*wrap.push_n_per_mm.T)
    pushing = np.flatnonzero(strength > 1e-9 * strength.max(initial=0.0))
    if pushing.size == 0:
        return np.zeros((0, 2)), np.zeros((0, 2))
    points, push = wrap.points_mm[pushing], wrap.push_n_per_mm[pushing]
    group = _groups(points, wrap.wrap_mm / ARROWS_ROUND)
    strength = strength[pushing]
    weight = np.bincount(group, strength)
    at = np.column_stack([np.bincount(group, strength * points[:, k]) for k in (0, 1)])
    force = np.column_stack([np.bincount(group, push[:, k]) for k in (0, 1)])
    return (at / weight[:, None]).astype(np.float64), force.astype(np.float64)


def _groups(points: Array, reach: float) -> NDArray[np.int64]:
    """Return each place's group: stretches without a gap over `reach`, parted evenly."""
    step = np.hypot(*(np.roll(points, -1, axis=0) - points).T)
    first = (int(np.argmax(step)) + 1) % len(points)
    order = np.roll(np.arange(len(points)), -first)
    gaps = step[order[:-1]]
    group, number = np.zeros(len(points), int), 0
    for stretch in np.split(np.arange(len(points)), np.flatnonzero(gaps > reach) + 1):
        along = np.concatenate([[0.0], np.cumsum(gaps[stretch[:-1]])])
        count = max(1, int(np.ceil(along[-1] / reach)))
        inside = np.minimum(along / max(along[-1], 1e-300) * count, count - 0.5)
        group[order[stretch]] = number + np.unique(inside.astype(int), return_inverse=True)[1]
        number = int(group[order[stretch]].max()) + 1
    return group


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
    """Return the nearest place of the outline and the unit vector inwards there."""
    outline = drawing.closing.section.outline
    piece, t, _ = outline.nearest(at_mm)
    near = np.clip([t - 1e-4, t + 1e-4], 0.0, 1.0)
    a, b = outline.pieces[piece].at(near)
    tangent = (b - a) / np.hypot(*(b - a))
    return outline.pieces[piece].at(t)[0], np.array([-tangent[1], tangent[0]])


def _draw_all_round(ax: Axes, drawing: Drawing) -> None:
    ring = drawing.closing.section.outline.polygon.exterior
    size = drawing.pose.size_mm
    places = [ring.interpolate(s).coords[0] for s in np.linspace(0, ring.length, 25)[:-1]]
    found = [_on_outline((p[0], p[1]), drawing) for p in places]
    at, inwards = np.array([a for a, _ in found]), np.array([n for _, n in found])
    _draw_arrows(ax, at, 0.05 * size * inwards, 0.01 * size)
