"""Bands round a short ring against a solid finite-element model of it.

The model is built here from scikit-fem's parts alone: quadratic bricks on a quarter of the ring,
symmetry on x = 0 and at both ends, and on y = 0 a rigid plane that presses and does not pull.
nu = 0.45, so that plain displacements do not lock. Nothing in it comes from squeeze.
"""

from dataclasses import dataclass

import numpy as np
import pytest
from scipy.sparse.linalg import splu
from skfem import (
    Basis,
    BilinearForm,
    ElementHex2,
    ElementVector,
    FacetBasis,
    LinearForm,
    MeshHex,
    MeshHex2,
)
from skfem.helpers import ddot, sym_grad, trace

import squeeze
from squeeze.solve.along.loads import BandAt
from squeeze.solve.along.long_block import LongBlock

BORE_MM, OUTSIDE_MM, LENGTH_MM, WIDTH_MM, E, NU, T = 10.0, 30.0, 25.0, 6.0, 1.0, 0.45, 1.0

pytestmark = pytest.mark.slow


@BilinearForm
def stiffness(u, v, _):
    lam, mu = E * NU / ((1 + NU) * (1 - 2 * NU)), E / (2 * (1 + NU))
    return lam * trace(sym_grad(u)) * trace(sym_grad(v)) + 2 * mu * ddot(sym_grad(u), sym_grad(v))


@LinearForm
def band(v, w):
    """Pressure T / (R width); half of the band's width lies on this side of the mirror z = 0."""
    return -T / (OUTSIDE_MM * WIDTH_MM) * (v[0] * w.n[0] + v[1] * w.n[1])


def quarter():
    half = WIDTH_MM / 2
    z = np.r_[np.linspace(0, half, 3), np.linspace(half, LENGTH_MM, 9)[1:]]
    flat = MeshHex2.from_mesh(
        MeshHex.init_tensor(np.linspace(BORE_MM, OUTSIDE_MM, 7), np.linspace(0, np.pi / 2, 8), z)
    )
    r, t, z = flat.doflocs
    return MeshHex2(np.array([r * np.cos(t), r * np.sin(t), z]), flat.t)


@dataclass
class Solid:
    """Pressure [MPa] and half gap [mm] on the plane y = 0, at nodes r x z."""

    r: np.ndarray
    z: np.ndarray
    pressure: np.ndarray
    half_gap: np.ndarray
    weight: np.ndarray


@pytest.fixture(scope="module")
def solid():
    mesh = quarter()
    basis = Basis(mesh, ElementVector(ElementHex2()), intorder=4)
    K = stiffness.assemble(basis).tocsc()
    under = mesh.facets_satisfying(
        lambda x: (np.hypot(x[0], x[1]) > 0.95 * OUTSIDE_MM) & (x[2] < WIDTH_MM / 2), True
    )
    f = band.assemble(FacetBasis(mesh, ElementVector(ElementHex2()), facets=under, intorder=6))
    on = {
        "x": basis.get_dofs(lambda x: np.abs(x[0]) < 1e-9).all(["u^1"]),
        "y": basis.get_dofs(lambda x: np.abs(x[1]) < 1e-9).all(["u^2"]),
        "start": basis.get_dofs(lambda x: np.abs(x[2]) < 1e-9).all(["u^3"]),
        "end": basis.get_dofs(lambda x: np.abs(x[2] - LENGTH_MM) < 1e-9).all(["u^3"]),
    }
    faces = on["y"]
    free = np.setdiff1d(np.arange(basis.N), np.concatenate([*on.values()]))
    lu = splu(K[free][:, free], permc_spec="MMD_AT_PLUS_A", options={"SymmetricMode": True})
    border = K[free][:, faces].toarray()
    S = K[faces][:, faces].toarray() - border.T @ lu.solve(border)
    push = border.T @ lu.solve(f[free]) - f[faces]
    return on_grid(basis.doflocs[0, faces], basis.doflocs[2, faces], *one_sided(S, push))


def one_sided(S, push):
    """Reaction and opening of each node: both >= 0, one of them 0."""
    stands_open, w = np.zeros(len(push), bool), np.zeros(len(push))
    for _ in range(40):
        w = np.zeros(len(push))
        some = np.ix_(stands_open, stands_open)
        w[stands_open] = np.linalg.solve(S[some], -push[stands_open])
        reaction = push + S @ w
        wrong = np.where(stands_open, w < 0, reaction < -1e-12 * np.abs(reaction).max())
        if not wrong.any():
            return np.where(stands_open, 0.0, reaction), w
        stands_open = stands_open ^ wrong
    raise AssertionError("the active set of the solid model does not settle")


def on_grid(r, z, reaction, w):
    rows, weight_r = simpson(r)
    columns, weight_z = simpson(z)
    i, j = np.searchsorted(rows, r - 1e-6), np.searchsorted(columns, z - 1e-6)
    weight = np.outer(weight_r, weight_z)
    force, gap = np.zeros_like(weight), np.zeros_like(weight)
    force[i, j], gap[i, j] = reaction, w
    return Solid(rows, columns, force / weight, gap, weight)


def simpson(places):
    """Nodes of quadratic elements in order, and how much of the length hangs on each."""
    nodes = np.unique(np.round(places, 8))
    step = np.diff(nodes[::2])
    weight = np.zeros(len(nodes))
    weight[:-1:2] += step / 6
    weight[2::2] += step / 6
    weight[1::2] = 4 * step / 6
    return nodes, weight


@pytest.fixture(scope="module")
def land():
    """Return the right-hand land; half of a band's pull counts, for it lies on the mirror."""
    mold = squeeze.mold_of(
        {
            "length_mm": LENGTH_MM,
            "rubber": {"youngs_modulus_mpa": E, "poisson": NU},
            "block": {"shape": "round", "diameter_mm": 2 * OUTSIDE_MM},
            "cavity": [{"shape": "round", "diameter_mm": 2 * BORE_MM}],
            "cut": [{"path_mm": [[-OUTSIDE_MM, 0], [OUTSIDE_MM, 0]]}],
        }
    )
    closing = LongBlock(mold, 32, 2).close([BandAt(0.0, T / 2, WIDTH_MM)])
    return next(land for land in closing.lands if land.x_mm.min() > 0)


def test_solid_carries_the_pull(solid):
    assert (solid.pressure * solid.weight).sum() == pytest.approx(T / 2, rel=1e-9)


@pytest.mark.parametrize(
    ("r", "z"),
    [(1, 1), (1, 19), (5, 1), (5, 9), (7, 1), (7, 9)],
    ids=[
        "cavity under the band",
        "cavity midway",
        "wall under the band",
        "wall between",
        "outer wall under the band",
        "outer wall between",
    ],
)
def test_pressure(solid, land, r, z):
    """Mid-side nodes of the solid model, where its pressure is good to 0.1 %."""
    along_r = [np.interp(solid.r[r], land.x_mm, column) for column in land.pressure_kpa.T]
    found = np.interp(solid.z[z], land.z_mm, along_r) / 1000
    assert found == pytest.approx(solid.pressure[r, z], rel=0.02, abs=0.004 * solid.pressure.max())


def test_gap_midway_at_the_lip(solid, land):
    """Two faces move apart where one moves away from the plane."""
    assert land.gap_mm[-1, -1] == pytest.approx(2 * solid.half_gap[-1, -1], rel=0.02)


def test_open_share(solid, land):
    share = solid.weight[solid.half_gap > 0].sum() / solid.weight.sum()
    assert share > 0.05
    assert 1 - land.closed_share == pytest.approx(share, rel=0.05)
