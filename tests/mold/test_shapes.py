"""Curves and shapes: areas, tangents, what fits and what is refused."""

import math

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from squeeze.mold.errors import BadInput
from squeeze.mold.geometry.curve import Arc, Line
from squeeze.mold.geometry.loop import circle, ellipse, polygon_loop
from squeeze.mold.geometry.tolerance import ON_MM, SAME_MM
from squeeze.mold.shapes.outline import loop_of
from squeeze.mold.tables.shape import BlockTable, CavityTable


def square(**figures):
    return loop_of(BlockTable(shape="square", width_mm=120, **figures))


def outcome(block):
    """Return (loop, "") or (None, what the refusal says)."""
    try:
        return loop_of(block), ""
    except BadInput as error:
        return None, str(error)


def check_loop(loop):
    """Pieces follow each other and run counter-clockwise; the area is that of the polygon."""
    for piece, following in zip(loop.pieces, loop.pieces[1:] + loop.pieces[:1], strict=True):
        assert np.allclose(piece.at(1.0), following.at(0.0), atol=1e-8)
        assert piece.length > 0
    assert loop.polygon.is_valid
    assert loop.polygon.exterior.is_ccw
    assert loop.area == pytest.approx(loop.polygon.area, abs=0.011 * loop.length)


@pytest.mark.parametrize("round_mm", [0, 2, 17.5, 60])
def test_area_of_a_rounded_square(round_mm):
    loop = square(round_mm=round_mm)
    check_loop(loop)
    assert loop.area == pytest.approx(120**2 - (4 - math.pi) * round_mm**2)
    assert loop.length == pytest.approx(480 - (8 - 2 * math.pi) * round_mm)


@pytest.mark.parametrize("bevel_mm", [0, 3, 35, 60])
def test_area_of_a_bevelled_square(bevel_mm):
    loop = square(bevel_mm=bevel_mm, round_mm=0)
    check_loop(loop)
    assert loop.area == pytest.approx(120**2 - 2 * bevel_mm**2)


def test_pieces_of_no_length_are_left_out():
    assert len(square(bevel_mm=60, round_mm=0).pieces) == 4
    assert len(square(round_mm=60).pieces) == 4
    assert all(isinstance(piece, Arc) for piece in square(round_mm=60).pieces)


def test_corners_are_rounded_by_2_mm_unless_told_otherwise():
    assert square() == square(round_mm=2)
    assert square() != square(round_mm=0)
    assert {p.radii[0] for p in square(bevel_mm=15).pieces if isinstance(p, Arc)} == {2.0}


def test_a_default_radius_shrinks_where_sides_are_short():
    small = loop_of(CavityTable(shape="square", width_mm=3))
    assert [p.least_radius for p in small.pieces] == pytest.approx([1.5] * 4)
    check_loop(small)


def test_rounded_corners_are_tangent():
    loop = loop_of(BlockTable(points_mm=[[0, 0], [60, 0], [60, 40], [30, 15], [0, 40]], bevel_mm=4))
    check_loop(loop)
    pieces = loop.pieces
    for piece, following in zip(pieces, pieces[1:] + pieces[:1], strict=True):
        assert piece.tangent(1.0) == pytest.approx(following.tangent(0.0), abs=1e-9)
    sweeps = [p.sweep_rad for p in pieces if isinstance(p, Arc)]
    assert sum(sweeps) == pytest.approx(2 * math.pi)
    assert min(sweeps) < 0  # the inward corner has an arc too


def test_inward_corners_are_not_bevelled():
    points = [[0, 0], [60, 0], [60, 60], [30, 30], [0, 60]]
    loop = loop_of(BlockTable(points_mm=points, bevel_mm=4, round_mm=0))
    assert len(loop.pieces) == 5 + 4
    assert loop.polygon.exterior.distance(Polygon(points).exterior) == 0
    assert any(np.allclose(p.start, (30, 30)) for p in loop.pieces if isinstance(p, Line))


def test_points_may_run_either_way_round_and_may_close():
    points = [[0, 0], [60, 0], [60, 40]]
    loop = loop_of(BlockTable(points_mm=points))
    assert loop_of(BlockTable(points_mm=points[::-1])).area == pytest.approx(loop.area)
    assert loop_of(BlockTable(points_mm=[*points, points[0]])) == loop


def test_a_cavity_sits_at_its_centre():
    loop = loop_of(CavityTable(shape="oval", width_mm=90, height_mm=20, centre_mm=[5, -7]))
    assert loop.polygon.bounds == pytest.approx((-40, -17, 50, 3), abs=0.02)
    assert loop.area == pytest.approx(math.pi * 45 * 10)
    drawn = loop_of(CavityTable(points_mm=[[0, 0], [6, 0], [0, 6]], round_mm=0, centre_mm=[10, 10]))
    assert drawn.polygon.bounds == (10, 10, 16, 16)


