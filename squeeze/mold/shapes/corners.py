"""Corners of polygons: bevels, radii, and the points of drawn curves."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from squeeze.mold.errors import BadInput, Fault
from squeeze.mold.geometry.curve import Arc, CurvePiece, Line, Points, xy
from squeeze.mold.geometry.loop import Loop
from squeeze.mold.geometry.tolerance import ON_MM, SAME_MM

ROUND_MM = 2.0
"""Corner radius where none is given and the sides are long enough [mm]."""

CURVE_DEG = 15.0
"""A drawn outline that turns by less than this at a point is a curve there, not a corner."""

CURVE_STRAY_MM = 0.1
"""The arcs that stand for a drawn curve stray at most this far from its points [mm]."""

LEAST_REST_MM = 0.05
"""Where radii may be chosen freely they leave this much of a side, or nothing [mm]."""


def turns(corners: Points) -> NDArray[np.float64]:
    """Return by how much a polygon turns at its corners, left positive, shape (n,) [rad]."""
    after = np.roll(corners, -1, axis=0) - corners
    before = np.roll(after, 1, axis=0)
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    return np.arctan2(cross, np.sum(before * after, axis=1))


def sides(corners: Points) -> NDArray[np.float64]:
    """Return the lengths (n,) of the sides of a polygon `corners` (n, 2) [mm].

    Side i runs from corner i to i + 1.
    """
    return np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)


def bevelled(corners: Points, bevel_mm: float) -> Points:
    """Return the polygon with a flat on every corner that points outwards.

    Parameters
    ----------
    corners : array (n, 2)
        Counter-clockwise [mm].
    bevel_mm : float
        How far the flat reaches along both sides of its corner [mm]; under 0.02 is none.

    Raises
    ------
    BadInput
        When the flats leave less than nothing of a side.
    """
    if bevel_mm < SAME_MM - ON_MM:
        return corners
    cut = np.where(turns(corners) > np.radians(CURVE_DEG) - 1e-6, bevel_mm, 0.0)
    cut = _fitted("bevel_mm", bevel_mm, corners, cut)
    along = (np.roll(corners, -1, axis=0) - corners) / sides(corners)[:, None]
    before, after = np.roll(along, 1, axis=0), along
    pairs = np.stack([corners - cut[:, None] * before, corners + cut[:, None] * after], axis=1)
    flat = pairs.reshape(-1, 2)
    return flat[sides(flat) > ON_MM]


def _fitted(key: str, value: float, corners: Points, taken: Points) -> Points:
    """Return what `value` takes of the sides at each corner; refuse it when that is too much.

    A rest of a side under 0.02 mm counts as none: `taken` grows by as much.
    """
    both, length = taken + np.roll(taken, -1), sides(corners)
    share = np.divide(length, both, out=np.full(len(both), np.inf), where=both > 0)
    if (both <= length + ON_MM).all():
        close = share[length - both < SAME_MM - ON_MM]
        return taken * close.min() if close.size else taken
    most = value * share
    i = int(np.argmin(most))
    middle = 0.5 * (corners[i] + corners[(i + 1) % len(corners)])
    most_mm = np.floor(most[i] * 1e4) / 1e4
    raise bad(
        key,
        f"{value:g} mm leaves nothing of a side of {length[i]:.4g} mm {at_place(*middle)};"
        f" at most {most_mm:.6g} mm",
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
        The radius; 0 (or under 0.02) = every point sharp, a curve's as well; None = 2 mm, or as
        much as half of the corner's shorter side carries.

    Raises
    ------
    BadInput
        When a given radius does not fit a side.
    """
    turn = turns(corners)
    if round_mm is not None and round_mm < SAME_MM - ON_MM:
        return _with_arcs(corners, turn, np.zeros(len(corners)))
    corner = np.abs(turn) > np.radians(CURVE_DEG) - 1e-6
    per_radius = np.tan(np.abs(turn) / 2)
    if round_mm is None:
        shorter = np.minimum(sides(corners), np.roll(sides(corners), 1))
        taken = np.where(corner, np.minimum(ROUND_MM * per_radius, shorter / 2), 0.0)
    else:
        taken = np.where(corner, round_mm * per_radius, 0.0)
        taken = _fitted("round_mm", round_mm, corners, taken)
    reach = np.where(corner, taken, _curve(corners, turn, taken, corner))
    free = np.full(len(corners), True) if round_mm is None else ~corner
    return _with_arcs(corners, turn, _roomy(corners, reach, free))


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


def _roomy(corners: Points, reach: Points, free: NDArray[np.bool_]) -> Points:
    """Return `reach`, less where it is `free` to be and leaves a rest of a side under 0.05 mm."""
    rest = sides(corners) - reach - np.roll(reach, -1)
    tiny = (rest > ON_MM) & (rest < LEAST_REST_MM - ON_MM)
    less = free & (tiny | np.roll(tiny, 1))
    return np.where(less, np.maximum(reach - LEAST_REST_MM, reach / 2), reach)


def _with_arcs(corners: Points, turn: Points, tangent: Points) -> Loop:
    """Return the loop whose arcs begin and end `tangent` away from the corners."""
    radius = np.where(tangent > 0, tangent / np.maximum(np.tan(np.abs(turn) / 2), 1e-12), 0.0)
    along = (np.roll(corners, -1, axis=0) - corners) / sides(corners)[:, None]
    begin = corners - tangent[:, None] * np.roll(along, 1, axis=0)
    end = corners + tangent[:, None] * along
    pieces: list[CurvePiece] = []
    for i in range(len(corners)):
        if radius[i] > 0:
            pieces.append(_arc(begin[i], np.roll(along, 1, axis=0)[i], turn[i], radius[i]))
        following = begin[(i + 1) % len(corners)]
        if np.hypot(*(following - end[i])) > ON_MM:
            pieces.append(Line(xy(end[i]), xy(following)))
    return Loop(tuple(pieces))


def _arc(begin: Points, along: Points, turn: float, radius: float) -> Arc:
    inward = np.sign(turn) * np.array([-along[1], along[0]])
    start = float(np.arctan2(-inward[1], -inward[0]))
    return Arc(xy(begin + radius * inward), (float(radius), float(radius)), start, float(turn))


def at_place(x: float, y: float) -> str:
    """Return ``at (x, y) mm``, short; `x` and `y` in [mm]."""
    return f"at ({round(x, 3) + 0.0:.4g}, {round(y, 3) + 0.0:.4g}) mm"


def bad(key: str, text: str) -> BadInput:
    """Return the error for one `key` of a shape; `text` says what is wrong with it."""
    return BadInput([Fault(key, text)])
