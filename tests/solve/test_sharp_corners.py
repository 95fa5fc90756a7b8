"""Sharp corners of a mesh: which they are, and how far from them their nodes stand, by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely.geometry import Point

from squeeze.mold.geometry.curve import Line
from squeeze.solve.mesh.sharp_corners import (
    SHARP_DEG,
    _chain_with,
    _inside,
    _parameter,
    _reach,
    _sharp,
)


def wedge(degrees: float, one: float = 8.0, other: float = 4.0):
    """Return nodes and edges of a corner at (0, 0), open to the right and up."""
    angle = math.radians(degrees)
    nodes = np.array([[0, 0], [one, 0], [other * math.cos(angle), other * math.sin(angle)]])
    return nodes, np.array([[0, 1], [0, 2]])


@pytest.mark.parametrize("degrees", [0.7, 0.99, 1.01, 3.0])
def test_a_corner_is_sharp_below_the_angle(degrees):
    """Counter-clockwise from its first edge to its second."""
    nodes, edges = wedge(degrees * SHARP_DEG)
    found = [[0, 1, 2]] if degrees < 1 else []
    assert _sharp(nodes, edges).tolist() == found
    turned = nodes @ np.array([[0.0, 1.0], [-1.0, 0.0]])
    assert _sharp(turned, edges).tolist() == found


def test_a_corner_lies_inside_where_a_quarter_of_its_shorter_edge_does():
    """At 1 mm along the line that halves the angle."""
    nodes, _ = wedge(40.0)
    corner = np.array([[0, 1, 2]])
    place = Point(math.cos(math.radians(20)), math.sin(math.radians(20)))
    assert _inside(nodes, corner, place.buffer(0.05)).tolist() == [True]
    assert _inside(nodes, corner, Point(0, 0).buffer(0.9)).tolist() == [False]
    assert _inside(nodes, corner, Point(0, 0).buffer(1.1)).tolist() == [True]


def test_nodes_stand_half_of_the_shortest_edge_away_or_half_of_what_else_is_near():
    nodes, edges = wedge(40.0)
    corner = np.array([[0, 1, 2]])
    assert _reach(nodes, edges, corner) == {0: pytest.approx(2.0)}
    near = np.vstack([nodes, [[3.0, -5.0], [3.0, 5.0]]])
    crossed = np.vstack([edges, [[3, 4]]])
    assert _reach(near, crossed, corner) == {0: pytest.approx(1.5)}
    far = np.vstack([nodes, [[5.0, -5.0], [5.0, 5.0]]])
    assert _reach(far, crossed, corner) == {0: pytest.approx(2.0)}


def test_an_edge_between_two_sharp_corners_is_parted_in_three():
    nodes, edges = wedge(60.0, one=6.0, other=30.0)
    corners = np.array([[0, 1, 2], [1, 2, 0]])
    reach = _reach(nodes, np.vstack([edges, [[1, 2]]]), corners)
    assert reach[0] == pytest.approx(2.0)
    assert reach[1] == pytest.approx(2.0)


def test_a_node_on_a_straight_piece_stands_at_its_distance():
    line = Line((0.0, 0.0), (10.0, 0.0))
    assert _parameter(line, 0.0, 1.0, 2.5) == pytest.approx(0.25)
    assert _parameter(line, 1.0, 0.0, 2.5) == pytest.approx(0.75)


def test_a_chain_takes_the_new_nodes_up_on_both_sides():
    assert _chain_with((1, 2, 3), {(2, 1): 9, (2, 3): 8}) == (1, 9, 2, 8, 3)
    assert _chain_with((1, 2), {(1, 2): 7, (2, 1): 9}) == (1, 7, 9, 2)
    assert _chain_with((1, 2), {}) == (1, 2)
