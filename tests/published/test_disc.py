"""A disc pinched across its diameter, cut normal to the pinch and along it.

H. Hertz, Z. Math. Phys. 28 (1883) 125, as in S. P. Timoshenko, J. N. Goodier, Theory of Elasticity,
3rd ed. 1970, compression of a circular disc by two opposed forces. From memory; that the pressure
sums to the pinching force is integrated below. On the diameter normal to
the load the uncut disc is in compression, so its stress is the contact pressure there. On the
diameter along the load it is in tension: all that can be said is that this cut opens.
"""

import numpy as np
import pytest
from scipy.integrate import quad
from verification import Check, closed, rows_test

import squeeze

D, P, PATCH_MM = 60.0, 0.3, 0.5


def disc(*path):
    return squeeze.mold_of(
        {
            "length_mm": 100,
            "rubber": {"youngs_modulus_mpa": 0.6, "poisson": 0.499},
            "block": {"shape": "round", "diameter_mm": D},
            "cut": [{"path_mm": path}],
            "push": [
                {"at_mm": at, "width_mm": PATCH_MM, "force_n_per_mm": P}
                for at in ([0, D / 2], [0, -D / 2])
            ],
        }
    )


def cut_normal():
    return disc([-40, 0], [40, 0])


def pressure_kpa(x):
    return 1000 * 2 * P / (np.pi * D) * (4 * D**4 / (D**2 + 4 * x**2) ** 2 - 1)


def test_the_formula_balances_the_pinch():
    assert quad(pressure_kpa, -D / 2, D / 2)[0] == pytest.approx(1000 * P)


def test_a_cut_normal_to_the_pinch_carries_the_published_pressure():
    (land,) = closed(cut_normal, 2).lands
    inside = np.abs(land.x_mm) < 0.9 * D / 2
    assert land.pressure_kpa[inside] == pytest.approx(
        pressure_kpa(land.x_mm[inside]), rel=1e-2, abs=1e-3 * pressure_kpa(0)
    )
    assert land.pressure_kpa == pytest.approx(pressure_kpa(land.x_mm), abs=0.01 * pressure_kpa(0))
    assert land.force_n_per_mm == pytest.approx(P, rel=1e-3)


def test_a_cut_along_the_pinch_opens():
    closing = squeeze.close(disc([0, -40], [0, 40]), fineness=1)
    (land,) = closing.lands
    middle = np.abs(land.y_mm) < 0.8 * D / 2
    assert closing.trust.outcome == "converged"
    assert (land.gap_mm[middle] > 0).all()
    assert (land.pressure_kpa[middle] == 0).all()


def in_the_middle():
    closing = closed(cut_normal, 2)
    (land,) = closing.lands
    return float(np.interp(0.0, land.x_mm, land.pressure_kpa)), closing


CHECKS = (
    Check(
        "Disc pinched on a diameter, cut normal to the pinch",
        "H. Hertz 1883; Timoshenko, Goodier, Theory of Elasticity, 3rd ed. 1970; from memory",
        "contact pressure in the middle, kPa",
        pressure_kpa(0.0),
        in_the_middle,
        within=3e-3,
    ),
)
test_published = rows_test(CHECKS)
