"""Closed curves of the shapes in a mold file, with bevels and rounded corners."""

from __future__ import annotations

import re

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon
from shapely.validation import explain_validity

from squeeze.mold.curve import Arc, Line, Loop, Piece, Points, circle, ellipse
from squeeze.mold.entry import SAME_MM
from squeeze.mold.errors import BadInput, Fault
from squeeze.mold.model import Cavity, Shape

ROUND_MM = 2.0
"""Corner radius where none is given and the sides are long enough [mm]."""

CURVE_DEG = 15.0
"""A drawn outline that turns by less than this at a point is a curve there, not a corner."""

CURVE_STRAY_MM = 0.1
"""The arcs that stand for a drawn curve stray at most this far from its points [mm]."""

SHARPEST_DEG = 8.0
"""No corner may be sharper than this, and no cut may meet another line under less."""

_ROUNDING = 1e-9


def loop_of(shape: Shape) -> Loop:
    """Return the closed curve of a block or a cavity, counter-clockwise.

    Raises
    ------
    BadInput
        With the key (within the shape's own table) and figures, when points cross or bevels or
        radii do not fit.
    """
    centre = shape.centre_mm if isinstance(shape, Cavity) else (0.0, 0.0)
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
        raise _bad(
            key,
            f"bevel and corner radius make the outline cross itself {_at(x, y)}; make them smaller",
        )
    return loop


def _corners(shape: Shape) -> Points:
    """Return the corners before bevelling, counter-clockwise, shape (n, 2) [mm]."""
    if shape.points_mm is not None:
        return _drawn(np.array(shape.points_mm))
    width = shape.width_mm or 0.0
    x, y = width / 2, (shape.height_mm or width) / 2
    return np.array([(-x, -y), (x, -y), (x, y), (-x, y)])


def _drawn(corners: Points) -> Points:
    if np.hypot(*(corners[0] - corners[-1])) < SAME_MM:
        corners = corners[:-1]
    if len(corners) < 3:
        raise _bad("points_mm", "two points enclose nothing; at least 3 different ones are needed")
    outline = Polygon(corners)
    if not outline.is_valid or outline.area < SAME_MM**2:
        x, y = _crossing(outline)
        raise _bad("points_mm", f"the outline crosses or touches itself {_at(x, y)}")
    corners = corners if outline.exterior.is_ccw else corners[::-1]
    sharp = np.abs(np.degrees(turns(corners))) > 180 - SHARPEST_DEG
    if sharp.any():
        places = ", ".join(_at(*p) for p in corners[sharp][:3])
        raise _bad("points_mm", f"a corner is sharper than {SHARPEST_DEG:g} degrees {places}")
    return corners


def turns(corners: Points) -> NDArray[np.float64]:
    """Return by how much a polygon turns at its corners, left positive, shape (n,) [rad]."""
    after = np.roll(corners, -1, axis=0) - corners
    before = np.roll(after, 1, axis=0)
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    return np.arctan2(cross, np.sum(before * after, axis=1))


def sides(corners: Points) -> NDArray[np.float64]:
    """Return the lengths of a polygon's sides; side i runs from corner i to i + 1 [mm]."""
    return np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)


def bevelled(corners: Points, bevel_mm: float) -> Points:
    """Return the polygon with a flat on every corner that points outwards.

    Parameters
    ----------
    corners : array (n, 2)
        Counter-clockwise [mm].
    bevel_mm : float
        How far the flat reaches along both sides of its corner [mm].

    Raises
    ------
    BadInput
        When the flats leave less than nothing of a side.
    """
    if bevel_mm == 0.0:
        return corners
    cut = np.where(turns(corners) > np.radians(CURVE_DEG), bevel_mm, 0.0)
    _fit("bevel_mm", bevel_mm, corners, cut)
    along = (np.roll(corners, -1, axis=0) - corners) / sides(corners)[:, None]
    before, after = np.roll(along, 1, axis=0), along
    pairs = np.stack([corners - cut[:, None] * before, corners + cut[:, None] * after], axis=1)
    flat = pairs.reshape(-1, 2)
    return flat[sides(flat) > _ROUNDING]


