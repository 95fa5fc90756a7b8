"""Triangles of a mesh, step by step: seeds, bending, parts and bodies, by hand counts."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from scipy.spatial import KDTree
from scipy.spatial.distance import pdist
from shapely.geometry import box

from squeeze.mold.errors import BadInput
from squeeze.solve.mesh.graph import Graph, SeamChain, Side
from squeeze.solve.mesh.seeds import _distance, _quartered, seeds
from squeeze.solve.mesh.size import SizeMap
from squeeze.solve.mesh.triangulate import (
    _behind,
    _bent,
    _bodies,
    _grid_mm,
    _holds,
    _in_order,
    _in_rubber,
    _is_good,
    _least_angles,
    _parts,
    _region,
    _smoothed,
    _straightened,
    _with_fences,
)

SQUARE = np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 2.0], [0.0, 2.0], [1.0, 1.0]])
FOUR = np.array([[0, 1, 4], [1, 2, 4], [2, 3, 4], [3, 0, 4]])
"""A square of 2 mm in four triangles round its middle: below, right, above, left."""

RING = np.array([[0, 1], [1, 2], [2, 3], [3, 0]])


def test_a_triangle_is_quartered_into_four_alike():
    cell = np.array([[[0, 0], [8, 0], [4, 4]]])
    parts = _quartered(cell)
    assert sorted(map(sorted, parts.tolist())) == sorted(map(sorted, [
        [[0, 0], [4, 0], [2, 2]], [[4, 0], [8, 0], [6, 2]],
        [[2, 2], [6, 2], [4, 4]], [[4, 0], [6, 2], [2, 2]],
    ]))  # fmt: skip


def frame(x1: float, y1: float) -> Graph:
    nodes = np.array([[0, 0], [x1, 0], [x1, y1], [0, y1]], float)
    return Graph(nodes, (Side(0, 0, (0, 1, 2, 3, 0), (0.0, 0.25, 0.5, 0.75, 1.0)),), ())


def seeds_of(size: SizeMap, x1: float = 20.0, y1: float = 15.0) -> np.ndarray:
    return seeds(box(0, 0, x1, y1), size, frame(x1, y1), RING.astype(np.uint32))


@pytest.mark.parametrize("x1", [20.0, 20.5, 21.0])
def test_seeds_are_all_corners_of_even_triangles_that_lie_off_the_edges(x1):
    """By more than 0.55 of the edge; the pattern is laid out from one of them."""
    places = seeds_of(SizeMap((), 2.0), x1)
    i, j = np.mgrid[-30:31, -30:31].reshape(2, -1)
    pattern = places[0] + np.column_stack([2 * i + j, j * np.sqrt(3.0)])
    border = np.minimum(pattern, [x1, 15.0] - pattern).min(axis=1)
    expected = pattern[border > 0.55 * 2.0]
    assert len(places) == len(expected)
    assert KDTree(expected).query(places)[0].max() < 1e-9


@pytest.mark.parametrize(("wanted", "apart"), [(1.52, 2.0), (1.45, 1.0), (0.76, 1.0), (0.72, 0.5)])
def test_edges_of_the_pattern_are_halved_while_over_135_hundredths_of_what_is_wanted(wanted, apart):
    places = seeds_of(SizeMap((), 2.0, block=box(-9, -9, 99, 99), in_block_mm=wanted))
    assert pdist(places).min() == pytest.approx(apart)


def test_seeds_reach_every_side_where_they_are_small_there():
    """Half a millimetre is wanted along the frame: no place of it is farther than 1.1 from one."""
    along = np.linspace(0.0, 1.0, 200)[:, None]
    corners = frame(20, 15).nodes
    border = np.vstack([a + along * (b - a) for a, b in corners[RING]])
    places = seeds_of(SizeMap(((0.5, KDTree(border)),), 2.0, 0.4))
    assert KDTree(places).query(border)[0].max() < 1.1
    assert len(seeds_of(SizeMap((), 0.5))) > 2 * len(places)


def test_the_distance_from_edges_is_that_of_the_nearest():
    found = _distance(np.array([[1.0, 0.3], [1.5, 1.2]]), SQUARE, RING.astype(np.uint32), 9.0)
    assert found == pytest.approx([0.3, 0.5])


def test_places_of_the_bent_plane_come_back():
    """The bend moves places by about a hundredth of the section, and is undone."""
    region = box(-60, -45, 60, 45)
    places = np.random.default_rng(1).uniform(-45, 45, (50, 2))
    bent = _bent(places, region)
    moved = np.hypot(*(bent - places).T)
    assert 0.1 < moved.max() < 0.02 * 120
    assert _straightened(bent, region) == pytest.approx(places, abs=1e-9)
    middle = box(0, 20, 120, 110)
    assert _bent(np.array([[60.0, 65.0]]), middle) == pytest.approx(np.array([[60.0, 65.0]]))
    twice = _bent(2 * places, box(-120, -90, 120, 90))
    assert twice == pytest.approx(2 * bent)


@pytest.mark.parametrize(
    ("size", "least", "power"), [(64, 1.0, -14), (128, 1.0, -13), (100, 1.0, -13), (100, 1e-3, -15)]
)
def test_the_grid_is_a_millionth_of_the_section_or_a_share_of_the_shortest_edge(size, least, power):
    """As a power of two; 1e-3 mm take 32 steps of 2^-15 mm."""
    grid = _grid_mm(box(0, 0, size, 50), least)
    assert grid == 2.0**power
    assert grid <= least / 32
    assert grid < 1.3e-6 * size
    assert _grid_mm(box(0, 0, 50, size), least) == grid


def test_the_least_angle_is_negative_where_a_triangle_is_turned_round():
    """Right-angled with legs of 1 and sqrt(3): 30 degrees, whichever corner comes first."""
    corners = np.array([[0, 0], [np.sqrt(3), 0], [0, 1]])
    turns = np.array([[0, 1, 2], [1, 2, 0], [2, 0, 1], [0, 2, 1]])
    degrees = np.degrees(_least_angles(corners, turns))
    assert degrees[:3] == pytest.approx([30.0] * 3)
    assert degrees[3] < 0


def test_a_mesh_is_good_with_twenty_degrees_or_with_thin_triangles_in_sharp_corners_alone():
    height = 2 * np.tan(np.radians(19.0))
    corners = np.array([[0.0, 0.0], [4.0, 0.0], [2.0, height], [2.0, 2.0]])
    thin, none = np.array([[0, 1, 2]]), np.zeros((0, 3), int)
    assert not _is_good(corners, thin, none)
    assert _is_good(corners, thin, np.array([[0, 1, 3]]))
    corners[2, 1] = 2 * np.tan(np.radians(21.0))
    assert _is_good(corners, thin, none)
    assert _behind(corners, thin, none).tolist() == [False]


def test_triangles_are_put_in_one_order_and_not_turned_over():
    given = np.array([[5, 2, 7], [4, 1, 0], [1, 3, 0]])
    assert _in_order(given).tolist() == [[0, 1, 3], [0, 4, 1], [2, 7, 5]]
    assert _in_order(np.roll(given[::-1], 1, axis=1)).tolist() == _in_order(given).tolist()


def test_numbers_are_looked_up_among_sorted_ones():
    assert _holds(np.array([2, 5, 9]), np.array([1, 2, 9, 10, 5])).tolist() == [
        False, True, True, False, True,
    ]  # fmt: skip
    assert _holds(np.zeros(0, int), np.array([1, 2])).tolist() == [False, False]


def test_a_free_corner_moves_to_the_mean_of_its_triangles_by_their_area():
    """The middle of the square's triangles, from (0.5, 1): sum of area x centroid, over 4."""
    corners = SQUARE.copy()
    corners[4] = [0.5, 1.0]
    centres = np.array([[2.5, 1.0], [4.5, 3.0], [2.5, 5.0], [0.5, 3.0]]) / 3
    areas = np.array([1.0, 1.5, 1.0, 0.5])
    assert _smoothed(corners, FOUR, 4) == pytest.approx((areas @ centres / 4)[None])
    alone = np.vstack([corners, [[7.0, 7.0]]])  # one in no triangle stays
    assert _smoothed(alone, FOUR, 5).tolist() == [[7.0, 7.0]]


