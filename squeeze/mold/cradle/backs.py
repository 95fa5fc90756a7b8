"""The backs of cradle pieces: from the seat's beginning out, along the back, and in again."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from squeeze.mold.geometry.curve import Arc, CurvePiece, Line, Points, xy
from squeeze.mold.geometry.tolerance import ON_MM
from squeeze.mold.shapes.corners import bad
from squeeze.mold.tables.cradle import CradleTable

LEAST_END_MM = 1.0
"""A piece may not be thinner than this at its ends [mm]."""

XY = tuple[float, float]


@dataclass(frozen=True, eq=False)
class Back:
    """What a back is made from.

    Attributes
    ----------
    cradle : CradleTable
    seat : tuple of Line or Arc
        In the outline's direction.
    towards : array (2,)
        Unit vector from the block out through the piece.
    over_mm : float
        How far a board stands over its seat at each end.
    rays : (float, float) or None
        Directions of the end faces [rad]; None = both along `towards`.
    middle : array (2,) or None
        Middle of the block, for a back round it.
    """

    cradle: CradleTable
    seat: tuple[CurvePiece, ...]
    towards: Points
    over_mm: float
    rays: tuple[float, float] | None
    middle: Points | None

    @property
    def begin(self) -> Points:
        """Where the seat begins (2,) [mm]."""
        return self.seat[0].at(0.0)[0]

    @property
    def end(self) -> Points:
        """Where the seat ends (2,) [mm]."""
        return self.seat[-1].at(1.0)[0]

    @property
    def along(self) -> Points:
        """Unit vector (2,) from the seat's end to its beginning, square to `towards`."""
        return np.array([self.towards[1], -self.towards[0]])

    def highest(self) -> float:
        """How far out the seat reaches [mm]."""
        places = np.vstack([piece.at(np.linspace(0, 1, 65)) for piece in self.seat])
        return float((places @ self.towards).max())

    def farthest(self) -> float:
        """Largest distance of the seat from the block's middle [mm]."""
        assert self.middle is not None
        places = np.vstack([piece.at(np.linspace(0, 1, 65)) for piece in self.seat])
        return float(np.hypot(*(places - self.middle).T).max())


def back_of(back: Back) -> list[CurvePiece]:
    """Return the piece's edge from its seat's beginning round the back to the seat's end.

    Raises
    ------
    BadInput
        With the key, when the figures make no piece.
    """
    if back.cradle.back == "drawn":
        return _drawn(back)
    if back.rays is not None:
        return _round_the_middle(back) if back.cradle.back == "round" else _flat_between(back)
    return _board(back)


def _board(back: Back) -> list[CurvePiece]:
    """End faces along `towards`; the back flat, or an arc through ends and middle."""
    begin, end = back.begin + back.over_mm * back.along, back.end - back.over_mm * back.along
    top = back.highest() + (back.cradle.thickness_mm or 0.0)
    width = float((begin - end) @ back.along)
    rise = _rise(back.cradle, width) if back.cradle.back == "round" else 0.0
    shoulder = top - rise
    least = shoulder - max(float(begin @ back.towards), float(end @ back.towards))
    if least < LEAST_END_MM - ON_MM:
        text = f"leaves {least:.2f} mm at the ends of the piece; at least {LEAST_END_MM:g} needed"
        raise bad("rise_mm" if rise else "thickness_mm", text)
    a, b = (p + (shoulder - p @ back.towards) * back.towards for p in (begin, end))
    arc = Line(xy(a), xy(b)) if rise == 0 else _bow(a, b, back.towards, rise)
    path = [back.begin, begin] if back.over_mm else [begin]
    out = [*path, a]
    home = [b, end, back.end] if back.over_mm else [b, end]
    return [*straight_lines(out), arc, *straight_lines(home)]


def _rise(cradle: CradleTable, width: float) -> float:
    if cradle.back_radius_mm is None:
        return cradle.rise_mm or 0.5 * (cradle.thickness_mm or 0.0)
    radius = cradle.back_radius_mm
    if radius < width / 2 - ON_MM:
        text = f"{radius:g} is less than half of the piece's width, {width / 2:.4g} mm"
        raise bad("back_radius_mm", text)
    return radius - math.sqrt(max(radius**2 - width**2 / 4, 0.0))


def _bow(a: Points, b: Points, towards: Points, rise: float) -> Arc:
    """Return the arc from `a` to `b` whose middle stands `rise` above them."""
    half = 0.5 * float(np.hypot(*(b - a)))
    radius = (half**2 + rise**2) / (2 * rise)
    centre = (a + b) / 2 + (rise - radius) * towards
    start = math.atan2(*(a - centre)[::-1])
    sweep = 2 * math.atan2(half, radius - rise)
    return Arc(xy(centre), (radius, radius), start, sweep)


def _round_the_middle(back: Back) -> list[CurvePiece]:
    """Return end faces along the rays, and an arc round the block's middle."""
    assert back.middle is not None
    assert back.rays is not None
    thickness = back.cradle.thickness_mm or 0.0
    radius = back.cradle.back_radius_mm or back.farthest() + thickness
    if radius < back.farthest() + LEAST_END_MM - ON_MM:
        text = f"{radius:g} is too small; the block reaches out to {back.farthest():.4g} mm there"
        raise bad("back_radius_mm", text)
    a, b = (
        _on_circle(p, ray, back.middle, radius)
        for p, ray in zip((back.begin, back.end), back.rays, strict=True)
    )
    start, stop = (math.atan2(*(p - back.middle)[::-1]) for p in (a, b))
    arc = Arc(xy(back.middle), (radius, radius), start, (stop - start) % (2 * math.pi))
    return [*straight_lines([back.begin, a]), arc, *straight_lines([b, back.end])]


def _on_circle(p: Points, ray: float, middle: Points, radius: float) -> Points:
    """Return where the line from `p` in the direction `ray` meets the circle."""
    u, d = np.array([math.cos(ray), math.sin(ray)]), p - middle
    half = float(d @ u)
    return p + (-half + math.sqrt(half**2 - float(d @ d) + radius**2)) * u


def _flat_between(back: Back) -> list[CurvePiece]:
    """Return end faces along the rays, and a flat back square to `towards`."""
    assert back.rays is not None
    top = back.highest() + (back.cradle.thickness_mm or 0.0)
    corners = []
    for p, ray in zip((back.begin, back.end), back.rays, strict=True):
        u = np.array([math.cos(ray), math.sin(ray)])
        slope = float(u @ back.towards)
        if slope < math.sin(math.radians(20.0)):
            raise bad("back", 'a flat back does not reach round that far; take back = "round"')
        corners.append(p + (top - float(p @ back.towards)) / slope * u)
    return straight_lines([back.begin, *corners, back.end])


def _drawn(back: Back) -> list[CurvePiece]:
    return straight_lines([back.begin, *map(np.array, back.cradle.back_mm or ()), back.end])


def straight_lines(points: list[Points]) -> list[CurvePiece]:
    """Return the straight lines from point to point of `points` (n, 2) [mm]."""
    return [Line(xy(p), xy(q)) for p, q in pairwise(points) if np.hypot(*(q - p)) > ON_MM]
