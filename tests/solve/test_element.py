"""A strain that is linear comes out exactly, at each corner of straight triangles."""

from __future__ import annotations

import numpy as np
import pytest

import squeeze
from squeeze.mold.section.records import Material
from squeeze.solve.elastic.element import elastic


@pytest.fixture(scope="module")
def mesh():
    """Mesh a block whose corners are a little rounded, as they are unless it says otherwise."""
    points = [[-20, -15], [25, -15], [20, 15], [-20, 10]]
    mold = {"length_mm": 100, "rubber": {"shore_a": 20}, "block": {"points_mm": points}}
    return squeeze.Block(squeeze.mold_of(mold), 0.5).mesh


@pytest.mark.parametrize(
    ("move", "strain"),
    [
        (lambda x, y: (x, 0 * y), lambda x, y: (1, 0, 0)),
        (lambda x, y: (y, x), lambda x, y: (0, 0, 1)),
        (lambda x, y: (x * x, 0 * y), lambda x, y: (2 * x, 0, 0)),
        (lambda x, y: (0 * x, y * y), lambda x, y: (0, 2 * y, 0)),
        (lambda x, y: (x * y, 0 * y), lambda x, y: (y, 0, x / 2)),
        (lambda x, y: (y * y, x * y), lambda x, y: (0, x, 1.5 * y)),
    ],
)
def test_strain_of_a_quadratic_motion_at_the_corners_of_each_triangle(mesh, move, strain):
    made = elastic(mesh, (Material(0.6, 0.499),))
    u = np.stack(move(*mesh.points.T), axis=1)[mesh.triangles].reshape(len(mesh.triangles), 12)
    found = np.einsum("mij,mj->mi", made.strain, u).reshape(-1, 3, 3)
    at = mesh.points[mesh.triangles]
    halfway = (at[:, :3] + at[:, [1, 2, 0]]) / 2
    straight = np.abs(at[:, 3:] - halfway).max(axis=(1, 2)) < 1e-9
    assert straight.mean() > 0.5
    x, y = at[:, :3].transpose(2, 0, 1)
    wanted = np.stack([np.broadcast_to(e, x.shape) for e in strain(x, y)], axis=-1)
    assert found[straight] == pytest.approx(wanted[straight], abs=1e-9)