def test_parts_between_edges_are_found_with_a_place_in_their_largest_triangle():
    """A line from corner to corner through the middle parts the square in two."""
    corners = SQUARE.copy()
    corners[4] = [0.8, 0.8]
    part, middle = _parts(corners, FOUR, np.vstack([RING, [[0, 4], [4, 2]]]))
    assert part[0] == part[1]
    assert part[2] == part[3]
    assert part[0] != part[2]
    assert middle[part[0]] == pytest.approx(corners[FOUR[1]].mean(axis=0))
    whole, _ = _parts(corners, FOUR, RING)
    assert set(whole) == {0}


def test_bodies_and_rubber_are_those_that_the_parts_lie_in():
    """Two fillers; one takes the right triangle, the other what is left of the diagonal."""
    sides = (Side(0, 0, (0, 1, 2, 3, 0), (0.0,) * 5), Side(1, 0, (1, 4, 2), (0.0,) * 3))
    ring = SQUARE[[1, 2, 4]]
    graph = Graph(SQUARE, sides, (), bodies=(np.array([[9, 9], [10, 9], [9, 10]]), ring))
    assert _bodies(graph, FOUR).tolist() == [0, 2, 0, 0]
    assert _bodies(Graph(SQUARE, sides, ()), FOUR).tolist() == [0] * 4
    edges = np.array([*RING, [1, 4], [4, 2]])
    left = box(0, 0, 2, 2).difference(box(1.2, 0.9, 2, 1.1))  # the middle of the right one is out
    assert _in_rubber(SQUARE, FOUR, edges, left).tolist() == [True, False, True, True]
    outer = np.vstack([FOUR, [[1, 0, -1]]])
    assert _in_rubber(SQUARE, outer, edges, box(-9, -9, 9, 9)).tolist() == [True] * 4 + [False]


def test_the_region_has_its_cavities_as_holes_and_its_cradles_added():
    inner = np.array([[0.5, 0.5], [1.0, 0.5], [0.5, 1.0]])
    beside = np.array([[2.0, 0.0], [3.0, 0.0], [3.0, 2.0], [2.0, 2.0]])
    nodes = np.vstack([SQUARE[:4], inner, beside])
    sides = (
        Side(0, 0, (0, 1, 2, 3, 0), (0.0,) * 5), Side(1, 0, (4, 5, 6, 4), (0.0,) * 4),
        Side(2, 0, (7, 8, 9, 10, 7), (0.0,) * 5),
    )  # fmt: skip
    section = SimpleNamespace(
        cavities=[SimpleNamespace(name="rod")], fillers=[], cradles=[SimpleNamespace()]
    )
    assert _region(Graph(nodes, sides, ()), section).area == pytest.approx(4.0 - 0.125 + 2.0)
    with pytest.raises(BadInput, match="'rod' has edges too short"):
        _region(Graph(nodes, (sides[0], sides[2]), ()), section)


def test_edges_of_lands_and_fences_are_kept():
    graph = Graph(SQUARE, (), (SeamChain(0, 0, 0.0, (0, 4, 2)),))
    found = _with_fences(graph, np.array([[1, 3]]))
    assert sorted(map(sorted, found.tolist())) == [[0, 4], [1, 3], [2, 4]]
