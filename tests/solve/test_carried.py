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

    found = carried(field(coarse), coarse.points, coarse.triangles, fine.points, fine.triangles)
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
    found = carried(none, mesh.points, mesh.triangles, other.points, other.triangles)
    assert found.u.shape == (other.points.size,)
    assert found.u == pytest.approx(0.0)
    assert found.s == pytest.approx(0.0)
