"""Corners that refinement set on edges, put into the chains of the graph and onto its curves."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from squeeze.mold.section.records import Section
from squeeze.solve.mesh.graph import Graph, SeamChain

Points = NDArray[np.float64]
Whole = NDArray[np.int64]
Splits = dict[tuple[int, int], set[int]]
"""The corners that split an edge, by its two ends, the lower number first."""


def with_splits(graph: Graph, corners: Points, within: Splits, section: Section) -> Graph:
    """Return the graph with the corners that refinement set on its edges, moved onto the curves.

    Parameters
    ----------
    graph : Graph
    corners : array (n, 2)
        The graph's nodes, then those that refinement added [mm].
    within : Splits
    section : Section
    """
    if not within:
        return replace(graph, nodes=corners)
    loops = section.loops
    corners = corners.copy()
    sides = []
    for side in graph.sides:
        nodes, at = _filled(side.nodes, side.at, within, corners)
        new = [k for k, n in enumerate(nodes) if n >= len(graph.nodes)]
        corners[[nodes[k] for k in new]] = (
            loops[side.loop].pieces[side.piece].at([at[k] for k in new])
        )
        sides.append(replace(side, nodes=nodes, at=at))
    for a, b in (pair for run in graph.lands for pair in pairwise(run.nodes)):
        for n in within.get((min(a, b), max(a, b)), ()):
            chord = corners[b] - corners[a]
            t = (corners[n] - corners[a]) @ chord / (chord @ chord)
            corners[n] = corners[a] + t * chord
    lands, seats, joints = (
        tuple(_run_filled(run, within, corners) for run in runs)
        for runs in (graph.lands, graph.seats, graph.joints)
    )
    return Graph(corners, tuple(sides), lands, seats, joints, graph.bodies)


def filled_fences(fences: Whole, within: Splits, corners: Points) -> Whole:
    """Return edges (k, 2) across sharp corners with the corners that split them put in.

    `fences` (m, 2) are the edges, `corners` (n, 2) all corners [mm], `within` those that split.
    """
    chains = (_filled(pair, (0.0, 1.0), within, corners)[0] for pair in map(tuple, fences.tolist()))
    return np.array([pair for chain in chains for pair in pairwise(chain)], np.int64).reshape(-1, 2)


def _run_filled(run: SeamChain, within: Splits, corners: Points) -> SeamChain:
    at = tuple(map(float, range(len(run.nodes))))
    return replace(run, nodes=_filled(run.nodes, at, within, corners)[0])


def _filled(nodes: tuple[int, ...], at: tuple[float, ...], within: Splits, corners: Points):
    """Chain of nodes and parameters with the corners that split its edges put in."""
    out_nodes, out_at = [nodes[0]], [at[0]]
    for k, (a, b) in enumerate(pairwise(nodes)):
        chord = corners[b] - corners[a]
        between = [
            (float((corners[n] - corners[a]) @ chord / (chord @ chord)), n)
            for n in within.get((min(a, b), max(a, b)), ())
        ]
        for t, n in sorted(between):
            out_nodes.append(n)
            out_at.append(at[k] + t * (at[k + 1] - at[k]))
        out_nodes.append(b)
        out_at.append(at[k + 1])
    return tuple(out_nodes), tuple(out_at)
