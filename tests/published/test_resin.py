"""Flow of resin in a slot, and hydrostatic head.

Plane Poiseuille flow, q = b^3 dp / (12 mu L), and the advance of a front that it feeds,
L^2 = b^2 dp t / (6 mu); with mu = mu0 exp(t/tau) the time is tau (1 - exp(-t/tau)). Textbook
results, from memory, with the numbers recomputed; the front is integrated here once more from its
differential equation. Head: hydrostatics, rho g h.
"""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

import squeeze
from squeeze.mold.forces.loads import resin_mpa
from squeeze.verdict.casting.resin_flow import MPA_PER_KPA, MPA_S_PER_MPA_S, reach_mm

DROP_KPA, VISCOSITY_MPA_S = 1.03, 150.0
DROP_PA, VISCOSITY_PA_S = 1030.0, 0.15


def slot_flow_mm2_s(gap_mm, drop_kpa, viscosity_mpa_s, length_mm):
    """Return the flow in a slot, per mm of its width: q = b^3 dp / (12 mu L)."""
    mu = viscosity_mpa_s * MPA_S_PER_MPA_S
    return gap_mm**3 * drop_kpa * MPA_PER_KPA / (12.0 * mu * length_mm)


def test_slot_flow():
    q = slot_flow_mm2_s(0.1, DROP_KPA, VISCOSITY_MPA_S, 30.0)
    assert q * 1e-6 == pytest.approx((0.1e-3) ** 3 * DROP_PA / (12 * VISCOSITY_PA_S * 0.03))
    assert q * 1e-6 == pytest.approx(1.9074e-8, rel=1e-4)


def test_slot_flow_is_the_integral_of_the_parabola():
    """By hand: u = dp/(2 mu L) y (b - y)."""
    b, L = 0.1e-3, 0.03
    y = np.linspace(0, b, 20001)
    u = DROP_PA / (2 * VISCOSITY_PA_S * L) * y * (b - y)
    q = slot_flow_mm2_s(0.1, DROP_KPA, VISCOSITY_MPA_S, 30.0)
    assert q * 1e-6 == pytest.approx(np.trapezoid(u, y), rel=1e-6)


@pytest.mark.parametrize(("gap_mm", "reach"), [(0.1, 26.204), (0.05, 13.102), (0.02, 5.241)])
def test_reach_in_a_minute(gap_mm, reach):
    assert reach_mm(gap_mm, DROP_KPA, VISCOSITY_MPA_S, 60.0) == pytest.approx(reach, abs=6e-4)


def test_reach_of_resin_that_sets():
    assert reach_mm(0.1, DROP_KPA, VISCOSITY_MPA_S, 180.0, 90.0) == pytest.approx(29.843, abs=6e-4)
    assert reach_mm(0.1, DROP_KPA, VISCOSITY_MPA_S, 1e6, 90.0) == pytest.approx(32.094, abs=6e-4)


def test_reach_solves_the_equation_of_the_front():
    """d(L^2)/dt = b^2 dp / (6 mu(t))."""

    def grows(t, _):
        return [(0.1e-3) ** 2 * DROP_PA / (6 * VISCOSITY_PA_S * np.exp(t / 90))]

    square = solve_ivp(grows, (0, 180), [0.0], rtol=1e-10, atol=1e-16).y[0, -1]
    reach = reach_mm(0.1, DROP_KPA, VISCOSITY_MPA_S, 180.0, 90.0)
    assert reach == pytest.approx(1000 * np.sqrt(square), rel=1e-6)


def test_head_of_100_mm_is_about_1030_pa():
    resin = squeeze.mold_of(
        {
            "length_mm": 1,
            "rubber": {"shore_a": 20},
            "block": {"shape": "round", "diameter_mm": 50},
            "resin": {"head_mm": 100, "density_g_cm3": 1.05},
        }
    ).resin
    assert resin_mpa(resin) * 1e6 == pytest.approx(1050 * 9.80665 * 0.1)
    assert resin_mpa(resin) * 1e6 == pytest.approx(1030, rel=1e-3)
