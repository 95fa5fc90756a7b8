"""Pieces of plane curves: straight lines and arcs of circles or upright ellipses, in mm."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

Points = NDArray[np.float64]
XY = tuple[float, float]
_SIDES = ((1, 0), (0, 1), (-1, 0), (0, -1))


@lru_cache(maxsize=1024)
def even_parts(n: int) -> NDArray[np.float64]:
    """Return the ends of `n` equal parts of 0..1, shape (n + 1,); made once, and read-only."""
    ends = np.linspace(0.0, 1.0, n + 1)
    ends.flags.writeable = False
    return ends


@dataclass(frozen=True)
class Line:
    """Straight piece from `start` to `end` (x, y in mm)."""

    start: XY
    end: XY

    @property
    def length(self) -> float:
        """Length [mm]."""
        return math.dist(self.start, self.end)

    @property
    def least_radius(self) -> float:
        """Least radius of curvature [mm]; infinite for a line."""
        return math.inf

    def at(self, t: ArrayLike) -> Points:
        """Points at the parameters `t` in 0..1, shape (n, 2) [mm]."""
        t = np.atleast_1d(np.asarray(t, float))
        (x, y), (u, v), back = self.start, self.end, 1 - t
        places = np.empty((len(t), 2))
        places[:, 0] = back * x + t * u
        places[:, 1] = back * y + t * v
        return places

    def place(self, t: float) -> XY:
        """Point (x, y) at the parameter `t` [mm]."""
        (x, y), (u, v) = self.start, self.end
        return (1 - t) * x + t * u, (1 - t) * y + t * v

    def nearest(self, point: ArrayLike) -> float:
        """Parameter of the place nearest to `point` (2,) [mm], clipped to 0..1."""
        (x, y), (u, v) = self.start, self.end
        px, py = xy(point)
        dx, dy = u - x, v - y
        t = ((px - x) * dx + (py - y) * dy) / (dx * dx + dy * dy)
        return min(max(t, 0.0), 1.0)

    def even(self, n: int) -> NDArray[np.float64]:
        """Parameters of `n` stretches of equal length, shape (n + 1,); read-only."""
        return even_parts(n)

    def halfway(self, a: ArrayLike, b: ArrayLike) -> NDArray[np.float64]:
        """Parameters of the places halfway between those at `a` and at `b`, shape (n,)."""
        return 0.5 * (np.atleast_1d(np.asarray(a, float)) + np.asarray(b, float))

    def tangent(self, t: float) -> NDArray[np.float64]:
        """Return the unit vector along the piece at the parameter `t`, shape (2,)."""
        return np.subtract(self.end, self.start) / self.length

    def box(self) -> tuple[float, float, float, float]:
        """Least and largest x and y that hold the piece: (x, y, x, y) [mm]."""
        (x0, y0), (x1, y1) = self.start, self.end
        return min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)


@dataclass(frozen=True)
class Arc:
    """Arc of a circle or of an upright ellipse, by its angle parameter.

    The place at parameter t is centre + (rx cos a, ry sin a) with a = start_rad + t * sweep_rad.
    A positive sweep runs counter-clockwise.
    """

    centre: XY
    radii: XY
    start_rad: float
    sweep_rad: float

    @cached_property
    def _table(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        t = np.linspace(0.0, 1.0, 2049)
        step = np.hypot(*np.diff(self.at(t), axis=0).T)
        return t, np.concatenate([[0.0], np.cumsum(step)])

    @property
    def is_circular(self) -> bool:
        """Whether it is an arc of a circle."""
        return self.radii[0] == self.radii[1]

    @property
    def length(self) -> float:
        """Length [mm]; exact for a circle, to 1e-6 for an ellipse."""
        if self.is_circular:
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
        (x, y), (rx, ry) = self.centre, self.radii
        places = np.empty((len(a), 2))
        places[:, 0] = x + rx * np.cos(a)
        places[:, 1] = y + ry * np.sin(a)
        return places

    def place(self, t: float) -> XY:
        """Point (x, y) at the parameter `t` [mm]."""
        a = self.start_rad + t * self.sweep_rad
        (x, y), (rx, ry) = self.centre, self.radii
        return x + rx * math.cos(a), y + ry * math.sin(a)

    def parameter(self, angle_rad: float) -> float:
        """Parameter of the angle `angle_rad` [rad] on the whole ellipse, in 0..1 on the arc.

        Off the arc it is beyond the end that is nearer by angle: over 1, or negative.
        """
        sweep = abs(self.sweep_rad)
        turn = math.copysign(1.0, self.sweep_rad) * (angle_rad - self.start_rad) % math.tau
        if turn - sweep > math.tau - turn:
            turn -= math.tau
        return turn / sweep

    def nearest(self, point: ArrayLike) -> float:
        """Parameter of the place nearest to `point` (2,) [mm], clipped to 0..1."""
        if self.is_circular:
            x, y = xy(point)
            angle = math.atan2(y - self.centre[1], x - self.centre[0])
            return min(max(self.parameter(angle), 0.0), 1.0)
        return float(nearest_on_ellipse(self, np.atleast_2d(np.asarray(point, float)))[0])

    def even(self, n: int) -> NDArray[np.float64]:
        """Parameters of `n` stretches of equal length, shape (n + 1,)."""
        if self.is_circular:
            return even_parts(n)
        t, length = self._table
        return np.interp(np.linspace(0.0, length[-1], n + 1), length, t)

    def halfway(self, a: ArrayLike, b: ArrayLike) -> NDArray[np.float64]:
        """Parameters of the places equally far from those at `a` and at `b`, shape (n,)."""
        low, high = (np.atleast_1d(np.asarray(t, float)) for t in (a, b))
        middle = 0.5 * (low + high)
        if self.is_circular:
            return middle
        p, q = self.at(low), self.at(high)
        chord, centre = q - p, 0.5 * (p + q)
        rx, ry = self.radii
        for _ in range(6):  # Newton's method; it starts very near
            angle = self.start_rad + middle * self.sweep_rad
            slope = self.sweep_rad * np.column_stack([-rx * np.sin(angle), ry * np.cos(angle)])
            off = ((self.at(middle) - centre) * chord).sum(axis=1)
            middle = middle - off / (slope * chord).sum(axis=1)
        return np.clip(middle, np.minimum(low, high), np.maximum(low, high))

    def tangent(self, t: float) -> NDArray[np.float64]:
        """Return the unit vector along the piece at the parameter `t`, shape (2,)."""
        a, sign = self.start_rad + t * self.sweep_rad, np.sign(self.sweep_rad)
        along = sign * np.array([-self.radii[0] * np.sin(a), self.radii[1] * np.cos(a)])
        return along / np.hypot(*along)

    def box(self) -> tuple[float, float, float, float]:
        """Least and largest x and y that hold the piece: (x, y, x, y) [mm]."""
        low, high = sorted((self.start_rad, self.start_rad + self.sweep_rad))
        quarter = math.pi / 2
        first = math.ceil(low / quarter)
        turns = range(first, min(math.floor(high / quarter), first + 3) + 1)
        (x, y), (rx, ry) = self.centre, self.radii
        # farthest to a side at each quarter turn
        sides = [(x + rx * c, y + ry * s) for c, s in (_SIDES[k % 4] for k in turns)]
        xs, ys = zip(self.place(0.0), self.place(1.0), *sides, strict=True)
        return min(xs), min(ys), max(xs), max(ys)


CurvePiece = Line | Arc


def xy(place: ArrayLike) -> XY:
    """Return a place as two plain numbers (x, y) [mm]."""
    x, y = np.asarray(place, float)
    return float(x), float(y)


def nearest_on_ellipse(arc: Arc, points: Points) -> NDArray[np.float64]:
    """Return the parameters of the places of an elliptic arc nearest to `points`, shape (n,).

    The nearest of 65 places brackets the root of d/dt |x(t) - p|^2, which Newton's method then
    finds; a step that leaves the bracket is replaced by halving the bracket.
    """
    t = np.linspace(0.0, 1.0, 65)
    places = arc.at(t)
    away = (points[:, None, 0] - places[:, 0]) ** 2 + (points[:, None, 1] - places[:, 1]) ** 2
    best = np.argmin(away, axis=1)
    low, high, now = t[np.maximum(best - 1, 0)], t[np.minimum(best + 1, 64)], t[best]
    for _ in range(60):
        slope, curvature = _distance_slopes(arc, points, now)
        low, high = np.where(slope < 0, now, low), np.where(slope > 0, now, high)
        with np.errstate(divide="ignore", invalid="ignore"):
            wanted = now - slope / curvature
        inside = (curvature > 0) & (wanted >= low) & (wanted <= high)
        after = np.where(inside, wanted, 0.5 * (low + high))
        if np.abs(after - now).max(initial=0.0) < 1e-15:
            break
        now = after
    return np.clip(now, 0.0, 1.0)


def _distance_slopes(
    arc: Arc, points: Points, t: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """First and second derivative of |x(t) - p|^2 / 2 by the angle, signed as t runs."""
    a = arc.start_rad + t * arc.sweep_rad
    (cx, cy), (rx, ry), s = arc.centre, arc.radii, arc.sweep_rad
    c, d = np.cos(a), np.sin(a)
    x, y = cx + rx * c - points[:, 0], cy + ry * d - points[:, 1]
    slope = s * (-rx * d * x + ry * c * y)
    curvature = s * s * (rx * rx * d * d + ry * ry * c * c - rx * c * x - ry * d * y)
    return slope, curvature
