"""Closed curves of the shapes in a mold file, with bevels and rounded corners."""

from __future__ import annotations

import re

import numpy as np
from shapely.geometry import Polygon
from shapely.validation import explain_validity

from squeeze.mold.geometry.curve import Loop, Points, circle, ellipse
from squeeze.mold.shapes.corners import at, bad, bevelled, rounded, turns
from squeeze.mold.tables.shape import CavityTable, ShapeTable
from squeeze.mold.tables.values import SAME_MM

SHARPEST_DEG = 8.0
"""No corner may be sharper than this, and no cut may meet another line under less."""


def loop_of(shape: ShapeTable) -> Loop:
    """Return the closed curve of a block or a cavity, counter-clockwise.

    Raises
    ------
    BadInput
        With the key (within the shape's own table) and figures, when points cross or bevels or
        radii do not fit.
    """
    centre = shape.centre_mm if isinstance(shape, CavityTable) else (0.0, 0.0)
    if shape.diameter_mm is not None:
        return circle(shape.diameter_mm / 2, centre)
    if shape.shape == "oval":
        assert shape.width_mm is not None  # the model has seen to it
        assert shape.height_mm is not None
        return ellipse((shape.width_mm / 2, shape.height_mm / 2), centre)
    corners = bevelled(_corners(shape) + np.array(centre), shape.bevel_mm)
    loop = rounded(corners, shape.round_mm)
    if not loop.polygon.is_valid:
        x, y = _crossing(loop.polygon)
        key = "bevel_mm" if shape.bevel_mm else "round_mm"
        raise bad(
            key,
            f"bevel and corner radius make the outline cross itself {at(x, y)}; make them smaller",
        )
    return loop


def _corners(shape: ShapeTable) -> Points:
    """Return the corners before bevelling, counter-clockwise, shape (n, 2) [mm]."""
    if shape.points_mm is not None:
        drawn = _drawn(np.array(shape.points_mm))
        return drawn if shape.round_mm == 0.0 else _thinned(drawn)
    width = shape.width_mm or 0.0
    x, y = width / 2, (shape.height_mm or width) / 2
    return np.array([(-x, -y), (x, -y), (x, y), (-x, y)])


def _drawn(corners: Points) -> Points:
    if np.hypot(*(corners[0] - corners[-1])) < SAME_MM:
        corners = corners[:-1]
    if len(corners) < 3:
        raise bad("points_mm", "two points enclose nothing; at least 3 different ones are needed")
    outline = Polygon(corners)
    if not outline.is_valid or outline.area < SAME_MM**2:
        x, y = _crossing(outline)
        raise bad("points_mm", f"the outline crosses or touches itself {at(x, y)}")
    corners = corners if outline.exterior.is_ccw else corners[::-1]
    sharp = np.abs(np.degrees(turns(corners))) > 180 - SHARPEST_DEG
    if sharp.any():
        places = ", ".join(at(*p) for p in corners[sharp][:3])
        raise bad("points_mm", f"a corner is sharper than {SHARPEST_DEG:g} degrees {places}")
    return corners


def _thinned(corners: Points) -> Points:
    """Return the points without those that lie within 0.02 mm of the line past them."""
    thin = Polygon(corners).simplify(SAME_MM)
    if isinstance(thin, Polygon) and thin.is_valid and not thin.is_empty:
        return np.array(thin.exterior.coords)[:-1]
    return corners


def _crossing(outline: Polygon) -> tuple[float, float]:
    """Return where a polygon crosses itself, or its first point if that is not known."""
    place = re.search(r"\[(\S+) (\S+)\]", explain_validity(outline))
    x, y = place.groups() if place else outline.exterior.coords[0]
    return float(x), float(y)
