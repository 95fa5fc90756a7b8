"""Undercuts of a mesh against closed forms: spheres, a dumbbell, a mushroom, a prism."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from squeeze.mold.model.mesh import Model as ReadModel
from squeeze.mold.model.mesh import box_size_mm, laid_along, read_model
from squeeze.mold.model.placed import Placed
from squeeze.mold.model.sentences import say_sliced
from squeeze.mold.model.slices import slice_models
from squeeze.mold.model.undercut_faces import undercuts_of

trimesh: Any = pytest.importorskip("trimesh")


def standing(profile, sections: int = 96) -> Placed:
    """Return a body of revolution about y, its axis at x = 0 and 50 mm along, its foot at y = 0."""
    mesh = trimesh.creation.revolve(np.array(profile, float), sections=sections)
    laid = laid_along(mesh, "x")
    size = box_size_mm(laid)
    model = ReadModel("body", laid, size, (), mesh, "x")
    return Placed(model, (-size[0] / 2, 0.0, 50 - size[2] / 2))


def level(y: float) -> list:
    line = np.array([[-100.0, y], [100.0, y]])
    return [(0.0, [line]), (100.0, [line])]


def ball(radius: float, middle: float, low: float = -90.0, high: float = 90.0) -> list:
    """Return an arc of a ball on the axis, from one latitude to another [degrees]."""
    angles = np.radians(np.linspace(low, high, 181))
    return [(abs(radius * math.cos(a)), middle + radius * math.sin(a)) for a in angles]


def test_a_ball_parted_at_its_equator_has_no_undercut():
    assert undercuts_of([standing(ball(20, 20))], level(20)) == []


@pytest.mark.parametrize("off", [4.0, 10.0, -6.0])
def test_a_ball_parted_off_its_equator_is_undercut_in_a_zone(off):
    """The zone between equator and parting line: 2 pi R h; it narrows by R - sqrt(R^2 - h^2)."""
    (patch,) = undercuts_of([standing(ball(20, 20))], level(20 + off))
    h = abs(off)
    assert patch.area_mm2 == pytest.approx(math.tau * 20 * h, rel=0.04)
    assert patch.depth_mm == pytest.approx(20 - math.sqrt(20**2 - h**2), abs=0.12)
    assert math.hypot(patch.at_mm[0], patch.at_mm[2] - 50) == pytest.approx(20, abs=3)


def test_a_dumbbell_is_undercut_where_its_lower_ball_narrows_to_the_neck():
    """Parted at the upper ball's equator: of the lower one the zone between equator and neck."""
    radius, neck = 15.0, 5.0
    lat = math.degrees(math.acos(neck / radius))
    apart = 50.0
    profile = ball(radius, radius, -90, lat) + ball(radius, radius + apart, -lat, 90)
    (patch,) = undercuts_of([standing(profile)], level(radius + apart))
    zone = math.tau * radius * math.sqrt(radius**2 - neck**2)
    assert patch.area_mm2 == pytest.approx(zone, rel=0.02)
    assert patch.depth_mm == pytest.approx(radius - neck, abs=0.3)
    assert radius < patch.at_mm[1] < 2 * radius


def test_a_mushroom_parts_at_its_rim_and_nowhere_else():
    """At the rim of its cap nothing is undercut; through the stem the flat under the cap is."""
    cap, stem, long = 20.0, 6.0, 30.0
    profile = [(0, 0), (stem, 0), (stem, long), *ball(cap, long, 0, 90)]
    assert undercuts_of([standing(profile)], level(long)) == []
    (patch,) = undercuts_of([standing(profile)], level(10.0))
    assert patch.area_mm2 == pytest.approx(math.pi * (cap**2 - stem**2), rel=0.01)
    assert patch.depth_mm == pytest.approx(cap - stem, abs=0.3)
    assert patch.at_mm[1] == pytest.approx(long, abs=0.01)


