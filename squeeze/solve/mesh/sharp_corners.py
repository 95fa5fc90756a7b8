"""Short edges and sharp corners of a section, prepared for good triangles.

Edges shorter than people mean anything by become one node. Where two edges meet at a sharp angle
no triangle can be better than that angle, and refining there would go on for ever: both edges get
a node at the same distance from the corner, and the triangle between them is left as it is.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from shapely import STRtree, contains_xy, distance, linestrings
from shapely import points as shapely_points
from shapely.geometry.base import BaseGeometry

from squeeze.mold.geometry.curve import CurvePiece, Line
from squeeze.mold.geometry.tolerance import ON_MM, SAME_MM
from squeeze.mold.section.records import Section
from squeeze.solve.mesh.graph import Graph, Points, Side, Size

Whole = NDArray[np.int64]

SHARP_DEG = 31.4
"""Edges that meet below this angle are sharp: a little over the least angle of good triangles."""


def edges_of(graph: Graph) -> Whole:
    """Return the edges of all curves of a graph, each once, shape (k, 2)."""
    chains = [side.nodes for side in graph.sides] + [run.nodes for run in graph.lands]
    once = {frozenset(pair): pair for chain in chains for pair in pairwise(chain)}
    return np.array(list(once.values()), np.int64).reshape(-1, 2)


def without_short_edges(graph: Graph, size: Size) -> Graph:
    """Return the graph with the two ends of each edge shorter than 0.02 mm made one node.

    Where shorter edges are wanted, only those shorter than half of what is wanted; on cavities,
    fillers and cradle pieces all of them.
    The node that stays is the one at which more edges meet, so that crossings stay where they are.

    Parameters
    ----------
    graph : Graph
    size : callable
        Places (n, 2) to wanted edge lengths (n,) [mm].
    """
    edges = edges_of(graph)
    length = np.hypot(*(graph.nodes[edges[:, 1]] - graph.nodes[edges[:, 0]]).T)
    maybe = np.flatnonzero(length < SAME_MM - ON_MM)
    if len(maybe):
        inner = [pair for side in graph.sides if side.loop for pair in pairwise(side.nodes)]
        is_inner = np.isin(_number(graph, edges[maybe]), _number(graph, inner))
        wanted = size(graph.nodes[edges[maybe]].mean(axis=1))
        maybe = maybe[is_inner | (wanted > SAME_MM) | (length[maybe] < 0.5 * wanted)]
    short = edges[maybe]
    if not len(short):
        return graph
    meeting = np.bincount(edges.ravel(), minlength=len(graph.nodes))
    goes_to = np.arange(len(graph.nodes))
    for pair in short:
        a, b = sorted(goes_to[pair], key=lambda node: (-meeting[node], node))
        goes_to[goes_to == b] = a
    kept = np.unique(goes_to)
    return with_numbers(graph, kept, np.searchsorted(kept, goes_to))


def _number(graph: Graph, edges: Whole | list[tuple[int, int]]) -> Whole:
    """Return a number for each of `edges` (k, 2), the same whichever end comes first."""
    ends = np.sort(np.asarray(edges, np.int64).reshape(-1, 2), axis=1)
    return ends[:, 0] * len(graph.nodes) + ends[:, 1]


def with_numbers(graph: Graph, kept: Whole, number: Whole) -> Graph:
    """Return the graph with other numbers for its nodes; edges that shrink to a node go.

    Parameters
    ----------
    graph : Graph
    kept : array (k,) of int
        The nodes that stay, in their new order.
    number : array (n,) of int
        New number of each node.
    """
    new = number.tolist()
    sides = []
    for side in graph.sides:
        nodes, stays = _renumbered(new, side.nodes)
        if len(nodes) > 1:
            at = (*(side.at[k] for k in stays[:-1]), side.at[-1])
            sides.append(replace(side, nodes=nodes, at=at))
    lands, seats, joints = (
        tuple(
            replace(run, nodes=nodes)
            for run in which
            if len(nodes := _renumbered(new, run.nodes)[0]) > 1
        )
        for which in (graph.lands, graph.seats, graph.joints)
    )
    return Graph(graph.nodes[kept], tuple(sides), lands, seats, joints, graph.bodies)


def _renumbered(number: list[int], nodes: tuple[int, ...]) -> tuple[tuple[int, ...], list[int]]:
    """Return the new numbers of a chain's nodes, and which of its places stay.

    A place goes where its node and the one before it became one.
    """
    chain = [number[node] for node in nodes]
    stays = [k for k, node in enumerate(chain) if k == 0 or node != chain[k - 1]]
    return tuple(chain[k] for k in stays), stays


def with_equal_legs(graph: Graph, section: Section, region: BaseGeometry) -> tuple[Graph, Whole]:
    """Return the graph with nodes at one distance from each sharp corner, on both its edges.

    Parameters
    ----------
    graph : Graph
    section : Section
    region : Polygon or MultiPolygon
        What is meshed; corners of voids do not count.

    Returns
    -------
    graph : Graph
    wedges : array (k, 3) of int
        Each sharp corner and the nodes on both its edges; an edge from one to the other, a fence,
        parts the triangle there from all others.
    """
    edges = edges_of(graph)
    corners = _sharp(graph.nodes, edges)
    corners = corners[_inside(graph.nodes, corners, region)]
    if not len(corners):
        return graph, np.zeros((0, 3), np.int64)
    reach = _reach(graph.nodes, edges, corners)
    legs = sorted({(int(a), int(b)) for a, *ends in corners for b in ends})
    number = {leg: len(graph.nodes) + k for k, leg in enumerate(legs)}
    places = {
        (a, b): graph.nodes[a] + reach[a] * _unit(graph.nodes[b] - graph.nodes[a]) for a, b in legs
    }
    sides = tuple(_side_with(side, section, number, reach, places) for side in graph.sides)
    lands, seats, joints = (
        tuple(replace(run, nodes=_chain_with(run.nodes, number)) for run in which)
        for which in (graph.lands, graph.seats, graph.joints)
    )
    nodes = np.vstack([graph.nodes, [places[leg] for leg in legs]])
    wedges = [(a, number[a, b], number[a, c]) for a, b, c in corners.tolist()]
    return Graph(nodes, sides, lands, seats, joints, graph.bodies), np.array(wedges)


def _sharp(nodes: Points, edges: Whole) -> Whole:
    """Return corners between neighbouring edges below the sharp angle: (corner, end, end)."""
    ends = np.vstack([edges, edges[:, ::-1]])
    along = nodes[ends[:, 1]] - nodes[ends[:, 0]]
    angle = np.arctan2(along[:, 1], along[:, 0])
    order = np.lexsort((angle, ends[:, 0]))
    ends, angle = ends[order], angle[order]
    first = np.flatnonzero(np.r_[True, ends[1:, 0] != ends[:-1, 0]])
    count = np.diff(np.r_[first, len(ends)])
    after = np.arange(1, len(ends) + 1)
    after[first + count - 1] = first
    turn = (angle[after] - angle) % (2 * np.pi)
    sharp = (turn < np.radians(SHARP_DEG)) & (after != np.arange(len(ends)))
    return np.column_stack([ends, ends[after, 1]])[sharp]


def _inside(nodes: Points, corners: Whole, region: BaseGeometry) -> NDArray[np.bool_]:
    """Whether what lies between the edges of each corner is meshed."""
    a, b, c = (nodes[corners[:, k]] for k in range(3))
    u, v = b - a, c - a
    near = 0.25 * np.minimum(np.hypot(*u.T), np.hypot(*v.T))
    middle = a + near[:, None] * _unit(_unit(u) + _unit(v))
    return np.asarray(contains_xy(region, *middle.T), bool)


def _unit(vectors: Points) -> Points:
    return vectors / np.hypot(vectors[..., 0], vectors[..., 1])[..., None]


def _reach(nodes: Points, edges: Whole, corners: Whole) -> dict[int, float]:
    """Return how far from each sharp corner its nodes stand [mm].

    At most half of the shortest edge there (a third, where that ends in another sharp corner), and
    half of the distance to the nearest edge that does not end at the corner.
    """
    legs = {(int(a), int(b)) for a, *ends in corners for b in ends}
    reach: dict[int, float] = {}
    for a, b in sorted(legs):
        length = float(np.hypot(*(nodes[b] - nodes[a])))
        share = length / 3 if (b, a) in legs else length / 2
        reach[a] = min(reach.get(a, np.inf), share)
    apexes = np.array(sorted(reach))
    lines = np.asarray(linestrings(nodes[edges]))
    places = np.asarray(shapely_points(nodes[apexes]))
    far = np.array([2 * reach[a] for a in apexes.tolist()])
    which, line = STRtree(lines).query(places, predicate="dwithin", distance=far)
    away = np.asarray(distance(places[which], lines[line]))
    for a, ends, off in zip(apexes[which].tolist(), edges[line].tolist(), away, strict=True):
        if a not in ends:
            reach[a] = min(reach[a], float(off) / 2)
    return reach


def _side_with(
    side: Side,
    section: Section,
    number: Mapping[tuple[int, int], int],
    reach: Mapping[int, float],
    places: dict[tuple[int, int], Points],
) -> Side:
    """Return a side with the new nodes on its edges; `places` are put onto its curve."""
    at = [side.at[0]]
    piece = section.loops[side.loop].pieces[side.piece]
    for (a, t), (b, u) in pairwise(zip(side.nodes, side.at, strict=True)):
        for leg, begin, end in (((a, b), t, u), ((b, a), u, t)):
            if leg in number:
                found = _parameter(piece, begin, end, reach[leg[0]])
                at.append(found)
                places[leg] = piece.at(found)[0]
        at.append(u)
    return replace(side, nodes=_chain_with(side.nodes, number), at=tuple(at))


def _parameter(piece: CurvePiece, begin: float, end: float, reach: float) -> float:
    """Return the parameter between `begin` and `end` at a distance from `begin`."""
    x, y = piece.place(begin)
    t = 0.5 * (begin + end)
    for _ in range(1 if isinstance(piece, Line) else 8):
        u, v = piece.place(t)
        t = begin + (t - begin) * reach / float(np.hypot(u - x, v - y))
    return float(t)


def _chain_with(nodes: tuple[int, ...], number: Mapping[tuple[int, int], int]) -> tuple[int, ...]:
    found = [nodes[0]]
    for a, b in pairwise(nodes):
        found += [number[leg] for leg in ((a, b), (b, a)) if leg in number]
        found.append(b)
    return tuple(found)
