"""Triangles of any section are sound: not thin, not turned round, not smaller than any feature.

Where two curves meet at a sharp angle no triangle can be better than that angle; there they are
held to a share of it.
"""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import MultiPoint, Point, Polygon
from shapely.ops import unary_union

from squeeze.mold import BadInput, mold_of, section_of
from squeeze.mold.geometry.curve import Arc
from squeeze.solve.mesh import curved
from squeeze.solve.mesh.parting import parted_mesh
from squeeze.solve.mesh.section_graph import section_graph
from squeeze.solve.mesh.sharp_corners import edges_of, without_short_edges
from squeeze.solve.mesh.size import size_map
from squeeze.solve.mesh.triangulate import triangulate
from tests.solve.conftest import random_tables
from tests.solve.test_rounding import BODIES, RUBBER, typed

LEAST_DEG = 19.0  # away from sharp corners
SHARP_DEG = 32.0
LEAST_SHARE = 0.4  # of the angle of a sharp corner
LEAST_EDGE_MM = 1e-3


def cross(a, b):
    return a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]


def angles_deg(p):
    """Angles of straight triangles (m, 3, 2), shape (m, 3); negative when turned round."""
    found = []
    for k in range(3):
        u, v = p[:, (k + 1) % 3] - p[:, k], p[:, (k + 2) % 3] - p[:, k]
        found.append(np.degrees(np.arctan2(cross(u, v), (u * v).sum(axis=1))))
    return np.stack(found, axis=1)


def jacobians(mesh):
    """Jacobian over 120 places of each curved triangle, over that of its straight corners."""
    t = np.linspace(0, 1, 15)
    r, s = np.array([(r, s) for r in t for s in t if r + s <= 1 + 1e-9]).T
    q = 1 - r - s
    x = mesh.points[mesh.triangles]
    by_r = np.stack([1 - 4 * q, 4 * r - 1, 0 * r, 4 * (q - r), 4 * s, -4 * s])
    by_s = np.stack([1 - 4 * q, 0 * r, 4 * s - 1, -4 * r, 4 * r, 4 * (q - s)])
    u, v = (np.tensordot(x, slope, axes=(1, 0)) for slope in (by_r, by_s))
    straight = cross(x[:, 1] - x[:, 0], x[:, 2] - x[:, 0])
    return (u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]) / straight[:, None]


def sharp_corners(section, fineness):
    """Return the corners of a section's curves below SHARP_DEG: {place: angle}, and their reach.

    The angle is that between the first edges of the curves; the reach is these edges' length.
    """
    size = size_map(section, fineness)
    graph = without_short_edges(section_graph(section, size), size)
    ways = {}
    for a, b in edges_of(graph).tolist():
        ways.setdefault(a, []).append(b)
        ways.setdefault(b, []).append(a)
    found = {}
    for a, ends in ways.items():
        along = graph.nodes[ends] - graph.nodes[a]
        turn = np.sort(np.degrees(np.arctan2(along[:, 1], along[:, 0])))
        least = np.min(np.diff(turn, append=turn[0] + 360))
        if len(ends) > 1 and least < SHARP_DEG:
            found[tuple(graph.nodes[a])] = float(least), float(np.hypot(*along.T).max())
    return found


def check(section, fineness=1.0):
    mesh = parted_mesh(section, triangulate(section, fineness))
    corners = mesh.points[mesh.triangles[:, :3]]
    sharp = sharp_corners(section, fineness)
    least = angles_deg(corners).min(axis=1)
    wanted = np.full(len(corners), LEAST_DEG)
    middle = corners.mean(axis=1)
    for place, (angle, reach) in sharp.items():
        near = np.hypot(*(middle - place).T) < reach
        wanted[near] = np.minimum(wanted[near], LEAST_SHARE * angle)
    bad = least < wanted
    assert not bad.any(), (least[bad], middle[bad])
    assert jacobians(mesh).min() > 0.09
    sides = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2)
    assert sides.min() > LEAST_EDGE_MM
    return mesh


@settings(deadline=None, max_examples=8)
@given(
    st.integers(0, 10**6), st.sampled_from(sorted(BODIES)), st.sampled_from([0.5, 0.7, 1.0, 1.6])
)
def test_triangles_of_any_mold_are_sound(seed, body, fineness):
    tables = typed(random_tables(seed)) | BODIES[body]
    try:
        section = section_of(mold_of(tables))
    except BadInput:
        return
    check(section, fineness)


def mold(block, cut=(), cavity=(), **more):
    cuts = [{"path_mm": path} for path in cut]
    return {
        "length_mm": 100,
        "rubber": RUBBER,
        "block": block,
        "cut": cuts,
        "cavity": cavity,
        **more,
    }


def hole(diameter, *centre):
    return {"shape": "round", "diameter_mm": diameter, "centre_mm": centre}


