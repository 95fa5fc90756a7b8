"""Triangles that follow all curves: graded seeds, constrained Delaunay, smoothing, refinement.

The same section gives the same mesh every time, and one that differs from it by rounding gives the
same triangles: they are Delaunay's in a plane bent by about 1 %, in which four corners of a
rectangle do not lie on one circle and the nodes of a straight cut not on one line. Places are
rounded there to a millionth of the section, so that refinement, which splits edges that meet in a
corner at the same distance from it, decides between equals as it did before, every time.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pythoncdt as cdt
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from shapely import GEOSException, STRtree, contains_xy, polygons, union_all
from shapely import points as shapely_points
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from squeeze.mold.errors import BadInput, Fault
from squeeze.mold.section.records import Section
from squeeze.solve.mesh.graph import Graph
from squeeze.solve.mesh.meetings import cradle_numbers
from squeeze.solve.mesh.section_graph import section_graph
from squeeze.solve.mesh.seeds import seeds
from squeeze.solve.mesh.sharp_corners import (
    edges_of,
    with_equal_legs,
    with_numbers,
    without_short_edges,
)
from squeeze.solve.mesh.size import FineSpot, size_map
from squeeze.solve.mesh.splits import filled_fences, with_splits

Points = NDArray[np.float64]
Whole = NDArray[np.int64]

SMOOTHINGS = 4
LEAST_ANGLE_DEG = 28.0
MOST_CORNERS = 150_000
_PASSES = 4
_GOOD_DEG = 20.0  # least angle of triangles once all corners are on their curves
_LEAST_EDGE = 8  # of the grid's steps; refinement leaves shorter edges alone
_STEPS_PER_EDGE = 32  # steps of the grid on the shortest edge, at least
_OFFSET = 3  # the triangulation keeps three corners of its own until it is finalised


@dataclass(frozen=True, eq=False)
class Triangles:
    """Straight triangles of a section, before the cuts part them.

    Attributes
    ----------
    corners : array (n, 2)
        The graph's nodes come first, with their numbers [mm].
    triangles : array (m, 3) of int
        Counter-clockwise.
    body : array (m,) of int
        0 = the block, then fillers, then cradle pieces.
    graph : Graph
        What they follow; edges that refinement split have their new nodes in it.
    """

    corners: Points
    triangles: Whole
    body: Whole
    graph: Graph


def triangulate(
    section: Section, fineness: float = 1.0, finer: tuple[FineSpot, ...] = ()
) -> Triangles:
    """Return the triangles of a section.

    Parameters
    ----------
    section : Section
    fineness : float
        1 = the default mesh; 2 halves every edge.
    finer : tuple of (x, y, size)
        Spots with an edge length of their own [mm].

    Returns
    -------
    Triangles

    Raises
    ------
    BadInput
        When a part of the section is so thin that no reasonable mesh holds it.
    """
    size = size_map(section, fineness, finer)
    graph = without_short_edges(section_graph(section, size), size)
    graph, wedges = with_equal_legs(graph, section, _region(graph, section))
    region, edges = _region(graph, section), _with_fences(graph, wedges[:, 1:])
    free, grid = seeds(region, size, graph, edges), _grid_mm(region, size.least_mm)
    for _ in range(SMOOTHINGS):
        corners = np.vstack([graph.nodes, free])
        triangles, _ = _delaunay(corners, edges, region, grid)
        free = _smoothed(corners, triangles[(triangles >= 0).all(axis=1)], len(graph.nodes))
        free = free[contains_xy(region, free[:, 0], free[:, 1])]
    graph = replace(graph, nodes=np.vstack([graph.nodes, free]))
    fences = wedges[:, 1:]
    passes = 0
    while True:
        passes += 1
        corners, triangles, within = _refined(graph.nodes, edges, region, wedges, grid)
        fences = filled_fences(fences, within, corners)
        graph = with_splits(graph, corners, within, section)
        if passes == _PASSES or not within or _is_good(graph.nodes, triangles, wedges):
            kept = np.unique(
                triangles
            )  # a corner may lie in a cavity once its edge follows the curve
            number = np.searchsorted(kept, np.arange(len(graph.nodes)))
            graph, triangles = with_numbers(graph, kept, number), _in_order(number[triangles])
            return Triangles(graph.nodes, triangles, _bodies(graph, triangles), graph)
        region, edges = _region(graph, section), _with_fences(graph, fences)


def _with_fences(graph: Graph, fences: Whole) -> NDArray[np.uint32]:
    """Edges of all curves, each once, and the edges across sharp corners."""
    return np.vstack([edges_of(graph), fences]).astype(np.uint32)


def _in_order(triangles: Whole) -> Whole:
    """Return the triangles in an order that does not depend on how they came about."""
    least = np.argmin(triangles, axis=1)
    turned = np.take_along_axis(triangles, (least[:, None] + np.arange(3)) % 3, axis=1)
    return turned[np.lexsort(turned.T[::-1])]


def _region(graph: Graph, section: Section) -> BaseGeometry:
    """Rubber and cradle pieces as the graph's straight edges bound them."""
    rings: dict[int, list[int]] = {}
    for side in graph.sides:
        rings.setdefault(side.loop, []).extend(side.nodes[:-1])
    holes = range(1, 1 + len(section.cavities))
    lost = [
        cavity.name for k, cavity in zip(holes, section.cavities, strict=True) if k not in rings
    ]
    if lost:
        text = f"{lost[0]!r} has edges too short to mesh this fine; choose a lower fineness"
        raise BadInput([Fault("cavity", text)])
    block = Polygon(graph.nodes[rings[0]], [graph.nodes[rings[k]] for k in holes])
    pieces = [Polygon(graph.nodes[rings[k]]) for k in cradle_numbers(section)]
    try:
        return union_all([block, *pieces]) if pieces else block
    except GEOSException as e:  # straight edges for curves may cross one another
        text = "straight edges cross there at this fineness; choose another one"
        raise BadInput([Fault("cradle", text)]) from e