def _fit(key: str, value: float, corners: Points, taken: NDArray[np.float64]) -> None:
    """Refuse `value` when what it takes at both ends of a side is more than the side."""
    both, length = taken + np.roll(taken, -1), sides(corners)
    over = both > length + _ROUNDING
    if not over.any():
        return
    with np.errstate(divide="ignore"):
        most = value * length / both
    i = int(np.argmin(most))
    middle = 0.5 * (corners[i] + corners[(i + 1) % len(corners)])
    most_mm = np.floor(most[i] * 1e4) / 1e4
    raise _bad(
        key,
        f"{value:g} leaves nothing of a side of {length[i]:.4g} {_at(*middle)};"
        f" at most {most_mm:.6g}",
    )


def rounded(corners: Points, round_mm: float | None) -> Loop:
    """Return the loop with a tangent arc on every corner, outward and inward.

    Where a polygon turns by less than 15 degrees its points are taken for a drawn curve: there an
    arc reaches to the middles of both sides, or as far as it may without straying 0.1 mm.

    Parameters
    ----------
    corners : array (n, 2)
        Counter-clockwise [mm].
    round_mm : float or None
        The radius, 0 = every point sharp, a curve's as well; None = 2 mm, or as much as half of
        the corner's shorter side carries.

    Raises
    ------
    BadInput
        When a given radius does not fit a side.
    """
    turn = turns(corners)
    if round_mm == 0.0:
        return _with_arcs(corners, turn, np.zeros(len(corners)))
    corner = np.abs(turn) > np.radians(CURVE_DEG)
    per_radius = np.tan(np.abs(turn) / 2)
    if round_mm is None:
        shorter = np.minimum(sides(corners), np.roll(sides(corners), 1))
        taken = np.where(corner, np.minimum(ROUND_MM * per_radius, shorter / 2), 0.0)
    else:
        taken = np.where(corner, round_mm * per_radius, 0.0)
        _fit("round_mm", round_mm, corners, taken)
    return _with_arcs(corners, turn, np.where(corner, taken, _curve(corners, turn, taken, corner)))


def _curve(corners: Points, turn: Points, taken: Points, corner: Points) -> Points:
    """Return how far the arcs of a drawn curve reach along the sides at each point [mm]."""
    length = sides(corners)
    after = np.where(np.roll(corner, -1), length - np.roll(taken, -1), length / 2)
    before = np.where(
        np.roll(corner, 1), np.roll(length, 1) - np.roll(taken, 1), np.roll(length, 1) / 2
    )
    half = np.maximum(np.abs(turn) / 2, 1e-9)
    stray = CURVE_STRAY_MM * np.tan(half) / (1 / np.cos(half) - 1 + 1e-15)
    straight = np.abs(turn) < np.radians(0.05)
    return np.where(straight, 0.0, np.minimum(np.minimum(before, after), stray))


def _with_arcs(corners: Points, turn: Points, tangent: Points) -> Loop:
    """Return the loop whose arcs begin and end `tangent` away from the corners."""
    radius = np.where(tangent > 0, tangent / np.maximum(np.tan(np.abs(turn) / 2), 1e-12), 0.0)
    along = (np.roll(corners, -1, axis=0) - corners) / sides(corners)[:, None]
    begin = corners - tangent[:, None] * np.roll(along, 1, axis=0)
    end = corners + tangent[:, None] * along
    pieces: list[Piece] = []
    for i in range(len(corners)):
        if radius[i] > 0:
            pieces.append(_arc(begin[i], np.roll(along, 1, axis=0)[i], turn[i], radius[i]))
        following = begin[(i + 1) % len(corners)]
        if np.hypot(*(following - end[i])) > _ROUNDING:
            pieces.append(Line(_pair(end[i]), _pair(following)))
    return Loop(tuple(pieces))


def _arc(begin: Points, along: Points, turn: float, radius: float) -> Arc:
    inward = np.sign(turn) * np.array([-along[1], along[0]])
    start = float(np.arctan2(-inward[1], -inward[0]))
    return Arc(_pair(begin + radius * inward), (float(radius), float(radius)), start, float(turn))


def _pair(p: Points) -> tuple[float, float]:
    return float(p[0]), float(p[1])


def _crossing(outline: Polygon) -> tuple[float, float]:
    """Return where a polygon crosses itself, or its first point if that is not known."""
    place = re.search(r"\[(\S+) (\S+)\]", explain_validity(outline))
    x, y = place.groups() if place else outline.exterior.coords[0]
    return float(x), float(y)


def _at(x: float, y: float) -> str:
    return f"at ({x + 0.0:.4g}, {y + 0.0:.4g})"


def _bad(key: str, text: str) -> BadInput:
    return BadInput([Fault(key, text)])
