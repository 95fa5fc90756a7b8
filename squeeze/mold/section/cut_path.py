"""A cut's path: what of it lies in rubber, with its ends exactly on the curves that it meets."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from shapely.geometry import LineString, Point, Polygon

from squeeze.mold.geometry.curve import Line, Loop, Piece
from squeeze.mold.section.records import Stretch
from squeeze.mold.tables.values import SAME_MM

XY = tuple[float, float]

CARRY_MM = 1.0
"""An end that stops within this of an edge or of another cut is carried to it [mm]."""

_LOOK_MM = 4 * CARRY_MM
_SAME = 1e-5
_ON = 1e-6


@dataclass(frozen=True)
class Body:
    """The rubber of a section: all its edges, and the region between them.

    Attributes
    ----------
    names : tuple of str
        What each edge is, in words; the outline comes first.
    loops : tuple of Loop
        The edges.
    region : Polygon
        Where there is rubber (chords stray at most 0.01 mm from the curves).
    """

    names: tuple[str, ...]
    loops: tuple[Loop, ...]
    region: Polygon

    def holds(self, point: XY) -> bool:
        """Whether there is rubber at a point."""
        outline, *holes = self.loops
        return outline.holds(point) and not any(hole.holds(point) for hole in holes)


def place(points: Sequence[XY], s_mm: float) -> XY:
    """Return the point at a distance along a path of straight lines."""
    p = np.array(points)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(p, axis=0).T))])
    return float(np.interp(s_mm, along, p[:, 0])), float(np.interp(s_mm, along, p[:, 1]))


def length(points: Sequence[XY]) -> float:
    """Return the length of a path of straight lines [mm]."""
    return sum(math.dist(a, b) for a, b in pairwise(points))


def in_rubber(path: Sequence[XY], body: Body) -> list[Stretch]:
    """Return the stretches of `path` that lie in rubber, in its order."""
    corners = np.cumsum([0.0] + [math.dist(a, b) for a, b in _segments(path)])
    marks = _marks(path, body, corners)
    found = []
    for a, b in pairwise(marks):
        if body.holds(place(path, (a + b) / 2)):
            inner = [p for p, s in zip(path, corners, strict=True) if a + _SAME < s < b - _SAME]
            found.append(Stretch((place(path, a), *inner, place(path, b)), float(a)))
    return found


def in_air(path: Sequence[XY], body: Body) -> Iterator[tuple[float, float]]:
    """Yield (from, to) along the path for what lies in the air or in a cavity [mm]."""
    corners = np.cumsum([0.0] + [math.dist(a, b) for a, b in _segments(path)])
    marks = _marks(path, body, corners)
    for a, b in pairwise(marks):
        if not body.holds(place(path, (a + b) / 2)):
            yield a, b


def _segments(path: Sequence[XY]) -> list[tuple[XY, XY]]:
    return list(pairwise(path))


def _marks(path: Sequence[XY], body: Body, corners: np.ndarray) -> list[float]:
    """Return where the path begins, meets an edge, and ends, sorted, none twice [mm]."""
    met = [
        corners[i] + s * (corners[i + 1] - corners[i])
        for i, (a, b) in enumerate(_segments(path))
        for loop in body.loops
        for _, _, s in loop.crossings(a, b)
    ]
    marks = [0.0]
    for mark in sorted(m for m in met if _SAME < m < corners[-1] - _SAME):
        if mark - marks[-1] > _SAME:
            marks.append(float(mark))
    return [*marks, float(corners[-1])]


def carried(stretch: Stretch, body: Body, others: Sequence[Stretch]) -> Stretch:
    """Return the stretch with each end that stops just before an edge or a cut carried to it.

    It is carried along its own direction. An end that runs past another cut by less than 0.02 mm
    is taken back to it. `start_mm` is negative when the beginning is carried.
    """
    begin = _carry(stretch.points[1], stretch.points[0], body, others)
    end = _carry(stretch.points[-2], stretch.points[-1], body, others)
    further = math.dist(begin, stretch.points[1]) - math.dist(*stretch.points[:2])
    points = (begin, *stretch.points[1:-1], end)
    return replace(stretch, points=points, start_mm=stretch.start_mm - further)


def _carry(before: XY, end: XY, body: Body, others: Sequence[Stretch]) -> XY:
    if on := on_edge(end, body):
        return on
    along = np.subtract(end, before) / math.dist(before, end)
    back = min(SAME_MM, 0.5 * math.dist(before, end))
    a, b = end - back * along, end + _LOOK_MM * along
    hits = sorted(_hits(a, b, end, body, others))
    if not hits or hits[0][1] > CARRY_MM:
        return end
    x, y = a + hits[0][0] * (b - a)
    return float(x), float(y)


def on_edge(end: XY, body: Body) -> XY | None:
    """Return the place on an edge that is within rounding of `end`, or None."""
    for loop in body.loops:
        k, t, distance = loop.nearest(end)
        if distance < _ON:
            x, y = loop.pieces[k].at(t)[0]
            return float(x), float(y)
    return None


def _hits(
    a: np.ndarray, b: np.ndarray, end: XY, body: Body, others: Sequence[Stretch]
) -> Iterator[tuple[float, float]]:
    """Yield (t on a-b, distance from `end` to the piece that is hit) for edges and other cuts."""
    for loop in body.loops:
        for k, _, s in loop.crossings(a, b):
            yield s, _distance(loop.pieces[k], end)
    for other in others:
        for line in (Line(p, q) for p, q in _segments(other.points)):
            for _, s in line.crossings(a, b):
                yield s, _distance(line, end)


def _distance(piece: Piece, end: XY) -> float:
    return float(np.hypot(*(piece.at(piece.nearest(end))[0] - end)))


def self_crossing(path: Sequence[XY]) -> XY | None:
    """Return a place where the path crosses or touches itself, or None."""
    if math.dist(path[0], path[-1]) < SAME_MM:
        return path[0]
    if LineString(path).is_simple:
        return None
    for i in range(len(path) - 2):
        rest = LineString(path[i + 1 :])
        met = LineString(path[i : i + 2]).intersection(rest).difference(Point(path[i + 1]))
        if not met.is_empty:
            spot = met.representative_point()
            return spot.x, spot.y
    return path[0]
