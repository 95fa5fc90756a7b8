"""How fast errors fall with the mesh: fitted orders, bounded on both sides, and a ceiling."""

import numpy as np
import pytest

import squeeze

A, B, P_MPA, E, NU = 10.0, 30.0, 0.02, 0.6, 0.4999
LADDER = (1.5, 3.0, 6.0)


@pytest.fixture(scope="module")
def ladder():
    """Close a ring, cut along a radius and pressed all round, on finer and finer meshes."""
    mold = squeeze.mold_of(
        {
            "length_mm": 100,
            "rubber": {"youngs_modulus_mpa": E, "poisson": NU},
            "block": {"shape": "round", "diameter_mm": 2 * B},
            "cavity": [{"shape": "round", "diameter_mm": 2 * A}],
            "cut": [{"path_mm": [[0, 0], [24, 32]]}],
            "push": [{"pressure_kpa": 1000 * P_MPA}],
        }
    )
    return [squeeze.close(mold, fineness=f) for f in LADDER]


def order(errors):
    """Slope of log error over log fineness."""
    return -np.polyfit(np.log(LADDER), np.log(errors), 1)[0]


@pytest.mark.slow
def test_contact_pressure(ladder):
    """Pressure is linear between places: second order at best."""
    errors = []
    for closing in ladder:
        (land,) = closing.lands
        r = np.hypot(land.x_mm, land.y_mm)
        exact = 1000 * P_MPA * B**2 / (B**2 - A**2) * (1 + A**2 / r**2)
        off = np.trapezoid((land.pressure_kpa - exact) ** 2, land.s_mm) / land.length_mm
        errors.append(np.sqrt(off) / exact.mean())
    assert 1.6 < order(errors) < 2.6
    assert errors[-1] < 2e-4


def test_displacement(ladder):
    """Quadratic displacement on curved edges: third order in the mean, and no locking."""
    k = P_MPA * B**2 / (B**2 - A**2) * (1 + NU) / E
    shift = -k * ((1 - 2 * NU) * A + A)  # of the bore, Lame in plane strain
    exact = 100 * ((1 + shift / A) ** 2 - 1)
    errors = [abs(c.cavities[0].area_change_pct / exact - 1) for c in ladder]
    assert 2.5 < order(errors) < 4.5
    assert errors[-1] < 3e-6


def test_force_on_the_wall(ladder):
    errors = [abs(c.lands[0].force_n_per_mm / (P_MPA * B) - 1) for c in ladder]
    assert 1.8 < order(errors) < 5
    assert errors[-1] < 1e-7


@pytest.mark.slow
def test_a_cut_that_opens():
    """Where a land opens the answer is less smooth: gap and closed part still settle."""
    mold = squeeze.mold_of(
        {
            "length_mm": 100,
            "rubber": {"youngs_modulus_mpa": E, "poisson": 0.499},
            "block": {"shape": "rectangle", "width_mm": 180, "height_mm": 60, "bevel_mm": 10},
            "cavity": [{"shape": "oval", "width_mm": 60, "height_mm": 20}],
            "cut": [{"path_mm": [[-90, 0], [90, 0]]}],
            "band": [{"tension_n_per_mm": 0.6}],
        }
    )
    found = [squeeze.close(mold, fineness=f) for f in (1, 2, 4, 8)]
    gap = [c.lands[0].largest_gap_mm for c in found]
    off = np.abs(np.array(gap[:3]) / gap[3] - 1)
    assert gap[3] > 0.3
    assert off[2] < 5e-3
    assert off[2] < off[0] / 3
    share = [c.lands[0].closed_share for c in found]
    assert share[3] == pytest.approx(share[2], abs=0.02)
    assert 0.3 < share[3] < 0.95
