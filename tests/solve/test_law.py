"""Laws of rubber: what the deformed body asks of one, and that another one takes one module.

The laws of these tests stand here alone: linear elasticity, and that of St. Venant and Kirchhoff.
"""

from __future__ import annotations

from functools import partial

import numpy as np
import pytest
from scipy.sparse import coo_array

import squeeze
from squeeze.solve import Block
from squeeze.solve.large import reference
from squeeze.solve.large.rubber.body import State, body_of
from squeeze.solve.large.rubber.law import Dilation, true_dilation
from squeeze.solve.large.rubber.neo_hookean import NEO_HOOKEAN

UNIT = np.eye(2)
ONE = np.einsum("ij,kl->ikjl", UNIT, UNIT)
"""Derivative of a tensor [c, a] by itself [d, b]."""


class SmallStrain:
    """Linear elasticity: w = G (e:e - (tr e)^2 / 3), e the symmetric part of F - 1, v = tr e."""

    def strain(self, F):
        return 0.5 * (F + np.swapaxes(F, -1, -2)) - UNIT

    def energy(self, G, F):
        e = self.strain(F)
        return G[:, None] * ((e**2).sum(axis=(-2, -1)) - e.trace(axis1=-2, axis2=-1) ** 2 / 3)

    def stress(self, G, F):
        e = self.strain(F)
        bulk = e.trace(axis1=-2, axis2=-1)[..., None, None] * UNIT / 3
        return 2 * G[:, None, None, None] * (e - bulk)

    def stiffness(self, G, F):
        turned = np.einsum("il,jk->ijkl", UNIT, UNIT)
        whole = ONE + turned - 2 / 3 * np.einsum("ij,kl->ijkl", UNIT, UNIT)
        return G[:, None, None, None, None, None] * np.broadcast_to(whole, (*F.shape, 2, 2))

    def dilation(self, F):
        v = F.trace(axis1=-2, axis2=-1) - 2
        return Dilation(v, np.broadcast_to(UNIT, F.shape), np.zeros((2, 2, 2, 2)))


class StVenantKirchhoff:
    """Quadratic in Green's strain E = (F'F - 1) / 2: w = G (E:E - (tr E)^2 / 3), v = J - 1."""

    def deviator(self, F):
        E = 0.5 * (np.swapaxes(F, -1, -2) @ F - UNIT)
        return E, E - E.trace(axis1=-2, axis2=-1)[..., None, None] * UNIT / 3

    def energy(self, G, F):
        E, dev = self.deviator(F)
        return G[:, None] * (E * dev).sum(axis=(-2, -1))

    def stress(self, G, F):
        return 2 * G[:, None, None, None] * F @ self.deviator(F)[1]

    def stiffness(self, G, F):
        _, dev = self.deviator(F)
        D = np.einsum("cd,mqba->mqcadb", UNIT, dev)
        half = 0.5 * np.einsum("mqcb,mqda->mqcadb", F, F)
        half += 0.5 * np.einsum("mqce,mqde,ab->mqcadb", F, F, UNIT)
        D = D + half - np.einsum("mqca,mqdb->mqcadb", F, F) / 3
        return 2 * G[:, None, None, None, None, None] * D

    def dilation(self, F):
        return true_dilation(F)


LAWS = {"linear": SmallStrain(), "neo-Hookean": NEO_HOOKEAN, "Kirchhoff": StVenantKirchhoff()}
any_law = pytest.mark.parametrize("law", LAWS.values(), ids=LAWS)


@any_law
def test_stress_and_stiffness_are_derivatives_of_the_energy(law):
    rng = np.random.default_rng(5)
    F = UNIT + 0.2 * rng.uniform(-1, 1, (4, 3, 2, 2))
    d, G, h = rng.uniform(-1, 1, F.shape), rng.uniform(0.1, 2.0, 4), 1e-5
    before, after = F - h * d, F + h * d
    slope = (law.energy(G, after) - law.energy(G, before)) / (2 * h)
    assert (law.stress(G, F) * d).sum(axis=(-2, -1)) == pytest.approx(slope, abs=1e-8)
    slope = (law.stress(G, after) - law.stress(G, before)) / (2 * h)
    found = np.einsum("mqcadb,mqdb->mqca", law.stiffness(G, F), d)
    assert found == pytest.approx(slope, abs=1e-8)
    volume, less, more = (law.dilation(each) for each in (F, before, after))
    assert (volume.dv * d).sum(axis=(-2, -1)) == pytest.approx(
        (more.v - less.v) / (2 * h), abs=1e-8
    )
    found = np.einsum("cadb,mqdb->mqca", volume.d2v, d)
    assert found == pytest.approx((more.dv - less.dv) / (2 * h), abs=1e-8)


SQUARE = {
    "length_mm": 100,
    "rubber": {"youngs_modulus_mpa": 0.6},
    "block": {"shape": "square", "width_mm": 60, "bevel_mm": 2},
    "cavity": [{"shape": "round", "diameter_mm": 16}],
    "cut": [{"path_mm": [[-30, 0], [30, 0]]}],
    "band": [{"tension_n_per_mm": 0.15}],
}


def test_the_tangent_of_linear_elasticity_is_its_stiffness_at_any_state():
    block = Block(squeeze.mold_of(SQUARE), 0.4)
    rng, m = np.random.default_rng(4), len(block.mesh.triangles)
    x = block.mesh.points
    u = np.column_stack([0.1 * x[:, 1], 2 * np.sin(x[:, 0] / 15)]).ravel()
    state = State(u, 0.1 * rng.normal(size=(m, 2)), 0.1 * rng.normal(size=(m, 3)))
    body = body_of(block.mesh, block.section.materials, SmallStrain())
    rows, columns = np.repeat(body.dofs, 12, axis=1), np.tile(body.dofs, (1, 12))
    K = coo_array((body.tangent(state).K.ravel(), (rows.ravel(), columns.ravel())), (u.size,) * 2)
    assert abs(K.tocsc() - block.elastic.K).max() < 1e-12 * abs(block.elastic.K).max()


@pytest.fixture
def _by_kirchhoff(monkeypatch):
    """Put another law in: all that it takes, besides its own module."""
    monkeypatch.setattr(reference, "body_of", partial(body_of, law=StVenantKirchhoff()))


def closed(pull: float) -> squeeze.Closing:
    block = Block(squeeze.mold_of(SQUARE), 0.4)
    return block.close(band_tension_n_per_mm=pull, deformation="large")


def test_a_block_of_another_law_is_certified(request):
    """Laws with the same moduli agree at small strain, and part as the pull grows."""
    rubber = [closed(pull) for pull in (0.01, 0.15)]
    request.getfixturevalue("_by_kirchhoff")
    other = [closed(pull) for pull in (0.01, 0.15)]
    assert all(each.outcome.has_answer and each.deformation.is_large for each in other)
    off = [
        abs(a.lands[0].mean_pressure_kpa / b.lands[0].mean_pressure_kpa - 1)
        for a, b in zip(rubber, other, strict=True)
    ]
    assert off[0] < 2e-3
    assert off[1] > 2 * off[0]
