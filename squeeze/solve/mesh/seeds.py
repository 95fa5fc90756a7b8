"""Seeds: corners of a graded pattern of equilateral triangles, off the curves."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from shapely import STRtree, contains_xy, linestrings
from shapely import points as shapely_points
from shapely.geometry.base import BaseGeometry

from squeeze.solve.mesh.graph import Graph
from squeeze.solve.mesh.size import SizeMap

Points = NDArray[np.float64]
Whole = NDArray[np.int64]

_HALVINGS = 20


def seeds(region: BaseGeometry, size: SizeMap, graph: Graph, edges: NDArray[np.uint32]) -> Points:
    """Return the seeds (k, 2) of a region [mm].

    Parameters
    ----------
    region : polygon
        Rubber and cradle pieces.
    size : SizeMap
    graph : Graph
    edges : array (m, 2) of int
        Edges of the graph that seeds keep away from: nodes of its ends.
    """
    x0, y0, x1, y1 = region.bounds
    edge = size.largest_mm
    # whole numbers count halvings of half an edge, so that a corner of two cells is one
    unit = np.array([0.5, np.sqrt(0.75)]) * edge / 2**_HALVINGS
    rows, columns = (
        int(np.ceil((y1 - y0) / (edge * np.sqrt(0.75)) - 1e-6)) + 1,
        int(np.ceil((x1 - x0) / edge - 1e-6)) + 2,
    )
    origin = np.array([(2 * i - j % 2, j) for j in range(rows) for i in range(columns)])
    up = origin[:, None] + [(0, 0), (2, 0), (1, 1)]
    down = origin[:, None] + [(2, 0), (3, 1), (1, 1)]
    cells = np.vstack([up, down]) * 2**_HALVINGS
    begin = np.array([x0 - 0.25 * edge, y0])
    found = []
    for _ in range(_HALVINGS):
        if not len(cells):
            break
        split = edge > 1.35 * size(cells.mean(axis=1) * unit + begin)
        found.append(cells[~split].reshape(-1, 2))
        cells, edge = _quartered(np.asarray(cells[split], np.int64)), edge / 2
    whole = np.vstack([*found, cells.reshape(-1, 2)])
    rows = int(whole[:, 1].max()) + 1  # one number a corner sorts faster than two
    one = np.unique(whole[:, 0] * rows + whole[:, 1])
    places = np.column_stack([one // rows, one % rows]) * unit + begin
    places = places[contains_xy(region, places[:, 0], places[:, 1])]
    return places[_distance(places, graph.nodes, edges, size.largest_mm) > 0.55 * size(places)]


def _quartered(cells: Whole) -> Whole:
    a, b, c = cells[:, 0], cells[:, 1], cells[:, 2]
    ab, bc, ca = (a + b) // 2, (b + c) // 2, (c + a) // 2
    parts = ((a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca))
    return np.vstack([np.stack(part, axis=1) for part in parts])


def _distance(
    points: Points, nodes: Points, edges: NDArray[np.uint32], reach: float
) -> NDArray[np.float64]:
    """Distance of points from the graph's edges [mm]."""
    tree = STRtree(np.atleast_1d(np.asarray(linestrings(nodes[edges]))))
    places = shapely_points(points)
    (which, _), away = tree.query_nearest(places, return_distance=True, all_matches=False)
    distance = np.full(len(points), reach)
    distance[which] = away
    return distance
