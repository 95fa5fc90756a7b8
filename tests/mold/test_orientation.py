"""How a model should lie in its block, and the parting line from section to section."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely.geometry import LineString, Polygon

import squeeze
from squeeze.mold import dump
from squeeze.mold.model.mesh import own_axes, read_model
from squeeze.mold.model.orientation import best_orientation, orientations_along, say_orientation
from squeeze.mold.model.parting import Extreme, extremes_of, place_at, steady, undercuts
from squeeze.mold.model.slices import slice_models

trimesh = pytest.importorskip("trimesh")


def saved(folder, mesh, name: str = "a.stl"):
    mesh.export(folder / name)
    return folder / name


def prism(ring, long: float = 60.0, turn_deg: float = 0.0, layers: int = 1):
    """Return a bar along z, turned evenly along its length; its ends are fans of triangles."""
    ring = np.array(ring, float)
    n, faces = len(ring), []
    angle = np.radians(turn_deg) * np.arange(layers + 1) / layers
    levels = long * np.arange(layers + 1) / layers
    x, y = ring.T
    places = np.vstack(
        [
            np.column_stack(
                [x * np.cos(a) - y * np.sin(a), x * np.sin(a) + y * np.cos(a), np.full(n, z)]
            )
            for a, z in zip(angle, levels, strict=True)
        ]
    )
    for k in range(layers):
        for i in range(n):
            a, b = n * k + i, n * k + (i + 1) % n
            faces += [(a, b, b + n), (a, b + n, a + n)]
    top = n * layers
    for i in range(1, n - 1):
        faces += [(0, i + 1, i), (top, top + i, top + i + 1)]
    return trimesh.Trimesh(places, faces)


def test_own_axes_are_those_a_body_was_turned_by():
    mesh = trimesh.creation.box((20, 10, 70))
    turn = trimesh.transformations.rotation_matrix(0.7, [1, 2, 0.5])[:3, :3]
    mesh.apply_transform(np.block([[turn, np.zeros((3, 1))], [np.zeros((1, 3)), np.eye(1)]]))
    found = own_axes(mesh)
    assert np.linalg.det(found) == pytest.approx(1)
    assert np.abs(found @ turn) == pytest.approx(
        np.array([[1, 0, 0], [0, 1, 0], [0, 0, 1]]), abs=1e-6
    )


def test_a_model_drawn_aslant_is_laid_along_its_own_axis_when_asked(tmp_path):
    bar = trimesh.creation.capsule(height=60, radius=8)
    turn = trimesh.transformations.rotation_matrix(math.radians(35), [1, 0.3, 0.2])
    bar.apply_transform(turn)
    path = saved(tmp_path, bar)
    drawn = read_model(path, None, "mm")
    now, best = best_orientation(drawn)
    assert (now.axis, best.axis) == ("z", "own")
    assert "--axis own" in say_orientation(drawn)
    leaning = math.degrees(math.acos(abs(turn[2, 2])))
    assert f"{leaning:.0f} degrees off z" in say_orientation(drawn)
    laid = read_model(path, "own", "mm")
    assert laid.size_mm == pytest.approx((16, 16, 76), abs=0.3)
    assert best_orientation(laid)[0] == best_orientation(laid)[1]
    assert say_orientation(laid).endswith("no other axis or turn is better.")


def test_the_turn_without_an_undercut_is_proposed(tmp_path):
    """A trough, open to one side: on that side rubber is held, from above it comes out."""
    channel = [(-15, -10), (15, -10), (15, 10), (10, 10), (10, -5), (-10, -5), (-10, 10), (-15, 10)]
    mesh = prism(channel, 80)
    path = saved(tmp_path, mesh)
    good, bad = (read_model(path, "z", "mm", turn) for turn in (0.0, 90.0))
    assert best_orientation(good)[1].undercut_mm == pytest.approx(0, abs=1e-6)
    now, best = best_orientation(bad)
    assert now.undercut_mm == pytest.approx(15, abs=1e-3)
    assert (best.axis, best.turn_deg) == ("z", 0.0)
    assert "in place of 15.0 mm" in say_orientation(bad)
    assert "no other" in say_orientation(good)


def test_a_turn_turns_sections_and_box_alike(tmp_path):
    mesh = trimesh.creation.box((30, 10, 60))
    model = read_model(saved(tmp_path, mesh), "z", "mm", 30.0)
    c, s = math.cos(math.radians(30)), math.sin(math.radians(30))
    size = (30 * c + 10 * s, 30 * s + 10 * c, 60)
    assert model.size_mm == pytest.approx(size, abs=1e-4)
    (found,) = orientations_along(mesh, "z", [30.0])
    assert found.size_mm == pytest.approx(size, abs=1e-9)
    assert found.undercut_mm == pytest.approx(0, abs=1e-9)


def test_sides_reach_as_far_as_the_outline_is_as_wide():
    angle = math.tau * np.arange(3600) / 3600
    ring = 20 * np.column_stack([np.cos(angle), np.sin(angle)])
    reach = math.sqrt(20**2 - (20 - 0.1) ** 2)
    for side, x in zip(extremes_of(ring), (-20, 20), strict=True):
        assert side.x_mm == pytest.approx(x)
        assert (side.low_mm, side.high_mm) == pytest.approx((-reach, reach), abs=0.02)


def test_a_steady_line_is_level_where_it_can_be_and_straight_where_it_cannot():
    gates = [Extreme(0.0, low, low + 4) for low in (0, 1, 2, 3)]
    assert np.ptp(steady(gates)) == pytest.approx(0, abs=1e-5)
    ends = [Extreme(0.0, 0, 0), *[Extreme(0.0, -100, 100)] * 3, Extreme(0.0, 8, 8)]
    assert steady(ends) == pytest.approx([0, 2, 4, 6, 8], abs=1e-3)
    for gate, y in zip(ends, steady(ends), strict=True):
        assert gate.low_mm <= y <= gate.high_mm


def test_a_parting_line_bends_inside_the_outline():
    square = np.array([[0, 0], [10, 0], [10, 10], [0, 10]], float)
    assert place_at(square, 4.0, True) == pytest.approx((0.5, 4))
    assert place_at(square, 4.0, False) == pytest.approx((9.5, 4))


def test_a_twisted_bar_has_a_parting_line_that_a_knife_can_follow(tmp_path):
    """A bar 40 x 10 turned by 60 degrees over 120 mm: its widest edge climbs evenly."""
    mesh = prism([(-20, -5), (20, -5), (20, 5), (-20, 5)], 120, 60, 60)
    assert mesh.is_watertight
    sliced = slice_models([read_model(saved(tmp_path, mesh), "z", "mm")], stations=12)
    assert 2 < sliced.rise_deg < 45
    assert any("a knife follows it" in line for line in sliced.say)
    assert not sliced.undercuts
    plain = slice_models([read_model(saved(tmp_path, prism([(-9, -5), (9, -5), (9, 5), (-9, 5)]),
                                           "b.stl"), "z", "mm")], stations=3)  # fmt: skip
    assert plain.rise_deg == 0
    assert any("runs level" in line for line in plain.say)


@pytest.mark.slow
def test_a_ring_on_its_side_has_a_parting_line_for_each_of_its_outlines(tmp_path):
    ring = trimesh.creation.torus(30, 8, major_sections=128, minor_sections=64)
    sliced = slice_models([read_model(saved(tmp_path, ring), "x", "mm", 90.0)], stations=9)
    middle = sliced.mold.station[5]
    assert len(middle.cavity) == len(middle.cut) == 2
    lines = [LineString(cut.path_mm) for cut in middle.cut]
    for cavity in middle.cavity:
        assert any(line.intersects(Polygon(cavity.points_mm)) for line in lines)
    assert any("above each other" in line for line in sliced.say)
    assert "undercut by 0.0 mm in place of" in say_orientation(sliced.placed[0].model)
    assert squeeze.parse(dump(sliced.mold)) == sliced.mold


def test_an_undercut_goes_with_the_parting_line_that_it_is_against():
    """A slot from the side, 6 deep: rubber in it is held; from above there is no hold."""
    ring = np.array([[-10, -8], [10, -8], [10, -2], [4, -2], [4, 2], [10, 2], [10, 8], [-10, 8]])
    (held,) = undercuts(ring.astype(float))
    assert held.depth_mm == pytest.approx(6)
    assert not undercuts(np.column_stack([-ring[:, 1], ring[:, 0]]).astype(float))
