"""Sliced models against the closed forms of the solids they are of."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely.geometry import LineString, Point, Polygon

import squeeze
from squeeze.mold import BadInput, dump
from squeeze.mold.model.mesh import read_model, section_at
from squeeze.mold.model.parting import extremes_of, undercuts
from squeeze.mold.model.slices import slice_models
from squeeze.mold.model.thin import thinned
from squeeze.verdict.quantities import quantities_of

trimesh = pytest.importorskip("trimesh")


def saved(folder, mesh, name: str = "a.stl"):
    mesh.export(folder / name)
    return folder / name


def sphere(radius: float = 20.0):
    return trimesh.creation.icosphere(subdivisions=4, radius=radius)


def test_sections_of_a_sphere_are_circles(tmp_path):
    model = read_model(saved(tmp_path, sphere()), "z", "mm")
    assert model.size_mm == pytest.approx((40, 40, 40), abs=0.01)
    for along in (3.0, 5.0, 20.0, 33.0):
        (shape,) = section_at(model, along)
        radius = math.sqrt(20**2 - (20 - along) ** 2)
        away = [math.dist(p, (20, 20)) for p in shape.exterior.coords]
        assert np.abs(np.array(away) - radius).max() < 0.05


def test_sections_of_a_cone_shrink_evenly(tmp_path):
    cone = trimesh.creation.cone(radius=15, height=50, sections=200)
    model = read_model(saved(tmp_path, cone, "a.obj"), "z", "mm")
    for along in (5.0, 25.0, 40.0):
        (shape,) = section_at(model, along)
        radius = 15 * (1 - along / 50)
        away = [math.dist(p, (15, 15)) for p in shape.exterior.coords]
        assert np.abs(np.array(away) - radius).max() < 0.05


@pytest.mark.slow
def test_a_torus_across_its_hole_gives_two_outlines_and_along_it_an_island(tmp_path):
    torus = trimesh.creation.torus(30, 8, major_sections=256, minor_sections=128)
    path = saved(tmp_path, torus, "ring.ply")
    model = read_model(path, "x", "mm")
    shapes = section_at(model, 38.0)
    assert len(shapes) == 2
    for shape in shapes:
        assert shape.area == pytest.approx(math.pi * 64, rel=2e-3)
    flat = read_model(path, "z", "mm")
    (ring,) = section_at(flat, 8.0)
    assert len(ring.interiors) == 1
    sliced = slice_models([flat], stations=5)
    assert sliced.islands
    assert any("island" in line for line in sliced.say)


@pytest.mark.parametrize("along", [5.0, 12.0, 20.0, 38.0, 50.0, 69.0])
def test_sections_of_a_torus_lie_on_it(tmp_path, along):
    """Off its middle they are no circles: every place is the small radius away from the ring."""
    torus = trimesh.creation.torus(30, 8, major_sections=256, minor_sections=128)
    shapes = section_at(read_model(saved(tmp_path, torus), "x", "mm"), along)
    places = np.vstack([np.asarray(shape.exterior.coords) for shape in shapes])
    ends = [np.asarray(shape.exterior.coords) for shape in shapes]
    middles = np.vstack([(each[1:] + each[:-1]) / 2 for each in ends])
    for right, up in (places.T, middles.T):
        out = np.hypot(along - 38, right - 38) - 30
        assert np.abs(np.hypot(out, up - 8) - 8).max() < 0.05


def test_volume_of_a_sliced_sphere_is_that_of_the_sphere_and_of_the_mesh(tmp_path):
    mesh = sphere()
    sliced = slice_models([read_model(saved(tmp_path, mesh), "z", "mm")], stations=20)
    found = quantities_of(sliced.mold).cavities_cm3 * 1000
    assert found == pytest.approx(4 / 3 * math.pi * 20**3, rel=0.01)
    assert found == pytest.approx(mesh.volume, rel=0.01)


def test_outlines_have_the_least_points_for_their_tolerance():
    """A circle needs one chord for each 2 acos(1 - t/r); nothing else can do with fewer."""
    n, radius, stray = 720, 20.0, 0.05
    angle = math.tau * np.arange(n) / n
    ring = radius * np.column_stack([np.cos(angle), np.sin(angle)])
    thin = thinned(ring, stray)
    least = math.ceil(math.tau / (2 * math.acos(1 - stray / radius)))
    assert least <= len(thin) <= least + 1
    line = LineString([*thin, thin[0]])
    assert max(line.distance(Point(p)) for p in ring) <= stray + 1e-9


def test_the_parting_line_runs_through_the_silhouette(tmp_path):
    models = [read_model(saved(tmp_path, sphere(r), f"{r}.stl"), "z", "mm") for r in (10, 15)]
    sliced = slice_models(models, stations=5)
    (cut,) = sliced.mold.cut
    assert [cavity.name for cavity in sliced.mold.cavity] == ["10", "15"]
    path = LineString(cut.path_mm)
    for cavity in sliced.mold.cavity:
        ends = extremes_of(np.array(cavity.points_mm), 1e-6)
        left, right = ((end.x_mm, end.middle_mm) for end in ends)
        met = path.intersection(Polygon(cavity.points_mm)).bounds
        assert (met[0], met[2]) == pytest.approx((left[0], right[0]), abs=0.06)
    assert np.allclose([y for _, y in cut.path_mm], 0, atol=1e-3)
    assert cut.path_mm[0][0] == pytest.approx(-sliced.mold.block.width_mm / 2, abs=1e-3)
    assert not sliced.undercuts
    assert sliced.say[-1].startswith("Nothing is undercut against this parting line.")
    assert squeeze.parse(dump(sliced.mold)) == sliced.mold


def test_an_undercut_is_as_deep_as_it_is_drawn():
    """A cap over a stem: rubber at its neck, at 5 mm, lies under its foot, at 8 mm."""
    ring = np.array([[-10, 0], [-5, 0], [-5, -10], [-8, -20], [8, -20], [5, -10], [5, 0],
                     [10, 0], [10, 5], [-10, 5]], float)  # fmt: skip
    found = undercuts(ring)
    assert len(found) == 1
    assert found[0].depth_mm == pytest.approx(3)  # the foot at 8 beyond the neck at 5
    angle = math.tau * np.arange(90) / 90
    assert not undercuts(np.column_stack([np.cos(angle), np.sin(angle)]) * 10)


def test_units_are_asked_with_a_guess(tmp_path):
    path = saved(tmp_path, sphere(1.0))
    with pytest.raises(BadInput, match=r"2 x 2 x 2 units large, so probably: --units in"):
        read_model(path, None, None)
    assert read_model(path, None, "in").size_mm == pytest.approx((50.8,) * 3, rel=1e-3)


def test_the_longest_side_lies_along_the_block_unless_told(tmp_path):
    path = saved(tmp_path, trimesh.creation.box((50, 20, 10)))
    assert read_model(path, None, "mm").size_mm == pytest.approx((20, 10, 50))
    assert read_model(path, "y", "mm").size_mm == pytest.approx((10, 50, 20))


def test_holes_are_told_with_their_places(tmp_path):
    mesh = sphere()
    keep = np.ones(len(mesh.faces), bool)
    keep[np.argmin(np.abs(mesh.triangles_center[:, 2] - 5))] = False
    mesh.update_faces(keep)
    model = read_model(saved(tmp_path, mesh), "z", "mm")
    assert len(model.holes) == 3
    assert model.holes[0][2] == pytest.approx(25, abs=1)
    with pytest.raises(BadInput, match="has a hole: its section at"):
        section_at(model, float(np.mean([hole[2] for hole in model.holes])))


def test_what_is_no_model_is_told(tmp_path):
    (tmp_path / "a.stl").write_text("nothing")
    for name, said in (
        ("a.stl", "a.stl: "),
        ("a.txt", "is not a model"),
        ("b.stl", "cannot be read"),
    ):
        with pytest.raises(BadInput, match=said):
            read_model(tmp_path / name, None, "mm")


def test_a_sliced_mold_closes(tmp_path):
    sliced = slice_models([read_model(saved(tmp_path, sphere(12)), "z", "mm")], stations=3)
    mold = sliced.mold.model_copy(
        update={"band": squeeze.mold_of(
            {"length_mm": 50, "rubber": {"shore_a": 20}, "block": {"shape": "round",
             "diameter_mm": 30}, "band": [{"tension_n": 5}]}).band}
    )  # fmt: skip
    assert Polygon(mold.cavity[0].points_mm).area == pytest.approx(math.pi * 144, rel=0.02)
    assert squeeze.close(mold, fineness=0.5, deformation="small").outcome.has_answer


def test_a_3mf_file_tells_its_unit_and_keeps_its_places(tmp_path):
    pytest.importorskip("lxml")
    pytest.importorskip("networkx")
    ball = sphere(10.0)
    bar = trimesh.creation.box(extents=(8, 6, 30))
    bar.apply_translation((30, 0, 0))
    path = tmp_path / "two.3mf"
    trimesh.Scene([ball, bar]).export(path)
    model = read_model(path, "z", None)
    assert model.size_mm == pytest.approx((44, 20, 30), abs=0.02)
    areas = sorted(shape.area for shape in section_at(model, 15.0))
    assert areas == pytest.approx([48, math.pi * 100], rel=3e-3)
    assert not model.holes


TURNED = {
    "x": ((0, 0, 1), (1, 0, 0), (0, 1, 0)),
    "y": ((0, 1, 0), (0, 0, 1), (1, 0, 0)),
    "z": ((1, 0, 0), (0, 1, 0), (0, 0, 1)),
}
"""Rows of the turn that lays a model, drawn along z, along another axis of its file."""


@pytest.mark.parametrize("axis", "xyz")
def test_a_model_is_turned_and_never_mirrored(tmp_path, axis):
    """Three bars without symmetry come out the same way round along each axis of the file."""
    wanted, bars = [(0, 0, 12, 3), (2, 6, 4, 20), (9, 15, 12, 17)], []
    for x0, y0, x1, y1 in wanted:
        bar = trimesh.creation.box(bounds=[(x0, y0, 0), (x1, y1, 40)])
        bars.append(bar)
    mesh = trimesh.util.concatenate(bars)
    turn = np.eye(4)
    turn[:3, :3] = TURNED[axis]
    assert np.linalg.det(turn) == pytest.approx(1)
    mesh.apply_transform(turn)
    model = read_model(saved(tmp_path, mesh), None, "mm")
    assert model.size_mm == pytest.approx((12, 20, 40))
    found = sorted(shape.bounds for shape in section_at(model, 17.0))
    assert np.allclose(found, sorted(wanted), atol=1e-4)


def test_a_model_may_be_laid_another_way_each_time(tmp_path):
    """Turning the axis three times comes back to the same sections."""
    mesh = trimesh.creation.box(extents=(10, 20, 30))
    sizes = []
    for number, axis in enumerate("xyzx"):
        model = read_model(saved(tmp_path, mesh, f"{number}.stl"), axis, "mm")
        sizes.append(model.size_mm)
    assert [size[2] for size in sizes] == pytest.approx([10, 20, 30, 10])
    assert sizes[0] == sizes[3]
    assert all(math.prod(size) == pytest.approx(6000) for size in sizes)


@pytest.mark.slow
def test_what_stands_in_a_hole_of_a_model_is_a_model_of_its_own(tmp_path):
    """A pin inside a tube: the tube's bore is an island of rubber, and the pin lies in it."""
    tube = trimesh.creation.annulus(r_min=10, r_max=15, height=30, sections=128)
    pin = trimesh.creation.cylinder(radius=4, height=30, sections=128)
    path = saved(tmp_path, trimesh.util.concatenate([tube, pin]))
    model = read_model(path, "z", "mm")
    shapes = sorted(section_at(model, 15.0), key=lambda shape: shape.area)
    assert [len(shape.interiors) for shape in shapes] == [0, 1]
    assert [shape.area for shape in shapes] == pytest.approx(
        [math.pi * 16, math.pi * (225 - 100)], rel=3e-3
    )
    sliced = slice_models([model], stations=3)
    assert sliced.islands
    assert len(sliced.mold.cavity) == 1


