"""From curves to a planar graph: nodes on all edges and cuts, spaced as the size map asks.

Nodes lie exactly on the curves; where curves meet there is one shared node.
"""

from __future__ import annotations

from itertools import pairwise

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
    size : callable
        Points (n, 2) to wanted edge lengths (n,) [mm].

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


def _cut_chains(nodes: NodeRegister, section: Section, size: Size) -> tuple[SeamChain, ...]:
    met = meetings.cut_meetings(section.cuts)
    fillers = [section.loops[k] for k in meetings.filler_numbers(section)]
    return tuple(
        run
        for number, cut in enumerate(section.cuts)
        for run in _chains_of_cut(
            nodes,
            (number, cut),
            met[number],
            np.vstack([np.zeros((0, 2)), *(meetings.cut_meetings_with(cut, f) for f in fillers)]),
            size,
        )
    )


def _chains_of_cut(
    nodes: NodeRegister, which: tuple[int, Cut], met: Points, passing: Points, size: Size
) -> list[SeamChain]:
    """Lands of a cut; `passing` are places at which it has a node but no land ends."""
    number, cut = which
    runs: list[SeamChain] = []
    for stretch in cut.stretches:
        line = np.array(stretch.points)
        away = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
        stops = _stops(line, away, met)
        knots = sorted({*stops, *map(float, away), *_stops(line, away, passing)})
        for a, b in pairwise(stops):
            run = _land_nodes(nodes, line, away, _apart([k for k in knots if a <= k <= b]), size)
            runs.append(SeamChain(number, len(runs), stretch.start_mm + a, run))
    return runs


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
    nodes: NodeRegister, line: Points, away: NDArray[np.float64], knots: list[float], size: Size
) -> tuple[int, ...]:
    """Nodes of one land, one at each of the knots."""
    at = [knots[0]]
    fine = [
        np.linspace(p, q, max(9, int(np.ceil((q - p) / 0.25 - 1e-6)))) for p, q in pairwise(knots)
    ]

    def place(t: NDArray[np.float64]) -> Points:
        return np.column_stack([np.interp(t, away, line[:, k]) for k in (0, 1)])

    for (_, q), t in zip(pairwise(knots), divisions([(t, place) for t in fine], size), strict=True):
        at += [*map(float, t[1:-1]), q]
    if len(at) == 2:
        at.insert(1, 0.5 * (knots[0] + knots[-1]))
    return tuple(nodes.number(p) for p in place(np.array(at)))