@pytest.mark.parametrize("n", [25, 60, 240, 3000])
def test_points_of_a_drawn_curve_become_a_smooth_curve(n):
    a = np.linspace(0, 2 * np.pi, n, endpoint=False)
    loop = loop_of(BlockTable(points_mm=np.column_stack([60 * np.cos(a), 60 * np.sin(a)]).tolist()))
    check_loop(loop)
    pieces = loop.pieces
    for piece, following in zip(pieces, pieces[1:] + pieces[:1], strict=True):
        assert piece.tangent(1.0) == pytest.approx(following.tangent(0.0), abs=1e-9)
    assert min(piece.least_radius for piece in pieces) > 10
    off = np.hypot(*loop.points(1e-4).T) - 60 * (1 + math.cos(math.pi / n)) / 2
    assert np.abs(off).max() <= 0.1 + 30 * (1 - math.cos(math.pi / n))


def test_points_of_a_fine_curve_are_thinned_unless_sharp_is_asked_for():
    a = np.linspace(0, 2 * np.pi, 3000, endpoint=False)
    points = np.column_stack([60 * np.cos(a), 60 * np.sin(a)]).tolist()
    loop = loop_of(BlockTable(points_mm=points))
    assert len(loop.pieces) < 400
    assert min(piece.length for piece in loop.pieces) > 0.04
    assert len(loop_of(BlockTable(points_mm=points, round_mm=0)).pieces) == 3000


def test_no_tiny_rest_of_a_side_is_left():
    assert len(square(round_mm=59.995).pieces) == 4
    assert len(square(bevel_mm=59.995, round_mm=0).pieces) == 4
    chosen = loop_of(CavityTable(shape="square", width_mm=4.01))
    check_loop(chosen)
    assert min(piece.length for piece in chosen.pieces) > 0.05


def test_a_shallow_corner_between_long_sides_stays_where_it_is():
    points = [[0, 0], [60, 0], [120, 12], [120, 80], [0, 80]]
    loop = loop_of(BlockTable(points_mm=points))
    check_loop(loop)
    assert loop.nearest((60, 0))[2] == pytest.approx(0.1)


@pytest.mark.parametrize(
    ("figures", "key", "words"),
    [
        (
            {"bevel_mm": 70},
            "bevel_mm",
            "70 mm leaves nothing of a side of 120 mm at (0, -60) mm; at most 60 mm",
        ),
        (
            {"round_mm": 61},
            "round_mm",
            "61 mm leaves nothing of a side of 120 mm at (0, -60) mm; at most 60 mm",
        ),
        ({"bevel_mm": 59.5, "round_mm": 2}, "round_mm", "at most 1.2071"),
    ],
)
def test_what_does_not_fit_is_refused_with_figures(figures, key, words):
    with pytest.raises(BadInput) as caught:
        square(**figures)
    (fault,) = caught.value.faults
    assert fault.key == key
    assert words in fault.text


@pytest.mark.parametrize(
    ("points", "words"),
    [
        ([[0, 0], [10, 10], [10, 0], [0, 10]], "crosses or touches itself at (5, 5) mm"),
        ([[0, 0], [10, 0], [20, 0]], "crosses or touches itself"),
        ([[0, 0], [10, 0], [0, 0]], "two points enclose nothing"),
        ([[0, 0], [50, 0], [50, 2]], "sharper than 8 degrees at (0, 0) mm"),
    ],
)
def test_drawn_outlines_that_are_no_shape_are_refused(points, words):
    with pytest.raises(BadInput, match=r"points_mm: ") as caught:
        loop_of(BlockTable(points_mm=points))
    assert words in str(caught.value)


FIGURE = st.floats(0.5, 400)


@settings(deadline=None, max_examples=150)
@given(FIGURE, FIGURE, st.floats(0, 250), st.none() | st.floats(0, 250))
@example(1.0, 1.0, 1 / 64, 0.0)
@example(1.0, 1.0, SAME_MM, 0.0)
def test_any_rectangle_is_a_loop_or_refused(width, height, bevel, radius):
    block = BlockTable(
        shape="rectangle", width_mm=width, height_mm=height, bevel_mm=bevel,
        **({} if radius is None else {"round_mm": radius}),
    )  # fmt: skip
    fits = 2 * bevel <= min(width, height) + 1e-9
    loop, said = outcome(block)
    if loop is None:
        assert not fits or radius is not None
        assert "at most" in said
        return
    check_loop(loop)
    taken = bevel if bevel >= SAME_MM - ON_MM else 0.0  # a smaller one is none
    rest = width * height - 2 * taken**2
    assert math.pi / 4 * rest - 0.02 * loop.length <= loop.area <= rest + 1e-6