def _bodies(graph: Graph, triangles: Whole) -> Whole:
    """Which body each triangle belongs to: that in which the part between edges lies."""
    body = np.zeros(len(triangles), np.int64)
    if graph.bodies:
        part, middle = _parts(graph.nodes, triangles, edges_of(graph))
        for k, ring in enumerate(graph.bodies, start=1):
            body[contains_xy(Polygon(ring), middle[:, 0], middle[:, 1])[part]] = k
    return body


def _parts(corners: Points, triangles: Whole, edges: NDArray) -> tuple[Whole, Points]:
    """Return the part between edges that each triangle lies in, and a place within each part.

    The place is the middle of the largest triangle: it is inside whatever the edges' curves do.
    """
    n, m = len(corners), len(triangles)
    start, end = triangles.ravel(), triangles[:, [1, 2, 0]].ravel()
    key = np.minimum(start, end) * n + np.maximum(start, end)
    low, high = np.asarray(edges, np.int64).min(axis=1), np.asarray(edges, np.int64).max(axis=1)
    order = np.argsort(key, kind="stable")
    key = key[order]
    twin = np.flatnonzero((key[1:] == key[:-1]) & ~_holds(np.sort(low * n + high), key[1:]))
    a, b = order[twin] // 3, order[twin + 1] // 3
    links = coo_array((np.ones(len(a), bool), (a, b)), shape=(m, m))
    count, part = connected_components(links, directed=False)
    p = corners[triangles]
    d1, d2 = p[:, 1] - p[:, 0], p[:, 2] - p[:, 0]
    order = np.lexsort((d1[:, 0] * d2[:, 1] - d1[:, 1] * d2[:, 0], part))
    largest = order[np.searchsorted(part[order], np.arange(count), side="right") - 1]
    return part.astype(np.int64), p[largest].mean(axis=1)


def _holds(among: Whole, numbers: Whole) -> NDArray[np.bool_]:
    """Which of `numbers` (n,) are `among` (m,), which is sorted."""
    if not len(among):
        return np.zeros(len(numbers), bool)
    at = np.searchsorted(among, numbers)
    return among[np.minimum(at, len(among) - 1)] == numbers


def _delaunay(
    corners: Points, edges: NDArray[np.uint32], region: BaseGeometry, grid: float
) -> tuple[Whole, cdt.Triangulation]:
    """All triangles (corner numbers, the triangulation's own negative), and what they stand in."""
    work = cdt.Triangulation(
        cdt.VertexInsertionOrder.AUTO, cdt.IntersectingConstraintEdges.NOT_ALLOWED, 0.0
    )
    try:
        work.insert_vertices(np.ascontiguousarray(np.round(_bent(corners, region) / grid) * grid))
        work.insert_edges(edges)
    except RuntimeError as error:
        text = f"no mesh holds some corner of it ({error}); make cuts and edges meet less sharply"
        raise BadInput([Fault("block", text.replace(chr(10), " "))]) from error
    triangles = work.triangles_array()["vertices"].astype(np.int64) - _OFFSET
    return triangles, work


def _bent(points: Points, region: BaseGeometry) -> Points:
    """Return points of the plane as they stand in the bent one."""
    x0, y0, x1, y1 = region.bounds
    size = max(x1 - x0, y1 - y0)
    x, y = ((points - [0.5 * (x0 + x1), 0.5 * (y0 + y1)]) / size).T
    # odd figures, so that they bend every line and circle that people draw
    bend = np.column_stack(
        [
            0.0091 * x + 0.0029 * y + 0.0083 * x * x + 0.0047 * x * y - 0.0061 * y * y,
            0.0029 * x + 0.0008 * y - 0.0039 * x * x + 0.0059 * x * y + 0.0073 * y * y,
        ]
    )
    return points + size * bend


def _grid_mm(region: BaseGeometry, least: float) -> float:
    """Return the distance to which places of the bent plane are rounded, a power of two [mm].

    A millionth of the section, or less where edges as short as `least` [mm] are wanted.
    """
    x0, y0, x1, y1 = region.bounds
    # 0.37: sections of 64 or 128 mm are not to stand where the power changes
    grid = 2.0 ** (np.ceil(np.log2(max(x1 - x0, y1 - y0)) - 0.37) - 20)
    return min(grid, 2.0 ** np.floor(np.log2(least / _STEPS_PER_EDGE)))


