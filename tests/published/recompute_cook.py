"""Recompute the reference of test_cook.py, by hand.

    python tests/published/recompute_cook.py

A method of its own: quartic triangles, without a pressure of their own, refined towards the clamp's
upper end and the upper corner of the loaded edge, where the stress has no limit.
"""

from __future__ import annotations

import numpy as np
from skfem import (
    Basis,
    BilinearForm,
    ElementTriP4,
    ElementVector,
    FacetBasis,
    LinearForm,
    MeshTri,
    asm,
    condense,
    solve,
)
from skfem.helpers import ddot, sym_grad, trace

CASES = (
    ("E 250, nu 0.4999, F 100", 250.0, 0.4999, 100.0),
    ("E 240.565, nu 0.4999, F 100", 240.565, 0.4999, 100.0),
    ("plane stress, E 1, nu 1/3, F 1", 15 / 16, 0.25, 1.0),
)


def mesh_of(times: int, nearer: int) -> MeshTri:
    """Return the membrane, refined evenly and then towards the two corners."""
    mesh = MeshTri(
        np.array([[0.0, 48.0, 48.0, 48.0, 0.0], [0.0, 44.0, 52.0, 60.0, 44.0]]),
        np.array([[0, 0, 2], [1, 2, 3], [2, 4, 4]]),
    ).refined(times)
    for _ in range(nearer):
        middle = mesh.p[:, mesh.t].mean(axis=1)
        size = np.ptp(mesh.p[0, mesh.t], axis=0)
        near = np.zeros(mesh.t.shape[1], bool)
        for corner in ((0.0, 44.0), (48.0, 60.0)):
            away = np.hypot(middle[0] - corner[0], middle[1] - corner[1])
            near |= away < 1.5 * size
        mesh = mesh.refined(np.flatnonzero(near))
    return mesh


def lift(mesh: MeshTri, E: float, nu: float, F: float) -> tuple[float, float]:
    """Upward displacement at (48, 52) and (48, 60); plane strain."""
    lam, mu = E * nu / ((1 + nu) * (1 - 2 * nu)), E / (2 * (1 + nu))
    basis = Basis(mesh, ElementVector(ElementTriP4()), intorder=8)

    @BilinearForm
    def stiffness(u, v, w):
        e, d = sym_grad(u), sym_grad(v)
        return lam * trace(e) * trace(d) + 2 * mu * ddot(e, d)

    @LinearForm
    def load(v, w):
        return F / 16 * v[1]

    right = FacetBasis(mesh, basis.elem, facets=mesh.facets_satisfying(lambda x: x[0] > 48 - 1e-9))
    clamped = basis.get_dofs(lambda x: x[0] < 1e-9).all()
    u = solve(*condense(asm(stiffness, basis), asm(load, right), D=clamped))
    up = basis.nodal_dofs[1]

    def at(y):
        node = np.argmin(np.hypot(mesh.p[0] - 48.0, mesh.p[1] - y))
        return float(u[up[node]])

    return at(52.0), at(60.0)


if __name__ == "__main__":
    for name, E, nu, F in CASES:
        for nearer in (6, 12):
            print(
                f"{name}, {nearer} times nearer:", *np.round(lift(mesh_of(3, nearer), E, nu, F), 4)
            )
