"""Free curves as arcs of circles: pairs of arcs that meet smoothly, to a hundredth of a mm."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np

from squeeze.mold.drawing.strokes import XY, Corner, FreeCurve, Points
from squeeze.mold.geometry.curve import xy

STRAY_MM = 0.01
"""Arcs keep to the curve they stand for to this [mm]."""

DEEPEST = 14
FIRST = 4
"""Stretches that every curve is tried in first, so that no loop of it is missed."""


def as_arcs(curve: FreeCurve, stray_mm: float = STRAY_MM) -> list[Corner]:
    """Return arcs that keep to a curve, from its beginning; its end is not among the corners.

    Two arcs with a common tangent join two places with given directions (a biarc). K. M. Bolton,
    Computer-Aided Design 7 (1975) 89, from memory. A stretch that would stray by
    `stray_mm` [mm] is halved.
    """
    made: list[Corner] = []
    for k in range(FIRST):
        made += _stretch(curve, k / FIRST, (k + 1) / FIRST, stray_mm, 0)
    return made


def _stretch(curve: FreeCurve, a: float, b: float, stray: float, depth: int) -> list[Corner]:
    t = np.linspace(a, b, 9)
    places = curve.at(t)
    p, q = places[0], places[-1]
    if np.ptp(places, axis=0).max() < stray:
        return [Corner(xy(p))]
    corners = _biarc(p, q, *_directions(curve, a, b))
    if corners is not None and _strays(places, [*corners, Corner(xy(q))]) < 0.7 * stray:
        return corners
    if depth == DEEPEST:
        return [Corner(xy(p))]
    middle = (a + b) / 2
    first = _stretch(curve, a, middle, stray, depth + 1)
    return first + _stretch(curve, middle, b, stray, depth + 1)


def _directions(curve: FreeCurve, a: float, b: float) -> tuple[Points, Points]:
    """Return unit directions at both ends; where a curve stands still, that just inside."""
    found = []
    for end, inside in ((a, a + 1e-4 * (b - a)), (b, b - 1e-4 * (b - a))):
        along = curve.along(np.array([end]))[0]
        if np.hypot(*along) < 1e-9:
            along = curve.along(np.array([inside]))[0]
        found.append(along / max(float(np.hypot(*along)), 1e-300))
    return found[0], found[1]


def _biarc(p: Points, q: Points, u: Points, w: Points) -> list[Corner] | None:
    """Return two arcs from p along u to q along w; None where there are none."""
    v = q - p
    size = float(v @ v)
    if size == 0:
        return None
    lean, along = 2 * (1 - float(u @ w)), float(v @ (u + w))
    if lean < 1e-12:
        if abs(along) < 1e-12:
            return None
        d = size / (2 * along)
    else:
        d = (-along + math.sqrt(along * along + lean * size)) / lean
    if d <= 0:
        return None
    joint = (p + q + d * (u - w)) / 2
    first = _bulge(p, joint, u)
    second = -_bulge(q, joint, -w)
    return [Corner(xy(p), first), Corner(xy(joint), second)]


def _bulge(p: Points, q: Points, u: Points) -> float:
    """Return the bulge of the arc from p along u to q."""
    v = q - p
    half = math.atan2(u[0] * v[1] - u[1] * v[0], float(u @ v))
    return math.tan(half / 2)


def _strays(places: Points, corners: list[Corner]) -> float:
    """Return how far places are from arcs at most [mm]."""
    away = np.array([_away(places, a, b.at) for a, b in pairwise(corners)])
    return float(away.min(axis=0).max())


def _away(places: Points, corner: Corner, end: XY) -> Points:
    """Return how far places are from one arc, (n,); those beside its ends count from them."""
    a, b = np.array(corner.at), np.array(end)
    v = b - a
    size = float(np.hypot(*v))
    ends = np.minimum(np.hypot(*(places - a).T), np.hypot(*(places - b).T))
    if size < 1e-12:
        return ends
    along = (places - a) @ v / size**2
    beside = (along >= 0) & (along <= 1)
    if abs(corner.bulge) < 1e-9:
        across = np.abs((places - a) @ np.array([-v[1], v[0]])) / size
        return np.where(beside, across, ends)
    radius = size * (1 + corner.bulge**2) / (4 * abs(corner.bulge))
    centre = centre_of(corner.at, end, corner.bulge)
    round_it = np.abs(np.hypot(*(places - np.array(centre)).T) - radius)
    return np.where(beside, round_it, ends)


def centre_of(a: XY, b: XY, bulge: float) -> XY:
    """Return the middle of the circle of an arc from a to b.

    Parameters
    ----------
    a, b : (x, y)
        Its ends.
    bulge : float
        Tangent of a quarter of the angle it sweeps, a ratio; positive = counter-clockwise.
    """
    off = (1 - bulge**2) / (4 * bulge)
    x, y = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
    return x - off * (b[1] - a[1]), y + off * (b[0] - a[0])
