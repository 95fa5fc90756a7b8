"""Parts of curves: cut out of a piece or a loop, turned round, joined by a rounded corner."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from squeeze.mold.geometry.curve import Arc, CurvePiece, Line, Points, xy
from squeeze.mold.geometry.loop import Loop
from squeeze.mold.geometry.tolerance import ON_MM, SAME_MM

Spot = tuple[int, float]
"""A place on a loop: number of the piece, parameter on it."""


def part(piece: CurvePiece, begin: float, end: float) -> CurvePiece:
    """Return the part of a piece from the parameter `begin` to the parameter `end`."""
    if isinstance(piece, Line):
        a, b = piece.at([begin, end])
        return Line(xy(a), xy(b))
    start = piece.start_rad + begin * piece.sweep_rad
    return Arc(piece.centre, piece.radii, start, (end - begin) * piece.sweep_rad)


def turned(piece: CurvePiece) -> CurvePiece:
    """Return the piece run through from its end to its start."""
    if isinstance(piece, Line):
        return Line(piece.end, piece.start)
    return Arc(piece.centre, piece.radii, piece.start_rad + piece.sweep_rad, -piece.sweep_rad)


def snapped(loop: Loop, spot: Spot) -> Spot:
    """Return the spot, moved to an end of its piece when that is within 0.02 mm."""
    k, t = spot
    piece = loop.pieces[k]
    ends = np.hypot(*(piece.at([0.0, 1.0]) - piece.at(t)).T)
    if ends[0] < SAME_MM:
        return k, 0.0
    return ((k + 1) % len(loop.pieces), 0.0) if ends[1] < SAME_MM else spot


def stretch(loop: Loop, begin: Spot, end: Spot) -> tuple[CurvePiece, ...]:
    """Return the pieces of a loop from one spot on to another, in the loop's direction."""
    (k, t), (last, u) = begin, end
    if k == last and t < u:
        return (part(loop.pieces[k], t, u),)
    found = [part(loop.pieces[k], t, 1.0)]
    k = (k + 1) % len(loop.pieces)
    while k != last:
        found.append(loop.pieces[k])
        k = (k + 1) % len(loop.pieces)
    if u > 0:
        found.append(part(loop.pieces[last], 0.0, u))
    return tuple(found)


def seat_of(outline: Loop, loop: Loop) -> tuple[CurvePiece, ...]:
    """Return the seat of a cradle piece: its pieces on the outline, in the outline's direction."""
    on = outline.distances([piece.place(0.5) for piece in loop.pieces]) < ON_MM
    n = len(on)
    begin = next((k for k in range(n) if on[k] and not on[k - 1]), 0)
    order = [(begin + k) % n for k in range(n)]
    return tuple(turned(loop.pieces[k]) for k in order if on[k])[::-1]


def end_of(piece: CurvePiece) -> Points:
    """Return the end of a piece, shape (2,)."""
    return piece.at(1.0)[0]


def rounded_path(pieces: Sequence[CurvePiece], radius_mm: float | None) -> list[CurvePiece]:
    """Return a path with its outward corners rounded.

    Parameters
    ----------
    pieces : sequence of Line or Arc
        Each begins where the one before ends; the inside lies to the left.
    radius_mm : float or None
        Radius; None = 2 mm or what fits.

    Raises
    ------
    ValueError
        When a given radius does not fit.
    """
    done = [pieces[0]]
    for piece in pieces[1:]:
        done += _joined(done.pop(), piece, radius_mm)
    return done


def _joined(a: CurvePiece, b: CurvePiece, radius_mm: float | None) -> list[CurvePiece]:
    u, v = a.tangent(1.0), b.tangent(0.0)
    turn = math.atan2(u[0] * v[1] - u[1] * v[0], float(u @ v))
    if turn < math.radians(3.0) - 1e-6 or radius_mm == 0.0:
        return [a, b]
    if radius_mm is not None:
        made = _corner(a, b, radius_mm)
        if made is None:
            x, y = end_of(a)
            raise ValueError(f"{radius_mm:g} does not fit the corner at ({x:.4g}, {y:.4g})")
        return made
    tries = (_corner(a, b, 2.0 * 0.8**k) for k in range(20))
    return next((made for made in tries if made is not None), [a, b])


def _corner(a: CurvePiece, b: CurvePiece, r: float) -> list[CurvePiece] | None:
    """Return `a`, an arc and `b`, or None when they are too short for the radius."""
    centre = _centre(a, b, r)
    if centre is None:
        return None
    t, u = a.nearest(centre), b.nearest(centre)
    if 1 - t > 0.75 + 1e-6 or u > 0.45 + 1e-6:
        return None
    p, q = a.at(t)[0] - centre, b.at(u)[0] - centre
    sweep = math.atan2(p[0] * q[1] - p[1] * q[0], float(p @ q))
    if sweep <= 0 or abs(np.hypot(*p) - r) > ON_MM or abs(np.hypot(*q) - r) > ON_MM:
        return None
    arc = Arc(xy(centre), (r, r), math.atan2(p[1], p[0]), sweep)
    return [part(a, 0.0, t), arc, part(b, u, 1.0)]


def _centre(a: CurvePiece, b: CurvePiece, r: float) -> Points | None:
    """Return the place at the distance r to the left of both pieces, near their corner."""
    if isinstance(a, Line) and isinstance(b, Line):
        p, u = _left(a, r)
        q, v = _left(b, r)
        det = u[0] * v[1] - u[1] * v[0]
        s = ((q - p)[0] * v[1] - (q - p)[1] * v[0]) / det
        return p + s * u
    line, arc = (a, b) if isinstance(a, Line) else (b, a)
    if not isinstance(line, Line) or not isinstance(arc, Arc):
        return None
    p, u = _left(line, r)
    radius = arc.radii[0] - math.copysign(r, arc.sweep_rad)
    d = p - arc.centre
    half, rest = float(d @ u), float(d @ d) - radius**2
    disc = half**2 - rest
    if disc < 0:
        return None
    roots = [p + s * u for s in (-half - math.sqrt(disc), -half + math.sqrt(disc))]
    return min(roots, key=lambda c: float(np.hypot(*(c - end_of(a)))))


def _left(line: Line, r: float) -> tuple[Points, Points]:
    along = line.tangent(0.0)
    return np.array(line.start) + r * np.array([-along[1], along[0]]), along