def _straightened(points: Points, region: BaseGeometry) -> Points:
    """Return the points that `_bent` takes to `points`; the bend is slight, so this converges."""
    found = points
    for _ in range(12):
        found = found + points - _bent(found, region)
    return found


def _in_rubber(
    corners: Points, triangles: Whole, edges: NDArray, region: BaseGeometry
) -> NDArray[np.bool_]:
    """Which triangles count: those of parts between edges that lie in the region."""
    everywhere = np.vstack([np.full((_OFFSET, 2), np.nan), corners])
    part, middle = _parts(everywhere, triangles + _OFFSET, np.asarray(edges, np.int64) + _OFFSET)
    inside = np.asarray(contains_xy(region, middle[:, 0], middle[:, 1]))
    inside[part[(triangles < 0).any(axis=1)]] = False
    return inside[part]


def _smoothed(corners: Points, triangles: Whole, fixed: int) -> Points:
    """Free corners moved to the area-weighted mean of the centroids round them.

    All triangles round a free corner lie in rubber, for it lies off all edges.
    """
    p = corners[triangles]
    d1, d2 = p[:, 1] - p[:, 0], p[:, 2] - p[:, 0]
    area = np.abs(d1[:, 0] * d2[:, 1] - d1[:, 1] * d2[:, 0])
    total = np.bincount(triangles.ravel(), np.repeat(area, 3), len(corners))
    pull = np.repeat(p.mean(axis=1) * area[:, None], 3, axis=0)
    moved = [np.bincount(triangles.ravel(), pull[:, k], len(corners)) for k in (0, 1)]
    known = total > 0
    new = corners.copy()
    new[known] = np.column_stack(moved)[known] / total[known, None]
    return new[fixed:]


def _refined(
    corners: Points, edges: NDArray[np.uint32], region: BaseGeometry, wedges: Whole, grid: float
):
    """Refine to the least angle, but not in sharp corners.

    Returns corners, triangles, and {edge: corners that split it}.
    """
    triangles, work = _delaunay(corners, edges, region, grid)
    left = ~_in_rubber(corners, triangles, edges, region)
    left[~left] = _behind(corners, triangles[~left], wedges)
    work.refine_triangles(
        MOST_CORNERS,
        cdt.RefinementCriterion.SMALLEST_ANGLE,
        cdt.deg_to_rad(LEAST_ANGLE_DEG),
        set(np.flatnonzero(left).tolist()),
        _LEAST_EDGE * grid,
    )
    if work.vertices_count() > MOST_CORNERS:
        text = (
            f"some part is too thin to mesh (more than {MOST_CORNERS} points would be needed);"
            " make cuts and edges meet less sharply"
        )
        raise BadInput([Fault("block", text)])
    within: dict[tuple[int, int], set[int]] = {}
    for e, (whole, *_) in work.piece_to_originals.items():
        a, b = sorted((whole.v1 - _OFFSET, whole.v2 - _OFFSET))
        within.setdefault((a, b), set()).update({e.v1 - _OFFSET, e.v2 - _OFFSET} - {a, b})
    vertices = work.vertices_array()
    added = np.column_stack([vertices["x"], vertices["y"]])[_OFFSET + len(corners) :]
    corners = np.vstack([corners, _straightened(added, region)])
    triangles = work.triangles_array()["vertices"].astype(np.int64) - _OFFSET
    fixed = np.array([(e.v1, e.v2) for e in work.fixed_edges_iter()], np.int64) - _OFFSET
    return corners, triangles[_in_rubber(corners, triangles, fixed, region)], within


def _behind(corners: Points, triangles: Whole, wedges: Whole) -> NDArray[np.bool_]:
    """Which triangles lie in sharp corners, by their middles."""
    behind = np.zeros(len(triangles), bool)
    if len(wedges):
        tree = STRtree(np.asarray(polygons(corners[wedges])))
        middle = shapely_points(corners[triangles].mean(axis=1))
        behind[tree.query(middle, predicate="intersects")[0]] = True
    return behind


def _is_good(corners: Points, triangles: Whole, wedges: Whole) -> bool:
    """Whether no triangle but those in sharp corners is thin or turned round.

    Corners that split an edge move onto its curve, by more than fine triangles there bear.
    """
    least = _least_angles(corners, triangles)
    thin = triangles[least < np.radians(_GOOD_DEG)]
    return bool(_behind(corners, thin, wedges).all())


def _least_angles(corners: Points, triangles: Whole) -> NDArray[np.float64]:
    """Least angle of each triangle, negative where it is turned round [rad]."""
    p = corners[triangles]
    angles = []
    for k in range(3):
        u, v = p[:, (k + 1) % 3] - p[:, k], p[:, (k + 2) % 3] - p[:, k]
        cross = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
        angles.append(np.arctan2(cross, (u * v).sum(axis=1)))
    return np.min(angles, axis=0)
