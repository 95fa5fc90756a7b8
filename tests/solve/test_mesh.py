"""The mesh follows the section, covers it once, and is the same every time."""

import hashlib
import multiprocessing
from dataclasses import replace

import numpy as np
import pytest

import squeeze
from squeeze.mold import section_of
from squeeze.solve.mesh.parting import parted_mesh
from squeeze.solve.mesh.section_graph import section_graph
from squeeze.solve.mesh.size import EDGES_PER_BLOCK, across, size_map
from squeeze.solve.mesh.triangulate import LEAST_ANGLE_DEG, _region, triangulate

MOLDS = {
    "square, round cavities": {
        "block": {"shape": "square", "width_mm": 120, "bevel_mm": 15},
        "cavity": [{"shape": "round", "diameter_mm": 10, "centre_mm": [x, 40]} for x in (-24, 8)],
        "cut": [{"path_mm": [[-60, 40], [60, 40]]}],
    },
    "oval, oval cavity": {
        "block": {"shape": "oval", "width_mm": 140, "height_mm": 90},
        "cavity": [{"shape": "oval", "width_mm": 60, "height_mm": 25, "centre_mm": [3, -4]}],
        "cut": [{"path_mm": [[-80, -10], [80, 14]]}, {"path_mm": [[3, 0], [20, 60]]}],
    },
    "drawn, hollow": {
        "block": {"points_mm": [[-50, -40], [60, -35], [45, 40], [0, 15], [-40, 50]]},
        "cavity": [],
        "cut": [{"path_mm": [[-70, 0], [10, -8]]}],
    },
}


def section(name):
    base = {"length_mm": 100, "rubber": {"shore_a": 20}}
    return section_of(squeeze.mold_of(base | MOLDS[name]))


def meshed(name, fineness=1.0):
    return parted_mesh(section(name), triangulate(section(name), fineness))


def fingerprint(name):
    mesh = meshed(name)
    parts = (mesh.points, mesh.triangles, *(land.left for land in mesh.lands))
    return hashlib.sha256(b"".join(np.ascontiguousarray(p).tobytes() for p in parts)).hexdigest()


@pytest.mark.parametrize("name", MOLDS)
def test_same_mesh_every_time(name):
    assert fingerprint(name) == fingerprint(name)


@pytest.mark.slow
def test_same_mesh_in_another_process():
    name = "oval, oval cavity"
    with multiprocessing.get_context("spawn").Pool(1) as pool:
        assert pool.apply(fingerprint, (name,)) == fingerprint(name)


@pytest.mark.parametrize("fineness", [0.5, 1.0, 2.5])
@pytest.mark.parametrize("name", MOLDS)
def test_triangles_cover_the_rubber_once(name, fineness):
    mesh, given = meshed(name, fineness), section(name)
    rubber = given.outline.area - sum(c.loop.area for c in given.cavities)
    assert areas(mesh).min() > 0
    assert areas(mesh).sum() == pytest.approx(rubber, rel=2e-4 / fineness**2)


def areas(mesh):
    """Areas of the curved triangles, exact for quadratic edges."""
    x = mesh.points[mesh.triangles]
    a, b, c = x[:, 0], x[:, 1], x[:, 2]
    area = cross(b - a, c - a) / 2
    for p, q, m in ((0, 1, 3), (1, 2, 4), (2, 0, 5)):
        area += 2 / 3 * cross(x[:, m] - x[:, p], x[:, q] - x[:, p])
    return area


def cross(a, b):
    return a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]


@pytest.mark.parametrize("name", MOLDS)
def test_no_triangle_is_thin(name):
    mesh = meshed(name)
    x = mesh.points[mesh.triangles[:, :3]]
    d = [x[:, (k + 1) % 3] - x[:, k] for k in range(3)]
    angle = [
        np.degrees(np.arctan2(cross(d[k], -d[k - 1]), -np.sum(d[k] * d[k - 1], axis=1)))
        for k in range(3)
    ]
    assert np.min(angle) > LEAST_ANGLE_DEG - 5
    assert np.sum(angle, axis=0) == pytest.approx(180)


@pytest.mark.parametrize("name", MOLDS)
def test_edges_lie_on_the_curves(name):
    mesh, given = meshed(name), section(name)
    loops = [given.outline, *(c.loop for c in given.cavities)]
    for loop, edges in zip(loops, mesh.edges, strict=True):
        away = [loop.nearest(p)[2] for p in mesh.points[np.unique(edges)]]
        assert max(away) < 1e-6


@pytest.mark.parametrize("name", MOLDS)
def test_lands_run_along_their_cuts(name):
    mesh, given = meshed(name), section(name)
    assert len(mesh.lands) >= sum(len(cut.stretches) for cut in given.cuts)
    for land in mesh.lands:
        x = mesh.points[land.left]
        s = land.start_mm + np.concatenate([[0], np.cumsum(np.hypot(*np.diff(x, axis=0).T))])
        a, b = (np.array(p, float) for p in MOLDS[name]["cut"][land.cut]["path_mm"])
        along = (b - a) / np.hypot(*(b - a))
        assert x == pytest.approx(a + s[:, None] * along, abs=1e-6)


