"""Where two pieces of curves meet in a point, in closed form.

Lines and circles by the school's formulas; a line and an ellipse after stretching the plane until
the ellipse is a circle; two ellipses by the eigenvalues that are the roots of their quartic. Curves
that come within ON_MM of each other without crossing touch, and so do curves that cross over by
less: that is one place, not two and not none. Pieces that lie on each other meet in no point.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np

from squeeze.mold.geometry.curve import XY, Arc, CurvePiece, Line
from squeeze.mold.geometry.tolerance import ON_MM

IndexPairs = list[tuple[float, float]]


def crossings(a: CurvePiece, b: CurvePiece) -> IndexPairs:
    """Return where two pieces meet: (parameter on `a`, parameter on `b`), both in 0..1."""
    if isinstance(b, Line):
        return _with_line(a, b)
    if isinstance(a, Line):
        return [(s, t) for t, s in _with_line(b, a)]
    return [pair for place in _of_arcs(a, b) if (pair := _on_both(place, a, b))]


def _with_line(a: CurvePiece, line: Line) -> IndexPairs:
    """Parameters on `a` and on the line."""
    if isinstance(a, Line):
        return _of_lines(a, line)
    found = []
    for s in _along(line, a):
        if (pair := _on_both(_on_line(line, s), a, line)) is not None:
            found.append(pair)
    return found


def _on_both(place: XY, a: CurvePiece, b: CurvePiece) -> tuple[float, float] | None:
    """Parameters of a place of both whole curves, or None where a piece does not reach it."""
    t, s = _parameter(a, place), _parameter(b, place)
    slack = ON_MM / a.length, ON_MM / b.length
    if not (-slack[0] <= t <= 1 + slack[0] and -slack[1] <= s <= 1 + slack[1]):
        return None
    return min(max(t, 0.0), 1.0), min(max(s, 0.0), 1.0)


def _parameter(piece: CurvePiece, place: XY) -> float:
    """Parameter of a place of the whole curve; it may lie beyond 0..1."""
    if isinstance(piece, Line):
        (x, y), (u, v) = piece.start, piece.end
        return ((place[0] - x) * (u - x) + (place[1] - y) * (v - y)) / piece.length**2
    (x, y), (rx, ry) = piece.centre, piece.radii
    return piece.parameter(math.atan2((place[1] - y) / ry, (place[0] - x) / rx))


def _on_line(line: Line, s: float) -> XY:
    (x, y), (u, v) = line.start, line.end
    return x + s * (u - x), y + s * (v - y)


def _of_lines(a: Line, b: Line) -> IndexPairs:
    """Where two segments cross."""
    off = [_height(a, p) for p in (b.start, b.end)]
    back = [_height(b, p) for p in (a.start, a.end)]
    if max(map(abs, off)) < ON_MM or max(map(abs, back)) < ON_MM:  # they lie on one line
        return []
    if off[0] == off[1] or back[0] == back[1]:
        return []
    s, t = off[0] / (off[0] - off[1]), back[0] / (back[0] - back[1])
    slack = ON_MM / a.length, ON_MM / b.length
    if -slack[0] <= t <= 1 + slack[0] and -slack[1] <= s <= 1 + slack[1]:
        return [(min(max(t, 0.0), 1.0), min(max(s, 0.0), 1.0))]
    return []


def _height(line: Line, place: XY) -> float:
    """How far a place is off a line, to its left [mm]."""
    (x, y), (u, v) = line.start, line.end
    return ((u - x) * (place[1] - y) - (v - y) * (place[0] - x)) / line.length


def _along(line: Line, arc: Arc) -> list[float]:
    """Parameters of a whole line at which it meets a whole ellipse."""
    (cx, cy), (rx, ry) = arc.centre, arc.radii
    (x, y), (u, v) = line.start, line.end
    px, py, dx, dy = (x - cx) / rx, (y - cy) / ry, (u - x) / rx, (v - y) / ry
    a, b = dx * dx + dy * dy, px * dx + py * dy
    # how far the ellipse reaches towards the line, and how far off the line is [mm]
    reach = math.hypot(rx * (v - y), ry * (u - x)) / line.length
    off = abs(_height(line, (cx, cy)))
    if off > reach + ON_MM:
        return []
    if off > reach - ON_MM:
        return [-b / a]
    foot = (px * dy - py * dx) ** 2 / a  # square of the line's distance from the unit circle
    half = math.sqrt(max(a * (1.0 - foot), 0.0))
    return [(-b - half) / a, (-b + half) / a]


def _of_arcs(a: Arc, b: Arc) -> list[XY]:
    """Where two whole ellipses meet."""
    if a.is_circular and b.is_circular:
        return _of_circles(a.centre, a.radii[0], b.centre, b.radii[0])
    (px, py), (qx, qy) = a.radii, b.radii
    if abs(px * qy - py * qx) < 1e-12 * px * qy:  # alike: both become circles
        k = px / py
        (ax, ay), (bx, by) = a.centre, b.centre
        met = _of_circles((ax, k * ay), px, (bx, k * by), qx)
        return [(x, y / k) for x, y in met]
    return _of_ellipses(a, b)


def _of_circles(a: XY, r: float, b: XY, q: float) -> list[XY]:
    away = math.dist(a, b)
    if away > r + q + ON_MM or away < abs(r - q) - ON_MM or away + abs(r - q) < ON_MM:
        return []
    ux, uy = (b[0] - a[0]) / away, (b[1] - a[1]) / away
    if away > r + q - ON_MM:
        return [(a[0] + r * ux, a[1] + r * uy)]
    if away < abs(r - q) + ON_MM:
        side = math.copysign(r, r - q)
        return [(a[0] + side * ux, a[1] + side * uy)]
    along = (away * away + (r - q) * (r + q)) / (2 * away)
    half = math.sqrt(max((r - along) * (r + along), 0.0))
    x, y = a[0] + along * ux, a[1] + along * uy
    return [(x - half * uy, y + half * ux), (x + half * uy, y - half * ux)]


def _of_ellipses(a: Arc, b: Arc) -> list[XY]:
    """Where two ellipses meet: b(angle) put into a's equation is a quartic in exp(i angle)."""
    x0, y0 = ((q - p) / r for p, q, r in zip(a.centre, b.centre, a.radii, strict=True))
    x1, y1 = (q / r for q, r in zip(b.radii, a.radii, strict=True))
    outer, inner = (x1 * x1 - y1 * y1) / 4, x0 * x1 - 1j * y0 * y1
    middle = x0 * x0 + y0 * y0 - 1 + (x1 * x1 + y1 * y1) / 2
    if max(abs(outer), abs(inner), abs(middle)) * min(a.radii) < ON_MM:
        return []
    roots = np.roots([outer, inner, middle, inner.conjugate(), outer])
    polished = (_polished(x0, y0, x1, y1, float(angle)) for angle in np.angle(roots))
    turns = sorted(math.remainder(turn, math.tau) for turn in polished)  # it may go round

    def off_mm(turn: float) -> float:
        x, y = x0 + x1 * math.cos(turn), y0 + y1 * math.sin(turn)
        steep = 2 * math.hypot(x / a.radii[0], y / a.radii[1])
        return abs(x * x + y * y - 1) / steep if steep else math.inf

    met = [turn for turn in turns if off_mm(turn) < ON_MM]
    if not met:
        return []
    apart = [
        turn
        for before, turn in pairwise([met[-1] - math.tau, *met])
        if off_mm((before + turn) / 2) > ON_MM or turn - before > 1.0
    ]
    return [
        (b.centre[0] + b.radii[0] * math.cos(turn), b.centre[1] + b.radii[1] * math.sin(turn))
        for turn in apart or met[:1]
    ]


def _polished(x0: float, y0: float, x1: float, y1: float, turn: float) -> float:
    """Return the root after a few of Newton's steps; a step that does not come nearer is left."""

    def off(turn: float) -> tuple[float, float]:
        c, s = math.cos(turn), math.sin(turn)
        x, y = x0 + x1 * c, y0 + y1 * s
        return x * x + y * y - 1, 2 * (y * y1 * c - x * x1 * s)

    value, slope = off(turn)
    for _ in range(4):
        if not abs(value) < math.tau * abs(slope):  # flat there: the step would go anywhere
            break
        tried = turn - value / slope
        now, steep = off(tried)
        if abs(now) >= abs(value):
            break
        turn, value, slope = tried, now, steep
    return turn