@settings(deadline=None, max_examples=150)
@given(
    st.lists(st.tuples(st.floats(5, 100), st.floats(0.5, 1.0)), min_size=3, max_size=12),
    st.floats(0, 30),
    st.none() | st.floats(0, 30),
)
def test_any_star_shaped_outline_is_a_loop_or_refused(rays, bevel, radius):
    angles = np.cumsum([step for _, step in rays])
    angles *= 2 * np.pi / angles[-1]
    points = [[r * np.cos(a), r * np.sin(a)] for (r, _), a in zip(rays, angles, strict=True)]
    figures = {"bevel_mm": bevel} | ({} if radius is None else {"round_mm": radius})
    loop, said = outcome(BlockTable(points_mm=points, **figures))
    if loop is None:
        assert said.startswith(("points_mm: ", "bevel_mm: ", "round_mm: "))
        return
    check_loop(loop)
    hull = Polygon(points).convex_hull
    assert 0 < loop.area <= hull.area + 1e-6


@settings(deadline=None, max_examples=100)
@given(st.floats(1, 100), st.floats(1, 100), st.floats(-200, 200), st.floats(-200, 200))
def test_nearest_place_on_an_ellipse_beats_every_sample(rx, ry, x, y):
    loop = ellipse((rx, ry))
    k, t, distance = loop.nearest((x, y))
    samples = np.hypot(*(loop.points(1e-4) - (x, y)).T)
    assert distance <= samples.min() + 1e-9
    assert distance == pytest.approx(math.dist(loop.pieces[k].at(t)[0], (x, y)))
    for piece in loop.pieces:
        x0, y0, x1, y1 = piece.box()
        px, py = piece.at(np.linspace(0, 1, 101)).T
        assert x0 <= px.min()
        assert px.max() <= x1
        assert y0 <= py.min()
        assert py.max() <= y1


@settings(deadline=None, max_examples=100)
@given(st.floats(-30, 30), st.floats(0, 6.28))
def test_crossings_of_a_line_with_a_circle(offset, turn):
    along = np.array([np.cos(turn), np.sin(turn)])
    middle = offset * np.array([-along[1], along[0]])
    met = circle(20.0).crossings(middle - 100 * along, middle + 100 * along)
    places = sorted({round(-100 + 200 * s, 4) for _, _, s in met})
    if abs(offset) > 20.001:
        assert places == []
    elif abs(offset) < 19.999:
        half = math.sqrt(20.0**2 - offset**2)
        assert places == pytest.approx([-half, half], abs=2e-4)


def test_polygon_loop_turns_points_counter_clockwise():
    check_loop(polygon_loop([(0, 0), (0, 3), (4, 0)]))
    assert polygon_loop([(0, 0), (0, 3), (4, 0)]).area == pytest.approx(6)


@settings(deadline=None, max_examples=60)
@given(st.floats(-40, 40), st.floats(-40, 40), st.sampled_from([1e-5, 0.1, 5.0]))
@example(20.0, 0.0, 0.1)
@example(0.0, 0.0, 5.0)
def test_a_loop_comes_within_reach_where_its_distance_says_so(x, y, reach):
    for loop in (circle(20.0), square(bevel_mm=15), ellipse((30.0, 8.0))):
        away = float(loop.distances([(x, y)])[0])
        if abs(away - reach) > 1e-9:
            assert loop.comes_within(reach, (x, y)) == (away <= reach)


def test_nearest_places_are_the_same_looked_up_or_tried_one_by_one():
    loop = square(bevel_mm=15, round_mm=4)
    points = np.random.default_rng(3).uniform(-90, 90, (200, 2))
    tried = loop.edges._nearest_of_all(points)
    which, piece = loop.edges._candidates(points)
    t, away = loop.edges._on_pieces(points[which], piece)
    for k in range(len(points)):
        best = np.flatnonzero(which == k)[np.argmin(away[which == k])]
        assert tried.distance[k] == pytest.approx(away[best], abs=1e-9)
        place = loop.pieces[tried.piece[k]].at(tried.at[k])[0]
        assert np.hypot(*(place - points[k])) == pytest.approx(tried.distance[k], abs=1e-9)
        assert loop.pieces[piece[best]].at(t[best])[0] == pytest.approx(place, abs=1e-6)


def test_the_curve_of_a_shape_is_one_record_with_what_it_has_worked_out():
    first, again = (square(bevel_mm=12) for _ in range(2))
    assert first is again
    assert first.points() is again.points()
    assert square(bevel_mm=13) is not first
    with pytest.raises(ValueError, match="read-only"):
        first.pieces[0].even(4)[0] = 1.0
