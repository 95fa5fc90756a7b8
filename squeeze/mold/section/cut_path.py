"""A cut's path: what of it lies in rubber, with its ends exactly on the curves that it meets."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from shapely.geometry import LineString, Polygon

from squeeze.mold.geometry.crossings import crossings
from squeeze.mold.geometry.curve import XY, Line, Points, xy
from squeeze.mold.geometry.edges import SAGITTA_MM, Edges, Nearest, edge_table
from squeeze.mold.geometry.loop import Loop
from squeeze.mold.geometry.tolerance import ON_MM, SAME_MM
from squeeze.mold.section.records import CutStretch

CARRY_MM = 1.0
"""An end that stops within this of an edge or of another cut is carried to it [mm]."""

_LOOK_MM = 4 * CARRY_MM


@dataclass(frozen=True, eq=False)
class RubberRegion:
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

    @cached_property
    def _table(self) -> tuple[Edges, NDArray[np.int64], NDArray[np.int64]]:
        shapely.prepare(self.region)
        return edge_table([loop.pieces for loop in self.loops])

    @property
    def edges(self) -> Edges:
        """All pieces of all edges."""
        return self._table[0]

    def loop_of(self, piece: NDArray[np.int64] | int) -> NDArray[np.int64]:
        """Return the numbers (n,) of the edges that pieces `piece` (n,) of `edges` belong to."""
        return self._table[1][piece]

    def nearest(self, points: ArrayLike) -> Nearest:
        """Return the nearest places of all edges to `points` (n, 2)."""
        return self.edges.nearest(points)

    def holds(self, points: ArrayLike) -> NDArray[np.bool_]:
        """Whether there is rubber at `points` (n, 2), shape (n,); what lies on an edge has none.

        Near an edge the curve itself decides, where its chords are not exact enough.
        """
        p = np.asarray(points, float).reshape(-1, 2)
        if not len(p):
            return np.zeros(0, bool)
        inside = np.asarray(shapely.contains_xy(self.region, p[:, 0], p[:, 1]))
        near = self.nearest(p)
        for i in np.flatnonzero(near.distance < 2 * SAGITTA_MM):
            k, t = near.piece[i], float(near.at[i])
            if near.distance[i] < ON_MM:
                inside[i] = False
            elif 0 < t < 1:
                piece = self.edges.pieces[k]
                along, off = piece.tangent(t), p[i] - piece.at(t)[0]
                left = along[0] * off[1] > along[1] * off[0]
                inside[i] = left == (self.loop_of(k) == 0)
        return inside


def path_place(points: Sequence[XY], s_mm: float) -> XY:
    """Return the point (x, y) at `s_mm` along a path of straight lines [mm]."""
    return path_places(points, [s_mm])[0]


def path_places(points: Sequence[XY], s_mm: Sequence[float]) -> list[XY]:
    """Return the points at distances `s_mm` (n,) along a path of straight lines."""
    along, (x, y) = _corners_mm(points), np.array(points).T
    places = zip(np.interp(s_mm, along, x), np.interp(s_mm, along, y), strict=True)
    return [(float(u), float(v)) for u, v in places]


def path_length(points: Sequence[XY]) -> float:
    """Return the length of a path of straight lines [mm]."""
    return sum(math.dist(a, b) for a, b in pairwise(points))


PathPart = tuple[float, float, bool]
"""A part of a path between two edges: from, to [mm], and whether it lies in rubber."""


def in_rubber(path: Sequence[XY], parts: Sequence[PathPart]) -> list[CutStretch]:
    """Return the stretches of `path` that lie in rubber, in its order."""
    corners = _corners_mm(path).tolist()
    ends = path_places(path, [s for a, b, _ in parts for s in (a, b)])
    found = []
    for k, (a, b, inside) in enumerate(parts):
        if inside:
            inner = [p for p, s in zip(path, corners, strict=True) if a + ON_MM < s < b - ON_MM]
            found.append(CutStretch((ends[2 * k], *inner, ends[2 * k + 1]), a))
    return found


def _corners_mm(path: Sequence[XY]) -> Points:
    """Return how far along a path each of its points is [mm]."""
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(np.array(path), axis=0).T))])


def path_parts(path: Sequence[XY], body: RubberRegion) -> list[PathPart]:
    """Return the parts of a path between edges, in its order."""
    marks = _marks(path, body, _corners_mm(path))
    middles = path_places(path, [(a + b) / 2 for a, b in pairwise(marks)])
    inside = body.holds(middles)
    return [(a, b, bool(i)) for (a, b), i in zip(pairwise(marks), inside, strict=True)]


def _marks(path: Sequence[XY], body: RubberRegion, corners: Points) -> list[float]:
    """Return where the path begins, meets an edge, and ends, sorted, none twice [mm]."""
    lines = Edges([Line(a, b) for a, b in pairwise(path)])
    met = [
        corners[i] + s * (corners[i + 1] - corners[i])
        for k, i in body.edges.near_boxes(lines, ON_MM)
        for _, s in crossings(body.edges.pieces[k], lines.pieces[i])
    ]
    marks = [0.0]
    for mark in sorted(m for m in met if ON_MM < m < corners[-1] - ON_MM):
        if mark - marks[-1] > ON_MM:
            marks.append(float(mark))
    return [*marks, float(corners[-1])]


def carried_to_edges(stretches: Sequence[CutStretch], body: RubberRegion) -> list[CutStretch]:
    """Return the stretches with each end that stops just before an edge or a cut carried to it.

    It is carried along its own direction. An end that runs past another cut by less than 0.02 mm
    is taken back to it. `start_mm` is negative when the beginning is carried.
    """
    ends = np.array([p for s in stretches for p in (s.points[0], s.points[-1])]).reshape(-1, 2)
    on = _on_edge(ends, body)
    lines = [[Line(p, q) for p, q in pairwise(s.points)] for s in stretches]
    cuts, owner, _ = edge_table(lines) if lines else (Edges(()), np.zeros(0, np.int64), None)

    def end_of(number: int, before: XY, end: XY, k: int) -> XY:
        return on[k] or _carry(number, before, end, (body, cuts, owner))

    made = []
    for i, s in enumerate(stretches):
        begin = end_of(i, s.points[1], s.points[0], 2 * i)
        end = end_of(i, s.points[-2], s.points[-1], 2 * i + 1)
        further = math.dist(begin, s.points[1]) - math.dist(*s.points[:2])
        points = (begin, *s.points[1:-1], end)
        made.append(replace(s, points=points, start_mm=s.start_mm - further))
    return made


def _carry(
    number: int, before: XY, end: XY, met: tuple[RubberRegion, Edges, NDArray[np.int64]]
) -> XY:
    """Return where the end of stretch `number` is carried to, seen from the point before it."""
    body, cuts, owner = met
    along = np.subtract(end, before) / math.dist(before, end)
    back = min(SAME_MM, 0.5 * math.dist(before, end))
    a, b = end - back * along, end + _LOOK_MM * along
    hits = [(s, body.edges.pieces[k]) for k, _, s in body.edges.crossings(a, b)]
    hits += [(s, cuts.pieces[k]) for k, _, s in cuts.crossings(a, b) if owner[k] != number]
    if not hits:
        return end
    s, piece = min(hits, key=lambda hit: hit[0])
    if math.dist(piece.place(piece.nearest(end)), end) > CARRY_MM + ON_MM:
        return end
    return xy(a + s * (b - a))


def _on_edge(ends: Points, body: RubberRegion) -> list[XY | None]:
    """Return the place on an edge that each end lies on, or None."""
    near = body.nearest(ends)
    return [
        body.edges.pieces[k].place(float(t)) if distance < ON_MM else None
        for k, t, distance in zip(near.piece, near.at, near.distance, strict=True)
    ]


def self_crossing(path: Sequence[XY]) -> XY | None:
    """Return a place where the path crosses or touches itself, or None."""
    if math.dist(path[0], path[-1]) < SAME_MM:
        return path[0]
    lines = np.array([LineString(pair) for pair in pairwise(path)])
    first, second = shapely.STRtree(lines).query(lines, predicate="dwithin", distance=ON_MM)
    for i, j in sorted(zip(first.tolist(), second.tolist(), strict=True)):
        if j == i + 1 and _turns_back(path[i : i + 3]):
            return path[j]
        if j > i + 1:
            return xy(shapely.get_coordinates(shapely.shortest_line(lines[i], lines[j]))[0])
    return None


def _turns_back(points: Sequence[XY]) -> bool:
    """Whether the path goes back along itself at the middle one of three points."""
    before, at, after = map(np.array, points)
    into, out = before - at, after - at
    cross = float(into[0] * out[1] - into[1] * out[0])
    return abs(cross) < ON_MM * min(np.hypot(*into), np.hypot(*out)) and float(into @ out) > 0
