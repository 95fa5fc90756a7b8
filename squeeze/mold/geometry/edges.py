"""Many pieces of curves in one table: what lies near a place, and what a line meets."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray

from squeeze.mold.geometry.crossings import crossings
from squeeze.mold.geometry.curve import (
    XY,
    Arc,
    CurvePiece,
    Line,
    Points,
    even_parts,
    nearest_on_ellipse,
    xy,
)
from squeeze.mold.geometry.tolerance import ON_MM

SAGITTA_MM = 0.01
"""Chords stray at most so far from a curve [mm]."""

_FEW = 48  # pieces that a loop looks through more quickly than arrays do
_BRUTE = 20_000  # pairs of place and piece that are cheaper computed than looked up

Whole = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Nearest:
    """The nearest places of some edges to n points.

    Attributes
    ----------
    piece : array (n,) of int
        Number of the piece among all of the table.
    at : array (n,)
        Parameter on it, 0..1.
    distance : array (n,)
        How far away it is [mm].
    """

    piece: Whole
    at: Floats
    distance: Floats


class Edges:
    """A table of pieces.

    Parameters
    ----------
    pieces : sequence of Line or Arc
    """

    def __init__(self, pieces: Sequence[CurvePiece]):
        self.pieces = tuple(pieces)
        self.boxes = np.array([piece.box() for piece in self.pieces]).reshape(-1, 4)
        is_line = [isinstance(piece, Line) for piece in self.pieces]
        self._line = np.array(is_line, bool)
        self._lines = np.flatnonzero(self._line)
        # lines: start, direction, length squared; circles: centre, radius, start, sweep
        self._row = np.zeros((len(self.pieces), 5))
        self._ellipses: dict[int, Arc] = {}
        for k, piece in enumerate(self.pieces):
            if isinstance(piece, Line):
                dx, dy = piece.end[0] - piece.start[0], piece.end[1] - piece.start[1]
                self._row[k] = (*piece.start, dx, dy, dx * dx + dy * dy)
            elif piece.is_circular:
                self._row[k] = (*piece.centre, piece.radii[0], piece.start_rad, piece.sweep_rad)
            else:
                self._ellipses[k] = piece
        is_circle = ~self._line
        is_circle[list(self._ellipses)] = False
        self._circles = np.flatnonzero(is_circle)

    @cached_property
    def _boxes(self) -> list[tuple[float, float, float, float]]:
        """The boxes as plain numbers: of a few, they are looked through more quickly."""
        return [(x0, y0, x1, y1) for x0, y0, x1, y1 in self.boxes.tolist()]

    @cached_property
    def _tree(self) -> shapely.STRtree:
        x0, y0, x1, y1 = self.boxes.T
        return shapely.STRtree(np.asarray(shapely.box(x0, y0, x1, y1)))

    @cached_property
    def _chords(self) -> shapely.STRtree:
        return shapely.STRtree([shapely.LineString(chords(piece)) for piece in self.pieces])

    def nearest(self, points: ArrayLike) -> Nearest:
        """Return the nearest places to `points` (n, 2) [mm]."""
        p = np.asarray(points, float).reshape(-1, 2)
        if len(p) * len(self.pieces) <= _BRUTE:
            return self._nearest_of_all(p)
        which, piece = self._candidates(p)
        t, away = self._on_pieces(p[which], piece)
        order = np.lexsort((piece, away, which))
        first = np.ones(len(order), bool)
        first[1:] = which[order][1:] != which[order][:-1]
        best = order[first]
        return Nearest(piece[best], t[best], away[best])

    def _nearest_of_all(self, p: Points) -> Nearest:
        """Return the nearest places by trying every piece; of pieces as near the first one."""
        t, away = (np.empty((len(p), len(self.pieces))) for _ in range(2))
        px, py = p[:, :1], p[:, 1:]
        if len(self._lines):
            at = _on_lines(self._row[self._lines].T, px, py)
            t[:, self._lines], away[:, self._lines] = at
        if len(self._circles):
            at = _on_circles(self._row[self._circles].T, px, py)
            t[:, self._circles], away[:, self._circles] = at
        for k, arc in self._ellipses.items():
            t[:, k], away[:, k] = _on_ellipse(arc, p)
        each, best = np.arange(len(p)), np.argmin(away, axis=1)
        return Nearest(best, t[each, best], away[each, best])

    def _candidates(self, p: Points) -> tuple[Whole, Whole]:
        """Pairs (number of the point, piece) among which the nearest pieces are."""
        places = shapely.points(p)
        (which, _), away = self._chords.query_nearest(
            places, return_distance=True, all_matches=False
        )
        reach = np.empty(len(p))
        reach[which] = away + 2 * SAGITTA_MM
        which, piece = self._chords.query(places, predicate="dwithin", distance=reach)
        return which, piece

    def _on_pieces(self, p: Points, piece: Whole) -> tuple[Floats, Floats]:
        """Parameter of the nearest place of one piece to one point each, and its distance."""
        t, away = np.empty(len(p)), np.empty(len(p))
        line = self._line[piece]
        t[line], away[line] = _on_lines(self._row[piece[line]].T, *p[line].T)
        if line.all():
            return t, away
        for k, arc in self._ellipses.items():
            here = piece == k
            t[here], away[here] = _on_ellipse(arc, p[here])
        circle = ~line & ~np.isin(piece, list(self._ellipses))
        t[circle], away[circle] = _on_circles(self._row[piece[circle]].T, *p[circle].T)
        return t, away

    def within(self, point: ArrayLike, reach_mm: float) -> list[int]:
        """Return the numbers of the pieces that come within `reach_mm` of `point` (2,)."""
        x, y = xy(point)
        if len(self.pieces) <= _FEW:
            near = [k for k, box in enumerate(self._boxes) if _off(box, x, y) <= reach_mm]
        else:
            low, high = self.boxes[:, :2] - (x, y), (x, y) - self.boxes[:, 2:]
            beyond = np.maximum(np.maximum(low, high), 0.0)
            near = np.flatnonzero(np.hypot(*beyond.T) <= reach_mm).tolist()
        return [k for k in near if _distance(self.pieces[k], (x, y)) <= reach_mm]

    def near_boxes(self, others: Edges, reach_mm: float) -> list[tuple[int, int]]:
        """Return pairs (piece here, piece of the others) whose boxes come so near, in order.

        Near is at most `reach_mm` [mm] apart, in x and in y.
        """
        x0, y0, x1, y1 = others.boxes.T
        grown = shapely.box(x0 - reach_mm, y0 - reach_mm, x1 + reach_mm, y1 + reach_mm)
        theirs, own = self._tree.query(grown)
        return sorted(zip(own.tolist(), theirs.tolist(), strict=True))

    def crossings(self, a: ArrayLike, b: ArrayLike) -> list[tuple[int, float, float]]:
        """Return where the segment a-b meets the pieces: (number, t on the piece, t on a-b)."""
        low, high = np.minimum(a, b) - ON_MM, np.maximum(a, b) + ON_MM
        near = np.all(self.boxes[:, :2] <= high, 1) & np.all(self.boxes[:, 2:] >= low, 1)
        line = Line(xy(a), xy(b))
        return [
            (int(k), t, s) for k in np.flatnonzero(near) for t, s in crossings(self.pieces[k], line)
        ]


def _off(box: tuple[float, float, float, float], x: float, y: float) -> float:
    """Return how far a place is from a box (x, y, x, y) [mm]."""
    x0, y0, x1, y1 = box
    return math.hypot(max(x0 - x, x - x1, 0.0), max(y0 - y, y - y1, 0.0))


def _distance(piece: CurvePiece, place: XY) -> float:
    """Return how far a place is from a piece [mm]."""
    return math.dist(piece.place(piece.nearest(place)), place)


def _on_lines(row: Floats, px: Floats, py: Floats) -> tuple[Floats, Floats]:
    """Parameters of the places of lines nearest to points, and their distances [mm].

    `row` holds start, direction and length squared of the lines, each an array that goes with the
    coordinates `px` and `py`.
    """
    x, y, dx, dy, square = row
    along = np.clip(((px - x) * dx + (py - y) * dy) / square, 0.0, 1.0)
    return along, np.hypot(x + along * dx - px, y + along * dy - py)


def _on_circles(row: Floats, px: Floats, py: Floats) -> tuple[Floats, Floats]:
    """Parameters of the places of arcs of circles nearest to points, and their distances [mm].

    `row` holds centre (x, y), radius, start and sweep of the arcs, as for lines.
    """
    x, y, r, start, sweep = row
    turn = np.sign(sweep) * (np.arctan2(py - y, px - x) - start) % (2 * np.pi)
    turn -= np.where(turn - np.abs(sweep) > 2 * np.pi - turn, 2 * np.pi, 0.0)
    at = np.clip(turn / np.abs(sweep), 0.0, 1.0)
    angle = start + at * sweep
    return at, np.hypot(x + r * np.cos(angle) - px, y + r * np.sin(angle) - py)


def _on_ellipse(arc: Arc, p: Points) -> tuple[Floats, Floats]:
    """Parameters of the places of an elliptic arc nearest to points (n, 2), and their distances."""
    at = nearest_on_ellipse(arc, p)
    return at, np.hypot(*(arc.at(at) - p).T)


def chords(piece: CurvePiece, sagitta_mm: float = SAGITTA_MM) -> Points:
    """Return places along a piece whose chords stray at most `sagitta_mm` from it, shape (n, 2)."""
    n = 1
    if isinstance(piece, Arc):
        turn = 2 * np.sqrt(2 * sagitta_mm / max(piece.radii))
        n = max(4, int(np.ceil(abs(piece.sweep_rad) / turn - 1e-6)))
    return piece.at(even_parts(n))


def edge_table(loops: Iterable[Sequence[CurvePiece]]) -> tuple[Edges, Whole, Whole]:
    """Return the table of the pieces of several curves.

    Returns
    -------
    edges : Edges
        All pieces, curve by curve.
    curve, number : array (n,) of int
        The curve of each piece, and its number there.
    """
    parts = [tuple(loop) for loop in loops]
    curve = np.repeat(np.arange(len(parts)), [len(part) for part in parts])
    number = np.concatenate([np.arange(len(part)) for part in parts])
    return Edges([piece for part in parts for piece in part]), curve, number