def sliced(folder, mesh, **more):
    mesh.export(folder / "a.stl")
    return slice_models([read_model(folder / "a.stl", "z", "mm")], **more)


def test_a_sliced_sphere_and_a_cylinder_have_none(tmp_path):
    for mesh in (
        trimesh.creation.icosphere(subdivisions=4, radius=20),
        trimesh.creation.cylinder(radius=12, height=40, sections=120),
        trimesh.creation.box((30, 20, 40)),
    ):
        assert not sliced(tmp_path, mesh).undercuts


def test_a_prism_is_undercut_all_along(tmp_path):
    """A stem on a foot under a cap: of the foot, what reaches beyond the stem, on both sides."""
    ring = np.array([(-8, 0), (8, 0), (8, 5), (4, 5), (4, 20), (15, 20), (15, 30), (-15, 30),
                     (-15, 20), (-4, 20), (-4, 5), (-8, 5)], float)  # fmt: skip
    cap = [(0, 1, 2), (0, 2, 3), (0, 3, 10), (0, 10, 11), (3, 4, 9), (3, 9, 10), (4, 5, 6),
           (4, 6, 7), (4, 7, 9), (7, 8, 9)]  # fmt: skip
    mesh = trimesh.creation.extrude_triangulation(ring, np.array(cap), 60.0)
    assert mesh.is_watertight
    assert mesh.volume == pytest.approx(60 * (16 * 5 + 8 * 15 + 30 * 10))
    found = sliced(tmp_path, mesh)
    assert [patch.area_mm2 for patch in found.undercuts] == pytest.approx([240, 240], rel=0.01)
    assert [patch.depth_mm for patch in found.undercuts] == pytest.approx([4, 4], abs=0.05)
    said = " ".join(found.say)
    assert "Undercut against this parting line: 480 mm2 of the surface, in 2 places." in said
    assert "'a' is undercut by 4.0 mm at (" in said


def test_an_undercut_between_two_sections_is_found(tmp_path):
    """A bar with a knob under it that no section meets: its sections alone have no undercut."""
    bar = trimesh.creation.box(bounds=[(-15, -10, 0), (15, 10, 90)])
    knob = trimesh.creation.revolve(
        np.array([(1, 0), (1, 3), (2.5, 3), (2.5, 5), (0, 5)], float), sections=64
    )
    turn = trimesh.transformations.rotation_matrix(math.pi / 2, (1, 0, 0))
    knob.apply_transform(turn)  # its axis points down
    knob.apply_translation((0, -10, 50))
    both = trimesh.util.concatenate([bar, knob])
    both.export(tmp_path / "a.stl")
    model = read_model(tmp_path / "a.stl", "z", "mm")
    found = slice_models([model], stations=9)  # at 45 and 55 mm along the bar
    assert len(found.undercuts) == 1
    (patch,) = found.undercuts
    assert patch.area_mm2 == pytest.approx(math.pi * (2.5**2 - 1), rel=0.03)
    assert patch.at_mm[2] == pytest.approx(12 + 50, abs=3)


@pytest.mark.parametrize("deep", [0.2, 0.3])
def test_a_groove_counts_from_a_quarter_of_a_millimetre_on_and_that_is_said(deep):
    """Round a stud that is parted above it: its upper flank narrows by its depth."""
    profile = [(0, 0), (10, 0), (10, 10), (10 - deep, 12), (10, 14), (10, 30), (0, 30)]
    found = undercuts_of([standing(profile, 400)], level(30))
    assert [patch.depth_mm for patch in found] == pytest.approx([deep] * (deep > 0.25), abs=0.03)
    (said,) = [s for s in say_sliced([], [[]], [0.0], found, [], [], 0.0) if "ndercut" in s][:1]
    assert said.endswith(
        "Undercuts narrower than 0.25 mm are left out: the parting line itself may lie 0.1 mm off"
        " the silhouette."
    )
