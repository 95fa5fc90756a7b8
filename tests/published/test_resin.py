"""Flow of resin in a slot, and hydrostatic head.

Plane Poiseuille flow, q = b^3 dp / (12 mu L), feeds a front: dL/dt = b^2 dp / (12 mu L). Textbook
results, from memory; the front is integrated here from its differential equation. That the
viscosity grows e-fold in half of the pot life is the program's judgement, not a published value.
Head: hydrostatics, rho g h.
"""

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from verification import Check, rows_test

import squeeze
from squeeze.mold.forces.loads import resin_mpa
from squeeze.verdict.casting.flash import flash_of

DROP_KPA, VISCOSITY_MPA_S, POT_LIFE_MIN = 0.103, 150.0, 10.0


def slit(gap_mm, head=None):
    """Make a stiff block whose cut, from the cavity to the outside, gapes evenly."""
    return squeeze.mold_of(
        {
            "length_mm": 100,
            "rubber": {"youngs_modulus_mpa": 50},
            "block": {"shape": "round", "diameter_mm": 100},
            "cavity": [{"shape": "round", "diameter_mm": 10}],
            "cut": [{"path_mm": [[0, 0], [60, 0]], "gap_mm": gap_mm}],
            "resin": {"viscosity_mpa_s": VISCOSITY_MPA_S, "pot_life_min": POT_LIFE_MIN}
            | (head or {"pressure_kpa": DROP_KPA, "enters_cuts": False}),
        }
    )


def computed_reach_mm(gap_mm):
    mold = slit(gap_mm)
    closing = squeeze.close(mold, deformation="small")
    (line,) = flash_of(closing, mold).lines
    assert line.stopped_by == "setting"
    return line.reach_mm, closing


def front_mm(gap_mm):
    """Integrate d(L^2)/dt = b^2 dp / (6 mu(t)), in m, Pa and s."""
    life = 60 * POT_LIFE_MIN

    def grows(t, _):
        mu = 1e-3 * VISCOSITY_MPA_S * np.exp(t / (life / 2))
        return [(1e-3 * gap_mm) ** 2 * 1e3 * DROP_KPA / (6 * mu)]

    square = solve_ivp(grows, (0, life), [0.0], rtol=1e-10, atol=1e-16).y[0, -1]
    return 1000 * float(np.sqrt(square))


def head_kpa():
    resin = slit(0.1, {"head_mm": 100, "density_g_cm3": 1.05}).resin
    return 1000 * resin_mpa(resin), None


FRONT = "Poiseuille 1840, flow between plates; the front solved here; from memory"
CHECKS = (
    *(
        Check(
            "Resin that sets, in an even slot",
            FRONT,
            f"reach in a slot of {gap:g} mm, mm",
            front_mm(gap),
            lambda gap=gap: computed_reach_mm(gap),
            within=3e-3,
        )
        for gap in (0.05, 0.1)
    ),
    Check(
        "Head of resin",
        "hydrostatics, rho g h",
        "pressure under 100 mm of 1.05 g/cm3, kPa",
        1.05 * 9.80665 * 0.1,
        head_kpa,
        within=1e-9,
    ),
)
test_published = rows_test(CHECKS)


def test_twice_the_gap_runs_twice_as_far():
    near, far = (computed_reach_mm(gap)[0] for gap in (0.05, 0.1))
    assert far / near == pytest.approx(2, rel=3e-3)
