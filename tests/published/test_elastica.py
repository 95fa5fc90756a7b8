"""A thin strip of rubber bent far by a weight at its tip.

Source: K. E. Bisshopp and D. C. Drucker, "Large deflection of cantilever beams", Quarterly of
Applied Mathematics 3 (1945) 272: the elastica in elliptic integrals. In plane strain the strip's
stiffness in bending is E h^3 / (12 (1 - nu^2)).
"""

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.sparse import coo_array, csc_array
from scipy.sparse.linalg import spsolve
from scipy.special import ellipe, ellipeinc, ellipk, ellipkinc
from verification import Check, rows_test

import squeeze
from squeeze.mold.section.records import Material
from squeeze.solve.large.rubber.body import body_of, unloaded
from squeeze.solve.mesh.parting import parted_mesh
from squeeze.solve.mesh.triangulate import triangulate

LONG_MM, THICK_MM = 240.0, 6.0
E_MPA, NU = 0.6, 0.49


def elastica(load):
    """Fall and shortening of the tip over the length, at P L^2 / (E I) = `load`."""

    def length(slope):
        """Return the square root of the load that makes the tip slope so."""
        m = (1 + np.sin(slope)) / 2
        start = np.arcsin(1 / np.sqrt(2 * m))
        return ellipk(m) - ellipkinc(start, m)

    slope = brentq(lambda s: length(s) - np.sqrt(load), 1e-6, np.pi / 2 - 1e-9)
    m = (1 + np.sin(slope)) / 2
    start, root = np.arcsin(1 / np.sqrt(2 * m)), np.sqrt(load)
    fall = 1 - 2 / root * (ellipe(m) - ellipeinc(start, m))
    return fall, 1 - np.sqrt(2 * np.sin(slope)) / root


@pytest.fixture(scope="module")
def strip():
    mold = squeeze.mold_of(
        {
            "length_mm": 100,
            "rubber": {"youngs_modulus_mpa": E_MPA, "poisson": NU},
            "block": {
                "shape": "rectangle", "width_mm": LONG_MM, "height_mm": THICK_MM,
                "bevel_mm": 0, "round_mm": 0,
            },
            "cavity": [],
            "cut": [],
        }
    )  # fmt: skip
    section = squeeze.mold.section_of(mold)
    mesh = parted_mesh(section, triangulate(section, 0.5))
    return mesh, body_of(mesh, (Material(E_MPA, NU),))


def bent(strip, load):
    """Fall and shortening of the tip over the length, by Newton's method in four steps of load."""
    mesh, body = strip
    x, size = mesh.points, 2 * len(mesh.points)
    free = np.repeat(x[:, 0] > -LONG_MM / 2 + 1e-9, 2)
    end = mesh.outside[(x[mesh.outside, 0] > LONG_MM / 2 - 1e-9).all(axis=1)]
    force = np.zeros(size)
    stiff = E_MPA * THICK_MM**3 / (12 * (1 - NU**2))
    for edge in end:
        share = abs(x[edge[2], 1] - x[edge[0], 1]) / THICK_MM
        force[2 * edge + 1] -= share * np.array([1, 4, 1]) / 6 * load * stiff / LONG_MM**2
    state = unloaded(mesh)
    rows, columns = np.repeat(body.dofs, 12, axis=1).ravel(), np.tile(body.dofs, (1, 12)).ravel()
    for part_of_load in (0.25, 0.5, 0.75, 1.0):
        for _ in range(30):
            here = body.tangent(state)
            left = (part_of_load * force - here.force)[free]
            K = csc_array(coo_array((here.K.ravel(), (rows, columns)), shape=(size, size)))
            du = np.zeros(size)
            du[free] = spsolve(csc_array(K[free][:, free]), left)
            state = here.moved(body, state, du)
            if np.abs(du).max() < 1e-9 * LONG_MM:
                break
        else:
            raise AssertionError("the strip did not settle")
    moved = state.u.reshape(-1, 2)[np.unique(end)].mean(axis=0)
    return -moved[1] / LONG_MM, -moved[0] / LONG_MM


@pytest.mark.parametrize("load", [1.0, pytest.param(3.0, marks=pytest.mark.slow)])
def test_a_strip_bends_as_the_elastica(strip, load):
    assert bent(strip, load) == pytest.approx(elastica(load), rel=0.01)


def test_the_elastica_is_the_beam_of_small_deflection_at_small_load():
    fall, shortening = elastica(1e-3)
    assert fall == pytest.approx(1e-3 / 3, rel=1e-3)
    assert shortening < 1e-6


def three_points(load, over_mm=2.0):
    """Lay a strip on two supports and push its middle down: each half is bent as by a weight.

    Pushes keep their direction, and the supports let the ends come in.
    """
    push = load * E_MPA * THICK_MM**3 / (12 * (1 - NU**2)) / LONG_MM**2
    half = LONG_MM + over_mm / 2
    return squeeze.mold_of(
        {
            "length_mm": 100,
            "rubber": {"youngs_modulus_mpa": E_MPA, "poisson": NU},
            "block": {
                "shape": "rectangle", "width_mm": 2 * half, "height_mm": THICK_MM,
                "bevel_mm": 0, "round_mm": 0,
            },
            "push": [
                {"at_mm": [0, THICK_MM / 2], "width_mm": over_mm, "force_n_per_mm": 2 * push},
                *(
                    {"at_mm": [s * LONG_MM, -THICK_MM / 2], "width_mm": over_mm,
                     "force_n_per_mm": push}
                    for s in (-1, 1)
                ),
            ],
        }
    )  # fmt: skip


def fallen(load):
    """How far the middle falls below the supports, over half of the span."""
    closing = squeeze.close(three_points(load), deformation="large")
    assert closing.deformation.is_large
    x, u = closing.field.points_mm, closing.field.displacement_mm[:, 1]

    def at(place):
        near = np.abs(x[:, 0] - place) < 1.5
        return float(u[near].mean())

    return (0.5 * (at(-LONG_MM) + at(LONG_MM)) - at(0.0)) / LONG_MM, closing


CHECKS = (
    Check(
        "Strip of rubber bent far in three points, load P L^2 / (E I) = 1",
        "K. E. Bisshopp, D. C. Drucker, Quart. Appl. Math. 3 (1945) 272; from memory",
        "fall of the middle over half of the span",
        float(elastica(1.0)[0]),
        lambda: fallen(1.0),
        within=0.01,
        slow=True,
    ),
)
test_published = rows_test(CHECKS)
