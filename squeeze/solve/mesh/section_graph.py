"""From curves to a planar graph: nodes on all edges and cuts, spaced as the size map asks.

Nodes lie exactly on the curves; where curves meet there is one shared node.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice, pairwise

import numpy as np
from numpy.typing import NDArray

from squeeze.mold.geometry.curve import Line, xy
from squeeze.mold.geometry.edges import Edges
from squeeze.mold.geometry.tolerance import ON_MM
from squeeze.mold.section.records import Cut, Section
from squeeze.solve.mesh import meetings
from squeeze.solve.mesh.graph import Graph, NodeRegister, Points, SeamChain, Size, divisions
from squeeze.solve.mesh.loops import LoopNodes
from squeeze.solve.mesh.seats import seat_chains


def section_graph(section: Section, size: Size) -> Graph:
    """Return the graph of a section.

    Parameters
    ----------
    section : Section
    size : Size

    Returns
    -------
    Graph
    """
    nodes = NodeRegister()
    required = meetings.required_nodes(section)
    fillers = meetings.filler_numbers(section)
    placed = LoopNodes(section, nodes, size)
    placed.place_loops(range(fillers.start), required)
    runs = _cut_chains(nodes, section, size)
    for run in runs:
        placed.chains.setdefault((-1, run.cut), []).append(run.nodes)
    for number in range(fillers.start, len(section.loops)):
        placed.place_loop(number, required[number])
    return Graph(
        np.array(nodes.places),
        tuple(placed.sides),
        runs,
        *seat_chains(section, nodes, placed, runs),
        tuple(np.vstack(placed.rings[k]) for k in range(fillers.start, len(section.loops))),
    )


@dataclass(frozen=True, eq=False)
class _UndividedLand:
    """A land before it is divided: its cut, its number there, and where it needs nodes.

    Attributes
    ----------
    cut, land : int
    start_mm : float
        Distance of its start along the cut's path.
    line : array (k, 2)
        Corners of its stretch of the cut [mm].
    away : array (k,)
        Distance of each corner along the stretch [mm].
    knots : list of float
        Distances along the stretch, both ends included, at which it has a node [mm].
    """

    cut: int
    land: int
    start_mm: float
    line: Points
    away: NDArray[np.float64]
    knots: list[float]

    def place(self, t: NDArray[np.float64]) -> Points:
        """Return the places (n, 2) at distances `t` (n,) along the stretch [mm]."""
        return np.column_stack([np.interp(t, self.away, self.line[:, k]) for k in (0, 1)])

    def looked_at(self) -> list[NDArray[np.float64]]:
        """Return the distances at which each stretch between knots is looked at."""
        return [
            np.linspace(p, q, max(9, int(np.ceil((q - p) / 0.25 - 1e-6))))
            for p, q in pairwise(self.knots)
        ]


def _cut_chains(nodes: NodeRegister, section: Section, size: Size) -> tuple[SeamChain, ...]:
    """Place the nodes of all lands; all lands are divided at once."""
    lands = _lands(section)
    lines = [(t, land.place) for land in lands for t in land.looked_at()]
    divided = iter(divisions(lines, size) if lines else ())
    return tuple(
        SeamChain(land.cut, land.land, land.start_mm, _land_nodes(nodes, land, divided))
        for land in lands
    )


def _lands(section: Section) -> list[_UndividedLand]:
    met = meetings.cut_meetings(section.cuts)
    fillers = [section.loops[k] for k in meetings.filler_numbers(section)]
    return [
        land
        for number, cut in enumerate(section.cuts)
        for land in _lands_of_cut(
            (number, cut),
            met[number],
            np.vstack([np.zeros((0, 2)), *(meetings.cut_meetings_with(cut, f) for f in fillers)]),
        )
    ]


def _lands_of_cut(which: tuple[int, Cut], met: Points, passing: Points) -> list[_UndividedLand]:
    """Lands of a cut; `passing` are places at which it has a node but no land ends."""
    number, cut = which
    lands: list[_UndividedLand] = []
    for stretch in cut.stretches:
        line = np.array(stretch.points)
        away = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
        stops = _stops(line, away, met)
        knots = sorted({*stops, *map(float, away), *_stops(line, away, passing)})
        for a, b in pairwise(stops):
            own = _apart([k for k in knots if a <= k <= b])
            lands.append(_UndividedLand(number, len(lands), stretch.start_mm + a, line, away, own))
    return lands


def _apart(knots: list[float]) -> list[float]:
    """Knots without those within rounding of an end or of each other."""
    kept = [knots[0]]
    for knot in knots[1:-1]:
        if knot - kept[-1] > 2 * ON_MM and knots[-1] - knot > 2 * ON_MM:
            kept.append(knot)
    return [*kept, knots[-1]]


def _stops(line: Points, away: NDArray[np.float64], places: Points) -> list[float]:
    """Distances along a stretch at which a land begins or ends."""
    stops = [0.0, float(away[-1])]
    if not len(places):
        return stops
    near = Edges([Line(xy(p), xy(q)) for p, q in pairwise(line)]).nearest(places)
    at = away[near.piece] + near.at * np.diff(away)[near.piece]
    for d in at[near.distance < ON_MM]:
        if min(abs(d - s) for s in stops) > 2 * ON_MM:
            stops.append(float(d))
    return sorted(stops)


def _land_nodes(
    nodes: NodeRegister, land: _UndividedLand, divided: Iterator[NDArray[np.float64]]
) -> tuple[int, ...]:
    """Nodes of one land, one at each of its knots; its stretches are the next of those divided."""
    at, knots = [land.knots[0]], land.knots
    for q, t in zip(knots[1:], islice(divided, len(knots) - 1), strict=True):
        at += [*map(float, t[1:-1]), q]
    if len(at) == 2:
        at.insert(1, 0.5 * (knots[0] + knots[-1]))
    return tuple(nodes.number(p) for p in land.place(np.array(at)))