def off_the_sphere(x, y, along):
    return np.hypot(x, y) - np.sqrt(20**2 - (20 - along) ** 2)


def off_the_cone(x, y, along):
    return np.hypot(x, y) - 15 * (1 - along / 50)


def off_the_torus(x, y, along):
    """Return how far places lie off a flat ring; sections run across it, `along` from its edge."""
    return np.hypot(np.hypot(x, along - 38) - 30, y) - 8


SOLIDS = {
    "sphere": (
        lambda: trimesh.creation.icosphere(subdivisions=5, radius=20),
        "z", off_the_sphere, 4 / 3 * math.pi * 20**3,
    ),
    "cone": (
        lambda: trimesh.creation.cone(radius=15, height=50, sections=200),
        "z", off_the_cone, math.pi * 15**2 * 50 / 3,
    ),
    "torus": (
        lambda: trimesh.creation.torus(30, 8, major_sections=256, minor_sections=96),
        "x", off_the_torus, 2 * math.pi**2 * 30 * 8**2,
    ),
}  # fmt: skip


@pytest.fixture(scope="module", params=SOLIDS)
def solid(request, tmp_path_factory):
    make, axis, off, volume = SOLIDS[request.param]
    mesh = make()
    path = saved(tmp_path_factory.mktemp("solid"), mesh, "a.ply")
    return slice_models([read_model(path, axis, "mm")], stations=10), mesh, off, volume


