"""Edge lengths that a mesh asks for, by hand counts on plain sections."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.spatial import KDTree
from shapely.geometry import box

import squeeze
from squeeze.mold import section_of
from squeeze.mold.geometry.loop import circle, polygon_loop
from squeeze.solve.mesh.size import (
    SizeMap,
    _dense,
    _of_loop,
    _thickness,
    across,
    lip_angle,
    outlet_mm,
    size_map,
)

BLOCK = {
    "length_mm": 100,
    "rubber": {"shore_a": 20},
    "block": {"shape": "rectangle", "width_mm": 120, "height_mm": 90, "round_mm": 0},
}


def section(**changed):
    return section_of(squeeze.mold_of(BLOCK | changed))


def test_sizes_grow_with_the_distance_from_their_sources_up_to_the_largest():
    """From 0.5 mm by 0.4 a mm; at 10 mm the other source asks for 1 mm."""
    made = SizeMap(((0.5, KDTree([[0.0, 0.0]])), (1.0, KDTree([[10.0, 0.0]]))), 3.0)
    places = np.array([[0, 0], [2, 0], [10, 0], [9, 0], [5, 0], [100, 0]], float)
    assert made(places) == pytest.approx([0.5, 1.3, 1.0, 1.4, 2.5, 3.0])
    assert made.least_mm == 0.5
    assert SizeMap((), 3.0).least_mm == 3.0
    inner = SizeMap((), 9.0, block=box(-1, -1, 1, 1), in_block_mm=2.0)
    assert inner(np.array([[0.0, 0.0], [5.0, 0.0]])) == pytest.approx([2.0, 9.0])


def test_points_on_a_polyline_stand_half_an_edge_apart_at_most():
    points = _dense([np.array([[0.0, 0.0], [3.0, 0.0], [3.0, 1.0]])], 2.0)
    found = sorted(map(tuple, points.tolist()))
    assert found == [(0, 0), (1, 0), (2, 0), (3, 0), (3, 1)]
    one = _dense([np.array([[0.0, 0.0], [0.9, 0.0]])], 2.0)
    assert sorted(map(tuple, one.tolist())) == [(0, 0), (0.9, 0)]


def test_a_round_cavity_asks_for_eighteen_edges_round_it():
    (whole, _), *arcs = _of_loop(circle(9.0), 18)
    assert whole == pytest.approx(2 * math.pi * 9 / 18)
    assert {round(size, 9) for size, _ in arcs} == {round(2 * math.pi * 9 / 18, 9)}
    square = polygon_loop([(0, 0), (10, 0), (10, 10), (0, 10)])
    assert [size for size, _ in _of_loop(square, 20)] == [2.0]


def test_a_long_piece_is_about_as_thick_as_its_area_over_half_its_round():
    assert _thickness(polygon_loop([(0, 0), (100, 0), (100, 4), (0, 4)])) == pytest.approx(
        2 * 400 / 208
    )


def test_a_section_is_as_wide_as_its_lesser_side_and_has_nine_edges_across():
    bare = section()
    assert across(bare) == 90.0
    made = size_map(bare)
    assert made.largest_mm == pytest.approx(10.0)
    middle = np.array([[0.0, 0.0]])
    assert made(middle) == pytest.approx(10.0)
    fine = size_map(bare, 2.0)
    assert fine.largest_mm == pytest.approx(5.0)
    assert fine.growth == pytest.approx(0.2)


def test_a_land_has_twelve_edges_and_a_spot_its_own():
    """The cut is 120 mm long: it asks for edges of 10; a cavity of 24 leaves lands of 48: 4 mm."""
    cut = [{"path_mm": [[-60, 0], [60, 0]]}]
    hole = [{"name": "rod", "shape": "round", "diameter_mm": 24}]
    halves = size_map(section(cut=cut, cavity=hole))
    at = np.array([[36.0, 0.0]])
    assert halves(at) == pytest.approx(4.0)
    spot = size_map(section(cut=cut, cavity=hole), finer=((36.0, 0.0, 0.3),))
    assert spot(at) == pytest.approx(0.3)
    assert spot(np.array([[36.0, 1.0]])) == pytest.approx(0.7)


def test_a_fine_outlet_falls_with_the_square_of_the_fineness():
    bare = section()
    assert outlet_mm(bare, 1.0) == pytest.approx(90 / 480)
    assert outlet_mm(bare, 2.0) == pytest.approx(90 / 480 / 4)


@pytest.mark.parametrize(
    ("degrees", "is_aslant"), [(90, False), (86, False), (84, True), (60, True), (120, True)]
)
def test_a_cut_leaves_aslant_from_five_degrees_off_the_right_angle_on(degrees, is_aslant):
    """At the right side, which runs upward; the angle is that to it."""
    bare = section()
    angle = math.radians(degrees)
    inward = np.array([-math.sin(angle), math.cos(angle)])
    found = lip_angle(np.array([60.0, 5.0]), 7.0 * inward, bare)
    assert (found is not None) is is_aslant
    if found is not None:
        assert found == pytest.approx(angle)
    assert lip_angle(np.array([30.0, 5.0]), inward, bare) is None  # in the rubber
