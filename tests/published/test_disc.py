"""A disc pinched across its diameter, cut normal to the pinch and along it.

The closed form stands behind ASTM D3967 and the splitting test of the ISRM (1978). From memory;
that the pressure sums to the pinching force was checked by integration. On the diameter normal to
the load the uncut disc is in compression, so its stress is the contact pressure there. On the
diameter along the load it is in tension: all that can be said is that this cut opens.
"""

import numpy as np
import pytest
from scipy.integrate import quad

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


def pressure_kpa(x):
    return 1000 * 2 * P / (np.pi * D) * (4 * D**4 / (D**2 + 4 * x**2) ** 2 - 1)


def test_the_formula_has_the_published_values():
    ratio = pressure_kpa(D / 2 * np.array([0, 0.25, 0.5, 0.75, 1])) * np.pi * D / (2000 * P)
    assert ratio == pytest.approx([3, 2.54325, 1.56, 0.6384, 0], abs=5e-6)
    assert pressure_kpa(0) == pytest.approx(9.5493, abs=5e-5)
    assert quad(pressure_kpa, -D / 2, D / 2)[0] == pytest.approx(1000 * P)


def test_a_cut_normal_to_the_pinch_carries_the_published_pressure():
    (land,) = squeeze.close(disc([-40, 0], [40, 0]), fineness=2).lands
    inside = np.abs(land.x_mm) < 0.9 * D / 2
    assert land.pressure_kpa[inside] == pytest.approx(
        pressure_kpa(land.x_mm[inside]), rel=1e-2, abs=1e-3 * pressure_kpa(0)
    )
    assert land.pressure_kpa == pytest.approx(pressure_kpa(land.x_mm), abs=0.01 * pressure_kpa(0))
    assert land.force_n_per_mm == pytest.approx(P, rel=1e-3)


def test_a_cut_along_the_pinch_opens():
    closing = squeeze.close(disc([0, -40], [0, 40]))
    (land,) = closing.lands
    middle = np.abs(land.y_mm) < 0.8 * D / 2
    assert closing.trust.outcome == "converged"
    assert (land.gap_mm[middle] > 0).all()
    assert (land.pressure_kpa[middle] == 0).all()
