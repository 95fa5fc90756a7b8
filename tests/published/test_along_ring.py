"""A long ring pressed in waves along its length.

Exact solution by Love's function (A. E. H. Love, Mathematical Theory of Elasticity, 4th ed. 1927;
S. P. Timoshenko, J. N. Goodier, Theory of Elasticity, 3rd ed. 1970; from memory): with
L = f(r) sin kz and f a sum of I0(kr), kr I1(kr), K0(kr), kr K1(kr),

    s_r = d/dz (nu lap L - L,rr)    s_t = d/dz (nu lap L - L,r / r)
    t_rz = d/dr ((1 - nu) lap L - L,zz)

and the four constants follow from pressure cos kz outside, nothing inside. That the stresses keep
balance was checked by finite differences. A radius is a line of symmetry, so the hoop stress of
the uncut ring is what a bonded cut carries.
"""

import numpy as np
import pytest
from scipy.special import iv, kv
from verification import Check, rows_test

import squeeze
from squeeze.solve.along.loads import BandAt
from squeeze.solve.along.long_block import LongBlock

BORE_MM, OUTSIDE_MM, NU = 20.0, 60.0, 0.49999


def terms(k, r):
    """Return the four functions and their first three derivatives, shape (4, 4)."""
    x, found = k * r, []
    for sign, f in ((1, iv), (-1, kv)):
        zero, one = f(0, x), sign * f(1, x)  # I0' = I1, K0' = -K1
        d2 = k**2 * zero - k * one / r
        found.append((zero, k * one, d2, k**3 * one - d2 / r + k * one / r**2))
        g, g1 = x * f(1, x), sign * k * x * zero
        g2 = sign * k**2 * zero + sign * k**2 * x * one
        g3 = sign * k**3 * one + sign * k**3 * one + sign * k**3 * x * (zero - one / x)
        found.append((g, g1, g2, g3))
    return np.array(found).T


def stresses(k, r):
    """Rows of s_r, s_t, t_rz (amplitudes) for the four constants, shape (3, 4)."""
    f, f1, f2, f3 = terms(k, r)
    lap = f2 + f1 / r - k**2 * f
    lap1 = f3 + f2 / r - f1 / r**2 - k**2 * f1
    return np.array([k * (NU * lap - f2), k * (NU * lap - f1 / r), (1 - NU) * lap1 + k**2 * f1])


def hoop(k, r):
    """Hoop pressure over outside pressure."""
    outside, inside = stresses(k, OUTSIDE_MM), stresses(k, BORE_MM)
    A = np.array([outside[0], inside[0], outside[2], inside[2]])
    c = np.linalg.solve(A, [-1.0, 0.0, 0.0, 0.0])
    return -np.array([stresses(k, each)[1] @ c for each in np.atleast_1d(r)])


def ring(period_mm):
    return squeeze.mold_of(
        {
            "length_mm": period_mm / 2,
            "rubber": {"youngs_modulus_mpa": 1.0, "poisson": NU},
            "block": {"shape": "round", "diameter_mm": 2 * OUTSIDE_MM},
            "cavity": [{"shape": "round", "diameter_mm": 2 * BORE_MM}],
            "cut": [{"path_mm": [[0, 0], [70, 0]]}],
        }
    )


def computed(period_mm, fineness):
    """Radius and hoop pressure over outside pressure of a bonded cut along a radius."""
    block = LongBlock(ring(period_mm), 2, fineness)
    unit = -block.responses.waves.S[1] @ block.responses.free_gaps[1, :, 0]
    land = block.block.mesh.lands[0]
    return block.block.mesh.points[land.left[::2], 0], OUTSIDE_MM * unit


@pytest.mark.parametrize("period_mm", [40.0, 60.0, 100.0])
def test_hoop_pressure(period_mm):
    r, found = computed(period_mm, 3)
    exact = hoop(2 * np.pi / period_mm, r)
    assert np.abs(found - exact).max() < 0.01 * exact.max()


def test_finer_meshes_come_nearer():
    left = []
    for fineness in (1, 2, 4):
        r, found = computed(100.0, fineness)
        left.append(np.abs(found - hoop(2 * np.pi / 100, r)).max())
    order = np.log2(left[0] / left[2]) / 2
    assert 1.2 < order < 3.5
    assert left[2] < 0.003


@pytest.mark.parametrize("fineness", [1, pytest.param(3, marks=pytest.mark.slow)])
def test_lip_under_short_waves(fineness):
    """At the lip a closed form stands in for the mesh; it is good where waves are short."""
    mold = ring(100.0)
    block = LongBlock(mold, 32, fineness)
    one = np.ones(len(block.numbers))
    waves = block.bonded_waves(one)
    lip = int(np.argmin(block.surface.depth))
    k = block.numbers[4:32]
    exact = np.concatenate([hoop(each, OUTSIDE_MM) for each in k])
    assert OUTSIDE_MM * waves[4:, lip] == pytest.approx(exact, rel=0.015)
    closed = block.surface.closed_form(np.array([0.3, 1.0, 3.0]))[:, lip]
    exact = np.concatenate([hoop(each, OUTSIDE_MM) for each in (0.3, 1.0, 3.0)])
    assert OUTSIDE_MM * closed == pytest.approx(exact, rel=0.003)


def test_places_under_a_band_are_means_of_finer_ones():
    """At the lip under a band to 8 % of the largest pressure there; 4 mm deeper to 4 %."""
    found = {}
    for waves in (24, 96):
        closing = LongBlock(ring(216.0), waves, 1).close(
            [BandAt(z, 4.0, 6.0) for z in (13.5, 40.5, 67.5, 94.5)]
        )
        land = closing.lands[0]
        found[waves] = land.pressure_kpa
    depth = OUTSIDE_MM - np.hypot(land.x_mm, land.y_mm)
    order = np.argsort(depth)
    means = found[96].reshape(len(depth), 24, 4).mean(axis=2)
    for at, good in ((0.0, 0.08), (4.0, 0.04)):
        coarse, fine = (
            np.array([np.interp(at, depth[order], column[order]) for column in each.T])
            for each in (found[24], means)
        )
        assert np.abs(coarse - fine).max() < good * fine.max()


def at_radius(r_mm):
    r, found = computed(100.0, 3)
    return float(np.interp(r_mm, r, found)), None


CHECKS = tuple(
    Check(
        "Long ring pressed in waves of 100 mm along its length",
        "A. E. H. Love, Mathematical Theory of Elasticity, 1927; from memory; a bonded cut",
        f"hoop pressure {where}, over the pressure",
        float(hoop(2 * np.pi / 100, r)[0]),
        lambda r=r: at_radius(r),
        within=0.01,
        scale=1.4,
    )
    for r, where in ((BORE_MM, "at the bore"), (40.0, "in the middle of the wall"))
)
test_published = rows_test(CHECKS)
