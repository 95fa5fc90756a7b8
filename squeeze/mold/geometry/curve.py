"""Plane curves of which outlines are made: straight lines and arcs of circles or ellipses.

All lengths in mm. A `Loop` is closed and runs counter-clockwise, so the inside lies to the left.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray
from shapely.geometry import Point, Polygon

Points = NDArray[np.float64]

SAGITTA_MM = 0.01  # chords stray at most so far from a curve


@dataclass(frozen=True)
class Line:
    """Straight piece from `start` to `end` (x, y in mm)."""

    start: tuple[float, float]
    end: tuple[float, float]

    @property
    def length(self) -> float:
        """Length [mm]."""
        return float(np.hypot(self.end[0] - self.start[0], self.end[1] - self.start[1]))

    @property
    def least_radius(self) -> float:
        """Least radius of curvature [mm]; infinite for a line."""
        return np.inf

    def at(self, t: ArrayLike) -> Points:
        """Points at the parameters `t` in 0..1, shape (n, 2) [mm]."""
        t = np.atleast_1d(np.asarray(t, float))[:, None]
        return (1 - t) * np.array(self.start) + t * np.array(self.end)

    def nearest(self, point: ArrayLike) -> float:
        """Parameter of the place nearest to `point`, clipped to 0..1."""
        a, d = np.array(self.start), np.subtract(self.end, self.start)
        return float(np.clip(np.dot(np.asarray(point, float) - a, d) / np.dot(d, d), 0.0, 1.0))

    def even(self, n: int) -> NDArray[np.float64]:
        """Parameters of `n` stretches of equal length, shape (n + 1,)."""
        return np.linspace(0.0, 1.0, n + 1)

    def tangent(self, t: float) -> NDArray[np.float64]:
        """Return the unit vector along the piece at the parameter `t`, shape (2,)."""
        return np.subtract(self.end, self.start) / self.length

    def box(self) -> tuple[float, float, float, float]:
        """Least and largest x and y that hold the piece: (x, y, x, y) [mm]."""
        (x0, y0), (x1, y1) = self.start, self.end
        return min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)

    def crossings(self, a: ArrayLike, b: ArrayLike) -> list[tuple[float, float]]:
        """Where the segment from `a` to `b` meets this piece: pairs (t here, t on the segment)."""
        a, b = np.asarray(a, float), np.asarray(b, float)
        p, d, e = np.array(self.start), np.subtract(self.end, self.start), b - a
        det = d[0] * -e[1] + e[0] * d[1]
        if abs(det) <= 1e-12 * self.length * float(np.hypot(*e)):
            return []
        r = a - p
        t = (r[0] * -e[1] + e[0] * r[1]) / det
        s = (d[0] * r[1] - d[1] * r[0]) / det
        return [(float(t), float(s))] if _inside(t) and _inside(s) else []


@dataclass(frozen=True)
class Arc:
    """Arc of a circle or of an upright ellipse, by its angle parameter.

    The place at parameter t is centre + (rx cos a, ry sin a) with a = start_rad + t * sweep_rad.
    A positive sweep runs counter-clockwise.
    """

    centre: tuple[float, float]
    radii: tuple[float, float]
    start_rad: float
    sweep_rad: float

    @cached_property
    def _table(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        t = np.linspace(0.0, 1.0, 2049)
        step = np.hypot(*np.diff(self.at(t), axis=0).T)
        return t, np.concatenate([[0.0], np.cumsum(step)])

    @property
    def length(self) -> float:
        """Length [mm]; exact for a circle, to 1e-6 for an ellipse."""
        if self.radii[0] == self.radii[1]:
            return abs(self.sweep_rad) * self.radii[0]
        return float(self._table[1][-1])

    @property
    def least_radius(self) -> float:
        """Least radius of curvature of the whole ellipse [mm]."""
        rx, ry = self.radii
        return min(rx * rx / ry, ry * ry / rx)

    def at(self, t: ArrayLike) -> Points:
        """Points at the parameters `t` in 0..1, shape (n, 2) [mm]."""
        a = self.start_rad + np.atleast_1d(np.asarray(t, float)) * self.sweep_rad
        return np.array(self.centre) + np.column_stack(
            [self.radii[0] * np.cos(a), self.radii[1] * np.sin(a)]
        )

    def _parameter(self, a: float) -> float:
        turn = (a - self.start_rad) * np.sign(self.sweep_rad) % (2 * np.pi)
        turn -= 2 * np.pi * (turn > 2 * np.pi - 1e-9)
        return turn / abs(self.sweep_rad)

    def nearest(self, point: ArrayLike) -> float:
        """Parameter of the place nearest to `point`, clipped to 0..1."""
        x, y = np.asarray(point, float) - np.array(self.centre)
        if self.radii[0] == self.radii[1]:
            t = self._parameter(float(np.arctan2(y, x)))
            if 0.0 <= t <= 1.0:
                return float(t)
            ends = np.hypot(*(self.at([0.0, 1.0]) - np.asarray(point, float)).T)
            return float(np.argmin(ends))
        t = np.linspace(0.0, 1.0, 65)
        for _ in range(8):  # each round looks closer by a factor of 16
            step = t[1] - t[0]
            best = t[np.argmin(np.hypot(*(self.at(t) - np.asarray(point, float)).T))]
            t = np.linspace(max(best - step, 0.0), min(best + step, 1.0), 33)
        return float(t[np.argmin(np.hypot(*(self.at(t) - np.asarray(point, float)).T))])

    def even(self, n: int) -> NDArray[np.float64]:
        """Parameters of `n` stretches of equal length, shape (n + 1,)."""
        if self.radii[0] == self.radii[1]:
            return np.linspace(0.0, 1.0, n + 1)
        t, length = self._table
        return np.interp(np.linspace(0.0, length[-1], n + 1), length, t)

    def tangent(self, t: float) -> NDArray[np.float64]:
        """Return the unit vector along the piece at the parameter `t`, shape (2,)."""
        a, sign = self.start_rad + t * self.sweep_rad, np.sign(self.sweep_rad)
        along = sign * np.array([-self.radii[0] * np.sin(a), self.radii[1] * np.cos(a)])
        return along / np.hypot(*along)

    def box(self) -> tuple[float, float, float, float]:
        """Least and largest x and y that hold the piece: (x, y, x, y) [mm]; a little roomy."""
        places = self.at(np.linspace(0.0, 1.0, 9))
        sagitta = max(self.radii) * (self.sweep_rad / 8) ** 2 / 8
        (x0, y0), (x1, y1) = places.min(axis=0) - sagitta, places.max(axis=0) + sagitta
        return float(x0), float(y0), float(x1), float(y1)

    def crossings(self, a: ArrayLike, b: ArrayLike) -> list[tuple[float, float]]:
        """Where the segment from `a` to `b` meets this piece: pairs (t here, t on the segment)."""
        r = np.array(self.radii)
        p, q = (np.asarray(a, float) - self.centre) / r, (np.asarray(b, float) - self.centre) / r
        d = q - p
        found = []
        for s in _roots(float(d @ d), float(p @ d), float(p @ p) - 1.0):
            x, y = p + s * d
            t = self._parameter(float(np.arctan2(y, x)))
            if _inside(t) and _inside(s):
                found.append((t, s))
        return found


Piece = Line | Arc


def _roots(a: float, b: float, c: float) -> list[float]:
    """Real roots of a s^2 + 2 b s + c; a touch within rounding counts as one root."""
    disc = b * b - a * c
    if a == 0.0 or disc < -1e-12 * a:
        return []
    if disc < 1e-12 * a:
        return [-b / a]
    q = -(b + np.copysign(np.sqrt(disc), b))
    return sorted([q / a, c / q])


def _inside(t: float) -> bool:
    return -1e-9 <= t <= 1.0 + 1e-9


@dataclass(frozen=True)
class Loop:
    """A closed curve of pieces, each beginning where the one before ends, counter-clockwise."""

    pieces: tuple[Piece, ...]

    @property
    def length(self) -> float:
        """Perimeter [mm]."""
        return float(sum(piece.length for piece in self.pieces))

    def points(self, sagitta_mm: float = SAGITTA_MM) -> Points:
        """Return a polygon whose chords stray at most `sagitta_mm` from the loop, shape (n, 2)."""
        parts = []
        for piece in self.pieces:
            n = 1
            if isinstance(piece, Arc):
                turn = 2 * np.sqrt(2 * sagitta_mm / max(piece.radii))
                n = max(4, int(np.ceil(abs(piece.sweep_rad) / turn)))
            parts.append(piece.at(np.linspace(0.0, 1.0, n + 1))[:-1])
        return np.vstack(parts)

    @cached_property
    def _boxes(self) -> NDArray[np.float64]:
        return np.array([piece.box() for piece in self.pieces])

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
        low, high = np.minimum(a, b) - 1e-6, np.maximum(a, b) + 1e-6
        near = np.all(self._boxes[:, :2] <= high, 1) & np.all(self._boxes[:, 2:] >= low, 1)
        return [
            (int(k), t, s) for k in np.flatnonzero(near) for t, s in self.pieces[k].crossings(a, b)
        ]

    def nearest(self, point: ArrayLike) -> tuple[int, float, float]:
        """Place nearest to `point`: (piece number, t on the piece, distance [mm])."""
        best = (0, 0.0, np.inf)
        least = self._box_distances(point)
        for k in np.argsort(least, kind="stable"):
            if least[k] > best[2]:
                break
            t = self.pieces[k].nearest(point)
            d = float(np.hypot(*(self.pieces[k].at(t)[0] - np.asarray(point, float))))
            if d < best[2]:
                best = (int(k), t, d)
        return best

    def holds(self, point: tuple[float, float]) -> bool:
        """Whether the point is inside, by the curve itself where chords would not tell."""
        k, t, distance = self.nearest(point)
        if distance > 2 * SAGITTA_MM or not 0 < t < 1:
            return self.polygon.contains(Point(point))
        along, off = self.pieces[k].tangent(t), point - self.pieces[k].at(t)[0]
        return bool(along[0] * off[1] > along[1] * off[0])

    def pieces_near(self, point: ArrayLike, reach_mm: float) -> list[Piece]:
        """Return the pieces whose boxes come within `reach_mm` of `point`."""
        return [self.pieces[k] for k in np.flatnonzero(self._box_distances(point) <= reach_mm)]

    def _box_distances(self, point: ArrayLike) -> NDArray[np.float64]:
        p = np.asarray(point, float)
        low, high = self._boxes[:, :2] - p, p - self._boxes[:, 2:]
        return np.hypot(*np.maximum(np.maximum(low, high), 0.0).T)


def _area_under(piece: Piece) -> float:
    """Integral of (x dy - y dx) / 2 along the piece."""
    if isinstance(piece, Line):
        (x0, y0), (x1, y1) = piece.start, piece.end
        return 0.5 * (x0 * y1 - x1 * y0)
    (cx, cy), (rx, ry) = piece.centre, piece.radii
    (x0, y0), (x1, y1) = piece.at([0.0, 1.0])
    return 0.5 * (rx * ry * piece.sweep_rad + cx * (y1 - y0) - cy * (x1 - x0))


def polygon_loop(points: Iterable[Iterable[float]]) -> Loop:
    """Return the loop of straight lines through `points`, turned counter-clockwise."""
    corners = [tuple(float(c) for c in p) for p in points]
    if _turns_clockwise(np.array(corners)):
        corners.reverse()
    ends = corners[1:] + corners[:1]
    return Loop(tuple(Line((a[0], a[1]), (b[0], b[1])) for a, b in zip(corners, ends, strict=True)))


def circle(radius_mm: float, centre_mm: tuple[float, float] = (0.0, 0.0)) -> Loop:
    """Return a full circle, in four quarter arcs that start on the right."""
    return ellipse((radius_mm, radius_mm), centre_mm)


def ellipse(radii_mm: tuple[float, float], centre_mm: tuple[float, float] = (0.0, 0.0)) -> Loop:
    """Return a full upright ellipse, in four quarters that start on the right."""
    quarter = np.pi / 2
    return Loop(tuple(Arc(centre_mm, radii_mm, k * quarter, quarter) for k in range(4)))


def _turns_clockwise(p: Points) -> bool:
    q = np.roll(p, -1, axis=0)
    return bool(np.sum(p[:, 0] * q[:, 1] - q[:, 0] * p[:, 1]) < 0)
