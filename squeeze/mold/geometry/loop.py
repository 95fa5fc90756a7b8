"""Closed curves of lines and arcs, counter-clockwise: the inside lies to the left."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray
from shapely.geometry import Polygon

from squeeze.mold.geometry.curve import Arc, CurvePiece, Line, Points, xy
from squeeze.mold.geometry.edges import SAGITTA_MM, Edges, chords


@dataclass(frozen=True)
class Loop:
    """A closed curve, counter-clockwise.

    Attributes
    ----------
    pieces : tuple of Line or Arc
        Each begins where the one before ends.
    """

    pieces: tuple[CurvePiece, ...]

    @property
    def length(self) -> float:
        """Perimeter [mm]."""
        return float(sum(piece.length for piece in self.pieces))

    def points(self, sagitta_mm: float = SAGITTA_MM) -> Points:
        """Return a polygon whose chords stray at most `sagitta_mm` from the loop, shape (n, 2).

        It is made once for each `sagitta_mm`, and read-only.
        """
        if sagitta_mm not in self._polygons:
            made = np.vstack([chords(piece, sagitta_mm)[:-1] for piece in self.pieces])
            made.flags.writeable = False
            self._polygons[sagitta_mm] = made
        return self._polygons[sagitta_mm]

    @cached_property
    def _polygons(self) -> dict[float, Points]:
        """Points of the polygons made so far, by how far their chords may stray [mm]."""
        return {}

    @cached_property
    def edges(self) -> Edges:
        """The pieces as a table in which places are looked up."""
        return Edges(self.pieces)

    @cached_property
    def box(self) -> tuple[float, float, float, float]:
        """Least and largest x and y that hold the loop: (x, y, x, y) [mm]."""
        x0, y0, x1, y1 = zip(*(piece.box() for piece in self.pieces), strict=True)
        return min(x0), min(y0), max(x1), max(y1)

    @cached_property
    def polygon(self) -> Polygon:
        """The region inside, as a polygon of fine chords."""
        return Polygon(self.points())

    @property
    def area(self) -> float:
        """Area inside [mm2]; straight pieces exact, arcs by Green's theorem."""
        return float(sum(_area_under(piece) for piece in self.pieces))

    def crossings(self, a: ArrayLike, b: ArrayLike) -> list[tuple[int, float, float]]:
        """Where the segment a-b meets the loop: (piece number, t there, t on the segment)."""
        return self.edges.crossings(a, b)

    def nearest(self, point: ArrayLike) -> tuple[int, float, float]:
        """Place nearest to `point`: (piece number, t on the piece, distance [mm])."""
        found = self.edges.nearest(point)
        return int(found.piece[0]), float(found.at[0]), float(found.distance[0])

    def comes_within(self, reach_mm: float, point: ArrayLike) -> bool:
        """Whether the loop comes within `reach_mm` of `point` (2,), its inside left out."""
        return bool(self.pieces_near(point, reach_mm))

    def distances(self, points: ArrayLike) -> NDArray[np.float64]:
        """How far each of `points` (n, 2) is from the loop, shape (n,) [mm]."""
        return self.edges.nearest(points).distance

    def pieces_near(self, point: ArrayLike, reach_mm: float) -> list[CurvePiece]:
        """Return the pieces that come within `reach_mm` of `point` (2,)."""
        x, y = xy(point)
        x0, y0, x1, y1 = self.box
        if not (x0 - x <= reach_mm and y0 - y <= reach_mm):
            return []
        if not (x - x1 <= reach_mm and y - y1 <= reach_mm):
            return []
        return [self.pieces[k] for k in self.edges.within(point, reach_mm)]


def _area_under(piece: CurvePiece) -> float:
    """Integral of (x dy - y dx) / 2 along the piece."""
    if isinstance(piece, Line):
        (x0, y0), (x1, y1) = piece.start, piece.end
        return 0.5 * (x0 * y1 - x1 * y0)
    (cx, cy), (rx, ry) = piece.centre, piece.radii
    (x0, y0), (x1, y1) = piece.at([0.0, 1.0])
    return 0.5 * (rx * ry * piece.sweep_rad + cx * (y1 - y0) - cy * (x1 - x0))


def polygon_loop(points: Iterable[Iterable[float]]) -> Loop:
    """Return the loop of straight lines through `points` (n, 2) [mm], counter-clockwise."""
    corners = [tuple(float(c) for c in p) for p in points]
    if _turns_clockwise(np.array(corners)):
        corners.reverse()
    ends = corners[1:] + corners[:1]
    return Loop(tuple(Line((a[0], a[1]), (b[0], b[1])) for a, b in zip(corners, ends, strict=True)))


def circle(radius_mm: float, centre_mm: tuple[float, float] = (0.0, 0.0)) -> Loop:
    """Return a circle about `centre_mm` (x, y) [mm], in four quarter arcs that start on the right.

    `radius_mm` is its radius [mm].
    """
    return ellipse((radius_mm, radius_mm), centre_mm)


def ellipse(radii_mm: tuple[float, float], centre_mm: tuple[float, float] = (0.0, 0.0)) -> Loop:
    """Return an upright ellipse about `centre_mm` (x, y) [mm], in four quarters from the right on.

    `radii_mm` are half its width and half its height [mm].
    """
    quarter = np.pi / 2
    return Loop(tuple(Arc(centre_mm, radii_mm, k * quarter, quarter) for k in range(4)))


def _turns_clockwise(p: Points) -> bool:
    q = np.roll(p, -1, axis=0)
    return bool(np.sum(p[:, 0] * q[:, 1] - q[:, 0] * p[:, 1]) < 0)
