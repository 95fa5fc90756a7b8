"""Recompute the reference of test_friction_plate.py, by hand.

    python tests/published/recompute_friction_plate.py

A method of its own: bilinear squares on half of the plate, condensed to the nodes of the base,
whose states (open, slips, sticks) are changed until each suits its force. The plane is rigid.
"""

from __future__ import annotations

import numpy as np
from scipy.sparse.linalg import splu
from skfem import (
    Basis,
    BilinearForm,
    ElementQuad1,
    ElementVector,
    FacetBasis,
    LinearForm,
    MeshQuad,
    asm,
)
from skfem.helpers import ddot, sym_grad, trace

E, NU, SIDE, FRICTION, TOP, SIDES = 1.3e5, 0.2, 40.0, 1.0, 50.0, 150.0
LAM, MU = E * NU / ((1 + NU) * (1 - 2 * NU)), E / (2 * (1 + NU))


@BilinearForm
def stiffness(u, v, w):
    return LAM * trace(sym_grad(u)) * trace(sym_grad(v)) + 2 * MU * ddot(sym_grad(u), sym_grad(v))


@LinearForm
def from_the_left(v, w):
    return SIDES * v[0]


@LinearForm
def from_above(v, w):
    return -TOP * v[1]


def base_of(count: int) -> tuple[np.ndarray, np.ndarray]:
    """Places of the base and their displacement along it [mm], `count` squares along a side."""
    steps = np.linspace(0, SIDE, count + 1)
    mesh = MeshQuad.init_tensor(steps, steps)
    basis = Basis(mesh, ElementVector(ElementQuad1()))
    edges = {
        name: FacetBasis(mesh, basis.elem, facets=mesh.facets_satisfying(where))
        for name, where in (
            ("left", lambda x: x[0] < 1e-9),
            ("top", lambda x: x[1] > SIDE - 1e-9),
        )
    }
    K = asm(stiffness, basis).tocsc()
    f = asm(from_the_left, edges["left"]) + asm(from_above, edges["top"])
    x, y = mesh.p
    below = np.flatnonzero(y < 1e-9)
    below = below[np.argsort(x[below])][:-1]  # the last one lies on the line of symmetry
    along, up = basis.nodal_dofs
    fixed = along[np.flatnonzero(x > SIDE - 1e-9)]
    corner = up[np.flatnonzero((y < 1e-9) & (x > SIDE - 1e-9))]
    base = np.concatenate([along[below], up[below]])
    inner = np.setdiff1d(np.arange(K.shape[0]), np.concatenate([base, fixed, corner]))
    factor = splu(K[inner][:, inner])
    couple = K[inner][:, base].toarray()
    S = K[base][:, base].toarray() - couple.T @ factor.solve(couple)
    g = f[base] - couple.T @ factor.solve(f[inner])
    return x[below], _settled(S, g, len(below))


def _settled(S: np.ndarray, g: np.ndarray, n: int) -> np.ndarray:
    """Displacement along the base when every node's state suits its force."""
    state = np.full(n, 2)  # 0 open, 1 slips, 2 sticks
    for _ in range(200):
        A, right = S.copy(), g.copy()
        # unknown: displacement; rows of force where it is free, of place where it is held
        for i in range(n):
            if state[i] == 2:
                A[i], right[i] = np.eye(2 * n)[i], 0.0
            if state[i] > 0:
                A[n + i], right[n + i] = np.eye(2 * n)[n + i], 0.0
            if state[i] == 1:  # S_t u - g_t = -mu (S_n u - g_n): dragged back as it slides right
                A[i], right[i] = S[i] + FRICTION * S[n + i], g[i] + FRICTION * g[n + i]
        u = np.linalg.solve(A, right)
        force = S @ u - g
        pull, press = force[:n], force[n:]
        after = state.copy()
        after[(state > 0) & (press < 0)] = 0
        after[(state == 0) & (u[n:] < 0)] = 1
        after[(state == 2) & (press >= 0) & (np.abs(pull) > FRICTION * press)] = 1
        after[(state == 1) & (press >= 0) & (u[:n] < 0)] = 2
        if (after == state).all():
            return u[:n]
        state = after
    raise RuntimeError("the states do not settle")


if __name__ == "__main__":
    for count in (64, 128):
        place, moved = base_of(count)
        at = np.interp([0.0, 1.25, 5.0, 7.5, 11.25], place, moved)
        print(count, "squares:", *(f"{1e2 * value:.3f}" for value in at), "1e-2 mm")