FOUND = {
    "legs that meet at 12.7 degrees": mold(
        {"shape": "square", "width_mm": 60, "bevel_mm": 8},
        [[[35, 5], [-16, -17], [6, -1], [9, -5.8]]],
        [hole(14, 4, 0)],
    ),
    "an oval filler that leaves the block at 12 degrees": mold(
        {"shape": "oval", "width_mm": 135.3, "height_mm": 80.7},
        [[[-39.0, -196.2], [-2.7, -13.4], [11.2, -16.1]], [[-43.1, 4.0], [154.6, -26.1]]],
        [hole(10.9, -43.1, 4.0)],
        filler=[{"shape": "oval", "width_mm": 300, "height_mm": 24, "centre_mm": [0, -26],
                 "shore_a": 30}],
    ),
    "a side that is nearly straight": mold(
        {"points_mm": [[-131.75, -131.75], [0, -132.25], [131.75, -131.75], [131.75, 131.75],
                       [-0.5, 131.75], [-131.75, 131.75]]},
        [[[2.635, 211.6], [-63.24, -23.8]]],
        [hole(12, -63.24, -23.8), hole(30, 63.24, -23.8)],
        filler=[{"shape": "round", "diameter_mm": 67.1, "centre_mm": [-10.5, -76.7],
                 "shore_a": 26}],
    ),
    "a quarter of a circle that ends 7 micrometres from where it meets another": mold(
        {"shape": "round", "diameter_mm": 73.3},
        [[[-51.3, -0.7], [51.3, -0.7]]],
        [hole(7.35, -9.77, -0.7)],
        filler=[{"shape": "round", "diameter_mm": 14, "centre_mm": [-13.2, -6.4],
                 "shore_a": 30}],
    ),
    "a quarter of a circle that ends 25 micrometres from a cut": mold(
        {"shape": "round", "diameter_mm": 230.1},
        [[[59.57163787202773, -98.42622852290943], [-13.319495052664742, -37.50873850386546]]],
        filler=[{"shape": "round", "diameter_mm": 25.3, "centre_mm": [50.8, -80.5],
                 "shore_a": 30}],
    ),
}  # fmt: skip


@pytest.mark.parametrize("fineness", [0.7, 1.0])
@pytest.mark.parametrize("name", FOUND)
def test_triangles_are_sound_where_they_were_not(name, fineness):
    check(section_of(mold_of(FOUND[name])), fineness)


def test_a_sharp_corner_takes_few_triangles():
    mesh = check(section_of(mold_of(FOUND["legs that meet at 12.7 degrees"])), 0.7)
    near = Point(-16, -17).buffer(1.0)
    assert sum(MultiPoint(p).intersects(near) for p in mesh.points[mesh.triangles[:, :3]]) < 20


def test_bodies_share_the_rubber_without_gaps_or_overlaps():
    tables = FOUND["an oval filler that leaves the block at 12 degrees"]
    section = section_of(mold_of(tables))
    mesh = check(section)
    x = mesh.points[mesh.triangles[:, :3]]
    area = 0.5 * cross(x[:, 1] - x[:, 0], x[:, 2] - x[:, 0])
    rubber = Polygon(section.outline.points(0.001), [section.cavities[0].loop.points(0.001)])
    filler = rubber.intersection(Polygon(section.fillers[0].loop.points(0.001)))
    assert area[mesh.body == 1].sum() == pytest.approx(filler.area, rel=2e-3)
    assert area.sum() == pytest.approx(rubber.area, rel=2e-3)
    parts = [Polygon(p) for p in x[mesh.body == 1]]
    assert unary_union(parts).area == pytest.approx(area[mesh.body == 1].sum(), rel=1e-9)


def one_triangle(sagitta):
    """Corners, then mid-sides; the first side is bent into the triangle by its sagitta."""
    p = np.array([[0, 0], [2, 0], [1, 1], [1, 0], [1.5, 0.5], [0.5, 0.5]], float)
    p[3, 1] += sagitta
    return p


@pytest.mark.parametrize("sagitta", [0.1, 0.4, 0.48, 0.6, 1.2])
def test_the_guard_bounds_the_jacobian_from_below(sagitta):
    class Mesh:
        points = one_triangle(sagitta)
        triangles = np.arange(6)[None]

    bound = curved.least_jacobian(Mesh.points[Mesh.triangles])
    assert bound[0] <= jacobians(Mesh).min() + 1e-12
    assert (bound[0] > 0) == (sagitta < 0.5)  # the sides at corner 0 then run together


@pytest.mark.parametrize("sagitta", [0.1, 0.4, 0.48, 1.2])
def test_an_edge_that_turns_its_triangle_round_is_made_straighter(sagitta):
    points, triangles = one_triangle(sagitta), np.arange(6)[None]
    curved.unfold(points, triangles, [])
    assert curved.least_jacobian(points[triangles])[0] >= curved.LEAST_JACOBIAN
    if sagitta < 0.45:
        assert points == pytest.approx(one_triangle(sagitta))
    else:
        assert 0 <= points[3, 1] < 0.45


def test_a_triangle_that_is_turned_round_is_refused():
    points = one_triangle(0.0)
    points[2, 1] = -1.0
    with pytest.raises(BadInput, match="too sharply to mesh"):
        curved.unfold(points, np.arange(6)[None], [])


def test_the_middle_of_an_elliptic_edge_is_equally_far_from_its_ends():
    arc = Arc((1.0, -2.0), (60.0, 4.0), 0.2, 2.6)
    a, b = np.linspace(0, 0.9, 7), np.linspace(0.02, 1.0, 7)
    middle = arc.halfway(a, b)
    away = [np.hypot(*(arc.at(middle) - arc.at(end)).T) for end in (a, b)]
    assert away[0] == pytest.approx(away[1], abs=1e-9)
    assert np.all((middle > a) & (middle < b))
