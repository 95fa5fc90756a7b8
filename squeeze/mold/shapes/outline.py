"""Closed curves of the shapes in a mold file, with bevels and rounded corners."""

from __future__ import annotations

import math
import re
from collections.abc import Hashable, Sequence
from functools import lru_cache
from typing import cast

import numpy as np
from shapely.geometry import Polygon
from shapely.validation import explain_validity

from squeeze.mold.geometry.curve import XY, Arc, CurvePiece, Line, Points, xy
from squeeze.mold.geometry.curve_parts import turned
from squeeze.mold.geometry.loop import Loop, ellipse
from squeeze.mold.geometry.tolerance import ON_MM, SAME_MM
from squeeze.mold.shapes.corners import at_place, bad, bevelled, rounded, turns
from squeeze.mold.shapes.registry import SHAPES, Form
from squeeze.mold.tables.shape import PlacedTable, ShapeTable

SHARPEST_DEG = 8.0
"""No corner may be sharper than this, and no cut may meet another line under less."""


def loop_of(shape: ShapeTable) -> Loop:
    """Return the closed curve of a block or a cavity, counter-clockwise.

    The curve of a shape that was asked for before is the same record, with what it has worked out.

    Raises
    ------
    BadInput
        With the key (within the shape's own table) and figures, when points cross or bevels or
        radii do not fit.
    """
    return _kept_loop(cast("Hashable", shape))  # a frozen table has a hash, whatever its class says


@lru_cache(maxsize=512)
def _kept_loop(shape: ShapeTable) -> Loop:
    centre = shape.centre_mm if isinstance(shape, PlacedTable) else (0.0, 0.0)
    if SHAPES[shape.shape].form is Form.ELLIPSE:
        return ellipse(_halves(shape), centre)
    if shape.bulges is not None and any(shape.bulges):
        return _with_bulges(np.array(shape.points_mm) + np.array(centre), shape.bulges)
    corners = bevelled(_corners(shape) + np.array(centre), shape.bevel_mm)
    loop = rounded(corners, shape.round_mm)
    if not loop.polygon.is_valid:
        x, y = _crossing(loop.polygon)
        key = "bevel_mm" if shape.bevel_mm else "round_mm"
        raise bad(
            key,
            f"bevel and corner radius make the outline cross itself {at_place(x, y)};"
            " make them smaller",
        )
    return loop


def _with_bulges(points: Points, bulges: Sequence[float]) -> Loop:
    """Return the loop of lines and arcs through points, as drawn, counter-clockwise."""
    ends = np.roll(points, -1, axis=0)
    pieces = [
        piece
        for a, b, bulge in zip(points, ends, bulges, strict=True)
        if np.hypot(*(b - a)) > SAME_MM - ON_MM
        for piece in _bulged(xy(a), xy(b), bulge)
    ]
    loop = Loop(tuple(pieces))
    if loop.area < 0:
        loop = Loop(tuple(turned(piece) for piece in reversed(pieces)))
    if not loop.polygon.is_valid or loop.area < SAME_MM**2:
        x, y = _crossing(loop.polygon)
        raise bad("points_mm", f"the outline crosses or touches itself {at_place(x, y)}")
    return loop


def _bulged(a: XY, b: XY, bulge: float) -> list[CurvePiece]:
    """Return the line from a to b, or the arc, in quarters at most."""
    if abs(bulge) * math.dist(a, b) / 2 < ON_MM:  # how far its middle stands off
        return [Line(a, b)]
    off = (1 - bulge**2) / (4 * bulge)
    centre = (
        (a[0] + b[0]) / 2 - off * (b[1] - a[1]),
        (a[1] + b[1]) / 2 + off * (b[0] - a[0]),
    )
    radius, turn = math.dist(a, centre), 4 * math.atan(bulge)
    start = math.atan2(a[1] - centre[1], a[0] - centre[0])
    n = math.ceil(abs(turn) / (math.pi / 2) - 1e-9)
    return [Arc(centre, (radius, radius), start + turn * k / n, turn / n) for k in range(n)]


def _corners(shape: ShapeTable) -> Points:
    """Return the corners before bevelling, counter-clockwise, shape (n, 2) [mm]."""
    if shape.points_mm is not None:
        drawn = _drawn(np.array(shape.points_mm))
        return drawn if shape.round_mm == 0.0 else _thinned(drawn)
    return np.array(SHAPES[shape.shape].corners) * _halves(shape)


def _halves(shape: ShapeTable) -> tuple[float, float]:
    """Return half the width and half the height of a shape that is not drawn [mm]."""
    figures = [getattr(shape, key) / 2 for key in SHAPES[shape.shape].keys]
    return figures[0], figures[-1]


def _drawn(corners: Points) -> Points:
    if np.hypot(*(corners[0] - corners[-1])) < SAME_MM - ON_MM:
        corners = corners[:-1]
    if len(corners) < 3:
        raise bad("points_mm", "two points enclose nothing; at least 3 different ones are needed")
    outline = Polygon(corners)
    if not outline.is_valid or outline.area < SAME_MM**2:
        x, y = _crossing(outline)
        raise bad("points_mm", f"the outline crosses or touches itself {at_place(x, y)}")
    corners = corners if outline.exterior.is_ccw else corners[::-1]
    sharp = np.abs(np.degrees(turns(corners))) > 180 - SHARPEST_DEG + 1e-6
    if sharp.any():
        places = ", ".join(at_place(*p) for p in corners[sharp][:3])
        raise bad("points_mm", f"a corner is sharper than {SHARPEST_DEG:g} degrees {places}")
    return corners


def _thinned(corners: Points) -> Points:
    """Return the points without those that lie within 0.02 mm of the line past them.

    D. H. Douglas, T. K. Peucker, Cartographica 10 (1973) 112. Of points that are equally far off,
    up to rounding, the first is kept.
    """
    ring = np.vstack([corners, corners[:1]])
    kept = np.zeros(len(ring), bool)
    kept[[0, -1]] = True
    parts = [(0, len(ring) - 1)]
    while parts:
        a, b = parts.pop()
        off = _off(ring[a + 1 : b], ring[a], ring[b])
        if off.size and off.max() > SAME_MM + ON_MM:
            far = a + 1 + int(np.argmax(off > off.max() - ON_MM))
            kept[far] = True
            parts += [(a, far), (far, b)]
    thin = corners[kept[:-1]]
    return thin if len(thin) >= 3 and Polygon(thin).is_valid else corners


def _off(points: Points, begin: Points, end: Points) -> Points:
    """Return how far points are from a segment, shape (n,) [mm]."""
    along = end - begin
    square = max(float(along @ along), 1e-300)
    t = np.clip((points - begin) @ along / square, 0.0, 1.0)
    return np.hypot(*(points - begin - t[:, None] * along).T)


def _crossing(outline: Polygon) -> tuple[float, float]:
    """Return where a polygon crosses itself, or its first point if that is not known."""
    place = re.search(r"\[(\S+) (\S+)\]", explain_validity(outline))
    x, y = place.groups() if place else outline.exterior.coords[0]
    return float(x), float(y)