def test_twice_as_fine_about_halves_the_edges_on_lands():
    """Those next to an outlet aslant are quartered."""
    once, twice = (meshed("oval, oval cavity", f) for f in (1, 2))
    assert len(twice.triangles) > 1.5 * len(once.triangles)
    for a, b in zip(once.lands, twice.lands, strict=True):
        assert 1.5 < (len(b.left) - 1) / (len(a.left) - 1) < 2.5


@pytest.mark.parametrize(
    "block",
    [
        {"shape": "oval", "width_mm": 140, "height_mm": 100},
        {"shape": "round", "diameter_mm": 110},
    ],
)
def test_faces_of_a_curved_seat_coincide(block):
    board = {"covers": "top", "thickness_mm": 20, "material": "plywood"}
    mold = squeeze.mold_of(
        {"length_mm": 100, "rubber": {"shore_a": 20}, "block": block, "cradle": [board]}
    )
    mesh = squeeze.Block(mold).mesh
    assert mesh.seats
    for face in mesh.faces:
        np.testing.assert_array_equal(mesh.points[face.left], mesh.points[face.right])
    np.testing.assert_array_equal(mesh.tri.doflocs.T, mesh.points)


@pytest.mark.parametrize("fineness", [0.5, 1.0, 2.0])
def test_a_thick_board_is_coarse_and_the_rubber_beside_it_is_not(fineness):
    mold = {
        "length_mm": 100,
        "rubber": {"shore_a": 20},
        "block": {"shape": "square", "width_mm": 60},
        "cradle": [{"covers": "top", "thickness_mm": 200, "material": "plywood"}],
    }
    made = section_of(squeeze.mold_of(mold))
    size, most = size_map(made, fineness), across(made) / EDGES_PER_BLOCK / fineness
    inside, in_board = np.array([[0.0, 0.0], [15.0, -20.0]]), np.array([[0.0, 130.0]])
    assert (size(inside) <= most).all()
    assert size(in_board)[0] > 2 * most


@pytest.mark.parametrize("fineness", [0.4, 0.5])
def test_no_corner_is_left_where_there_is_no_rubber(fineness):
    """Refining put corners in the mouth that a cut opens in a cavity, each a piece of its own."""
    mold = {
        "length_mm": 100,
        "rubber": {"shore_a": 20},
        "block": {"shape": "round", "diameter_mm": 70},
        "cavity": [{"shape": "round", "diameter_mm": 14}],
        "cut": [{"path_mm": [[-70, 0.21], [70, -0.21]]}],
    }
    made = section_of(squeeze.mold_of(mold))
    mesh = parted_mesh(made, triangulate(made, fineness))
    assert np.unique(mesh.triangles).tolist() == list(range(len(mesh.points)))
    assert mesh.piece.max() == 1


def test_a_cavity_too_small_for_a_mesh_is_named():
    mold = {
        "length_mm": 100,
        "rubber": {"shore_a": 20},
        "block": {"shape": "square", "width_mm": 15.55, "round_mm": 0.01},
        "cavity": [
            {
                "shape": "oval",
                "width_mm": 0.62,
                "height_mm": 1.81,
                "centre_mm": [5.909, 5.738381509561645],
                "name": "barrel",
            }
        ],
    }
    section = section_of(squeeze.mold_of(mold))
    triangulate(section, 1.0)
    with pytest.raises(squeeze.BadInput, match="'barrel' has edges too short"):
        triangulate(section, 3.0)


def test_a_size_is_the_least_that_any_source_asks_for():
    made = section("square, round cavities")
    size = size_map(made, 1.0, ((10.0, 20.0, 0.5), (11.0, 20.0, 0.5), (-30.0, -30.0, 0.2)))
    points = np.random.default_rng(5).uniform(-60, 60, (300, 2))
    wanted = np.full(len(points), size.largest_mm)
    for h, tree in size.sources:
        away = np.hypot(*(points[:, None] - tree.data[None]).transpose(2, 0, 1)).min(axis=1)
        wanted = np.minimum(wanted, h + size.growth * away)
    assert size(points) == pytest.approx(wanted, rel=1e-12)
    assert wanted.min() < 2.0 < wanted.max()
    assert size(np.zeros((0, 2))).shape == (0,)


def test_mid_sides_are_numbered_as_scikit_fem_numbers_them():
    mesh = squeeze.Block(squeeze.load("studies/barrels/barrels-round.toml"), 0.5).mesh
    np.testing.assert_array_equal(mesh.tri.dofs.element_dofs.T, mesh.triangles)
    np.testing.assert_array_equal(mesh.tri.doflocs.T, mesh.points)


def test_straight_edges_that_cross_are_refused_in_words():
    """Two corners of a board that change places make its outline cross itself."""
    section = section_of(squeeze.load("studies/cradles/boards.toml"))
    graph = section_graph(section, size_map(section, 1.0, ()))
    ring = [node for side in graph.sides if side.loop == 8 for node in side.nodes[:-1]]
    crossed = graph.nodes.copy()
    pair = [ring[1], ring[1 + len(ring) // 2]]
    crossed[pair] = crossed[pair[::-1]]
    with pytest.raises(squeeze.BadInput, match=r"cradle: .*cross"):
        _region(replace(graph, nodes=crossed), section)
