"""A deformed body carried over to another mesh."""

from __future__ import annotations

import numpy as np
import pytest

import squeeze
from squeeze import Block
from squeeze.solve.large.carried import carried
from squeeze.solve.large.rubber.body import State

CUT_ACROSS = {
    "length_mm": 100,
    "block": {"shape": "square", "width_mm": 60},
    "rubber": {"shore_a": 20},
    "cavity": [{"shape": "round", "diameter_mm": 12}],
    "cut": [{"name": "across", "path_mm": [[-30, 0], [30, 0]]}],
}


def test_a_quadratic_field_is_carried_exactly_and_each_side_of_a_cut_keeps_its_own():
    coarse, fine = (Block(squeeze.mold_of(CUT_ACROSS), fineness).mesh for fineness in (0.5, 1.3))

    def field(mesh):
        """Bend, and lift what lies above the cut by 1 mm."""
        x, y = mesh.points.T
        above = np.zeros(len(x))
        middle = mesh.points[mesh.triangles[:, :3]].mean(axis=1)
        above[mesh.triangles[middle[:, 1] > 0].ravel()] = 1.0
        u = np.column_stack([0.01 * x**2 - 0.02 * x * y, above + 0.03 * y**2])
        s = 0.1 + 0.02 * mesh.points[mesh.triangles[:, :3]].sum(axis=2)
        return State(u.ravel(), np.zeros((len(middle), 2)), s)

    found = carried(
        field(coarse), coarse.points, coarse.triangles, coarse.body,
        fine.points, fine.triangles, fine.body,
    )  # fmt: skip
    wanted = field(fine)
    # away from the bore and the corners, whose edges are curved
    straight = (np.hypot(*fine.points.T) > 20) & (np.abs(fine.points).min(axis=1) < 26)
    apart = np.abs(found.u - wanted.u).reshape(-1, 2)
    assert apart[straight].max() < 1e-9
    assert apart.max() < 0.5
    assert np.abs(found.s - wanted.s).max() < 0.1


def test_a_body_that_did_not_move_stays_where_it_is():
    mesh, other = (Block(squeeze.mold_of(CUT_ACROSS), fineness).mesh for fineness in (1.0, 0.7))
    none = State(
        np.zeros(mesh.points.size),
        np.zeros((len(mesh.triangles), 2)),
        np.zeros((len(mesh.triangles), 3)),
    )
    found = carried(
        none, mesh.points, mesh.triangles, mesh.body, other.points, other.triangles, other.body
    )
    assert found.u.shape == (other.points.size,)
    assert found.u == pytest.approx(0.0)
    assert found.s == pytest.approx(0.0)


def test_each_body_keeps_its_own_motion_along_a_curved_seam():
    """A node of a cradle lies in a triangle of the block where the coarser mesh cuts the arc."""
    cradle = {
        "covers": "all",
        "pieces": 2,
        "thickness_mm": 12,
        "back": "round",
        "material": "plywood",
    }
    round_ = CUT_ACROSS | {"block": {"shape": "round", "diameter_mm": 60}, "cradle": [cradle]}
    coarse, fine = (Block(squeeze.mold_of(round_), fineness).mesh for fineness in (0.5, 1.0))

    def field(mesh):
        """Lift each body by a length of its own."""
        lift = np.zeros(len(mesh.points))
        lift[mesh.triangles.ravel()] = np.repeat(1.0 * mesh.body, 6)
        u = np.column_stack([np.zeros(len(lift)), lift])
        none = np.zeros((len(mesh.triangles), 3))
        return State(u.ravel(), none[:, :2], none)

    found = carried(
        field(coarse), coarse.points, coarse.triangles, coarse.body,
        fine.points, fine.triangles, fine.body,
    )  # fmt: skip
    assert np.abs(found.u - field(fine).u).max() < 1e-9


def test_a_finer_mesh_of_a_block_in_a_cradle_begins_where_the_coarse_one_ended():
    """Begun from there it takes fewer tangents than from the unloaded block."""
    cradle = {
        "covers": "all",
        "pieces": 2,
        "thickness_mm": 12,
        "back": "round",
        "material": "plywood",
    }
    band = {"tension_n_per_mm": 1.0}
    block = {"shape": "round", "diameter_mm": 60}
    mold = squeeze.mold_of(CUT_ACROSS | {"block": block, "cradle": [cradle], "band": [band]})
    coarse = Block(mold, 0.5).close(deformation="large")
    fine = Block(mold, 0.8)
    begun, alone = (fine.close(deformation="large", start=each) for each in (coarse, None))
    assert begun.deformation.tangents < alone.deformation.tangents
    gaps = [each.seats[0].gap_mm for each in (begun, alone)]
    assert gaps[0] == pytest.approx(gaps[1], abs=1e-5)