def test_outlines_of_the_mold_keep_to_the_solid_to_a_twentieth(solid):
    """Corners lie on the solid, and chords at most 0.05 mm off; a mesh of its own adds 0.01 mm."""
    sliced, _, off, _ = solid
    looked = 0
    for station in sliced.mold.station:
        for cavity in station.cavity:
            ring = np.array(cavity.points_mm)
            chords = np.linspace(ring, np.roll(ring, -1, axis=0), 9).reshape(-1, 2)
            along = station.at_mm - 12  # of rubber before the model
            assert np.abs(off(*ring.T, along)).max() < 0.02
            assert np.abs(off(*chords.T, along)).max() < 0.06
            looked += 1
    assert looked >= 10


def test_amounts_of_a_sliced_solid_are_those_of_the_mesh(solid):
    sliced, mesh, _, volume = solid
    found = quantities_of(sliced.mold)
    assert mesh.is_watertight
    assert mesh.volume == pytest.approx(volume, rel=5e-3)
    short = 0.05 * mesh.area  # chords lie 0.05 mm inside at most
    assert found.cavities_cm3 * 1000 == pytest.approx(mesh.volume, abs=short)
    outline = math.prod(found.box_mm) / 1000 - found.saved_by_outline_cm3  # its corners are round
    box = 1000 * outline
    assert found.rubber.volume_cm3 * 1000 == pytest.approx(box - mesh.volume, abs=short)
    resin = 1.1 * 1.05  # waste, and the density of most casting resins
    wanted = resin * mesh.volume / 1000
    assert found.resin_mixed.mass_g == pytest.approx(wanted, abs=resin * short / 1000)


@pytest.mark.slow
def test_amounts_of_an_egg_are_those_of_its_mesh(tmp_path):
    """Two half ellipsoids on one circle, one longer than the other."""
    mesh = trimesh.creation.icosphere(subdivisions=4, radius=1)
    x, y, z = np.asarray(mesh.vertices).T
    mesh.vertices = np.column_stack([18 * x, 18 * y, np.where(z > 0, 32, 20) * z])
    volume = 2 / 3 * math.pi * 18**2 * (32 + 20)
    sliced = slice_models([read_model(saved(tmp_path, mesh), "z", "mm")], stations=24)
    found = quantities_of(sliced.mold).cavities_cm3 * 1000
    assert found == pytest.approx(volume, rel=1e-2)
    assert found == pytest.approx(mesh.volume, rel=5e-3)
