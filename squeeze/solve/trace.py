"""From curves to a planar graph: nodes on outlines, cavities and cuts, spaced as the size map asks.

Nodes lie exactly on the curves; where cuts meet curves or each other there is one shared node.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from squeeze.mold.curve import Loop, Piece
from squeeze.mold.section import Cut, Section

Points = NDArray[np.float64]
Size = Callable[[Points], NDArray[np.float64]]

SNAP_MM = 1e-5


@dataclass(frozen=True)
class Side:
    """A stretch of edge of the graph that belongs to one piece of one loop.

    Attributes
    ----------
    loop, piece : int
        Loop 0 is the outline, loop k the cavity k - 1; the piece's number within it.
    nodes : tuple of int
        Nodes in order along the piece.
    at : tuple of float
        Parameters of these nodes on the piece.
    """

    loop: int
    piece: int
    nodes: tuple[int, ...]
    at: tuple[float, ...]


@dataclass(frozen=True)
class Run:
    """A land before meshing: the part of a cut between two places where it meets something.

    Attributes
    ----------
    cut, land : int
        Number of the cut, and of the land along it.
    start_mm : float
        Distance of its start along the cut's path.
    nodes : tuple of int
        Nodes in order along the path.
    """

    cut: int
    land: int
    start_mm: float
    nodes: tuple[int, ...]


@dataclass(frozen=True, eq=False)
class Graph:
    """Planar straight-line graph of a section: nodes (n, 2) [mm], the loops' sides and the cuts' runs."""

    nodes: Points
    sides: tuple[Side, ...]
    runs: tuple[Run, ...]


class _Nodes:
    """Nodes met so far; places nearer than SNAP_MM are one node."""

    def __init__(self) -> None:
        self.places: list[tuple[float, float]] = []
        self._found: dict[tuple[int, int], int] = {}

    def number(self, place: NDArray[np.float64]) -> int:
        x, y = float(place[0]), float(place[1])
        i, j = round(x / SNAP_MM), round(y / SNAP_MM)
        for key in ((i + a, j + b) for a in (0, -1, 1) for b in (0, -1, 1)):
            if key in self._found:
                return self._found[key]
        self._found[i, j] = len(self.places)
        self.places.append((x, y))
        return len(self.places) - 1


def trace(section: Section, size: Size) -> Graph:
    """Return the graph of a section.

    Parameters
    ----------
    section : Section
    size : callable
        Points (n, 2) to wanted edge lengths (n,) [mm].

    Returns
    -------
    Graph
    """
    nodes = _Nodes()
    meetings = cut_meetings(section.cuts)
    ends = [p for cut in section.cuts for s in cut.stretches for p in (s.points[0], s.points[-1])]
    loops = [section.outline, *(cavity.loop for cavity in section.cavities)]
    must = [_must(loop, ends) for loop in loops]
    sides = tuple(
        _side(nodes, (number, k), piece, must[number].get(k, []), size)
        for number, loop in enumerate(loops)
        for k, piece in enumerate(loop.pieces)
    )
    runs = tuple(run for number in range(len(section.cuts)) for run in _runs(nodes, section.cuts, number, meetings, size))
    return Graph(np.array(nodes.places), sides, runs)


def _must(loop: Loop, ends: list[tuple[float, float]]) -> dict[int, list[float]]:
    """Parameters, by piece, at which a loop has to have a node because a cut ends there."""
    found: dict[int, list[float]] = {}
    for end in ends:
        k, t, distance = loop.nearest(end)
        if distance < SNAP_MM:
            found.setdefault(k, []).append(t)
    return found


def _side(nodes: _Nodes, where: tuple[int, int], piece: Piece, must: list[float], size: Size) -> Side:
    fine = piece.even(max(8, int(np.ceil(piece.length / 0.5))))
    knots = np.array(sorted({0.0, 1.0, *(t for t in must if 1e-9 < t < 1 - 1e-9)}))
    at = [0.0]
    for a, b in zip(knots[:-1], knots[1:], strict=True):
        inside = fine[(fine > a) & (fine < b)]
        t = np.concatenate([[a], inside, [b]])
        at += list(np.interp(_spread(piece.at(t), size), np.arange(len(t)), t)[1:])
    at = [*at[:-1], 1.0]
    return Side(*where, tuple(nodes.number(p) for p in piece.at(at)), tuple(at))


def _spread(line: Points, size: Size) -> NDArray[np.float64]:
    """Positions (as fractional indices of `line`) that cut it into edges of the wanted length."""
    step = np.hypot(*np.diff(line, axis=0).T)
    count = np.concatenate([[0.0], np.cumsum(step / size(0.5 * (line[:-1] + line[1:])))])
    n = max(1, round(float(count[-1]) + 0.2))
    return np.interp(np.linspace(0.0, count[-1], n + 1), count, np.arange(len(line)))


def cut_meetings(cuts: tuple[Cut, ...]) -> list[Points]:
    """Places where cuts meet, by cut: crossings and ends that stop on another cut, each (k, 2) [mm]."""
    found: list[list[Points]] = [[] for _ in cuts]
    lines = [[np.array(s.points) for s in cut.stretches] for cut in cuts]
    for i in range(len(cuts)):
        for j in range(i + 1, len(cuts)):
            for a in lines[i]:
                for b in lines[j]:
                    for place in _crossings(a, b):
                        found[i].append(place)
                        found[j].append(place)
    return [np.array(f).reshape(-1, 2) for f in found]


def _crossings(a: Points, b: Points) -> list[Points]:
    """Places where two polylines meet; ends that touch count."""
    found = []
    for p, p2 in zip(a[:-1], a[1:], strict=True):
        for q, q2 in zip(b[:-1], b[1:], strict=True):
            d, e, r = p2 - p, q2 - q, q - p
            det = d[0] * e[1] - d[1] * e[0]
            if abs(det) < 1e-12 * np.hypot(*d) * np.hypot(*e):
                continue
            s, t = (r[0] * e[1] - r[1] * e[0]) / det, (r[0] * d[1] - r[1] * d[0]) / det
            slack_s, slack_t = SNAP_MM / np.hypot(*d), SNAP_MM / np.hypot(*e)
            if -slack_s <= s <= 1 + slack_s and -slack_t <= t <= 1 + slack_t:
                found.append(p + s * d)
    return found


def _runs(nodes: _Nodes, cuts: tuple[Cut, ...], number: int, meetings: list[Points], size: Size) -> list[Run]:
    runs: list[Run] = []
    for stretch in cuts[number].stretches:
        line = np.array(stretch.points)
        away = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
        stops = _stops(line, away, meetings[number])
        for a, b in zip(stops[:-1], stops[1:], strict=True):
            run = _run(nodes, line, away, (a, b), size)
            runs.append(Run(number, len(runs), stretch.start_mm + a, run))
    return runs


def _stops(line: Points, away: NDArray[np.float64], meetings: Points) -> list[float]:
    """Distances along a stretch at which a land begins or ends."""
    stops = [0.0, float(away[-1])]
    for place in meetings:
        for k, (p, q) in enumerate(zip(line[:-1], line[1:], strict=True)):
            t = float((place - p) @ (q - p) / ((q - p) @ (q - p)))
            d = away[k] + t * (away[k + 1] - away[k])
            if np.hypot(*(p + t * (q - p) - place)) < SNAP_MM and min(abs(d - s) for s in stops) > 2 * SNAP_MM and 0 < d < away[-1]:
                stops.append(float(d))
    return sorted(stops)


def _run(nodes: _Nodes, line: Points, away: NDArray[np.float64], part: tuple[float, float], size: Size) -> tuple[int, ...]:
    """Nodes of one land, one at each kink of its path."""
    a, b = part
    knots = [a, *(float(d) for d in away[1:-1] if a + SNAP_MM < d < b - SNAP_MM), b]
    at = [a]
    for p, q in zip(knots[:-1], knots[1:], strict=True):
        fine = np.linspace(p, q, max(9, int(np.ceil((q - p) / 0.25))))
        place = np.column_stack([np.interp(fine, away, line[:, k]) for k in (0, 1)])
        steps = _spread(place, size)
        at += list(np.interp(steps, np.arange(len(fine)), fine)[1:])
    if len(at) == 2:
        at.insert(1, 0.5 * (a + b))
    return tuple(nodes.number(np.array([np.interp(d, away, line[:, k]) for k in (0, 1)])) for d in at)
