"""A small elliptical cavity in a wide block, pressed normal to the cut along its long axis.

C. E. Inglis, Trans. Inst. Naval Architects 55 (1913) 219: 1 + 2 a / b at the ends of the axis.
Along the cut by N. I. Muskhelishvili's potentials on z = R (s + m / s), R = (a + b) / 2,
m = (a - b) / (a + b). From memory; checked below against Inglis's peak, Kirsch's round hole, and
the pressure far away.
"""

import numpy as np
import pytest
from verification import Check, closed, rows_test

import squeeze

A, B, WIDE_MM, P_KPA = 10.0, 5.0, 500.0, 10.0


def pressure_kpa(x, a=A, b=B):
    R, m = (a + b) / 2, (a - b) / (a + b)
    s = (x + np.sqrt(x**2 - 4 * R**2 * m)) / (2 * R)
    slope = R * (1 - m / s**2)
    phi = (s**2 + 2 + m) / (s**2 - m) / 4
    phi_s = -s * (1 + m) / (s**2 - m) ** 2
    psi_s = R / 2 * (1 - 1 / (m * s**2) + (1 + m**2) * (1 + m) / m * (s**2 + m) / (s**2 - m) ** 2)
    return P_KPA * (2 * phi + x * phi_s / slope + psi_s / slope)


def test_the_potentials():
    assert pressure_kpa(A) == pytest.approx(P_KPA * (1 + 2 * A / B))
    assert pressure_kpa(1e4) == pytest.approx(P_KPA, rel=1e-5)
    x = np.array([5.0, 7.5, 10.0])
    kirsch = P_KPA * (2 + 25 / x**2 + 3 * 625 / x**4) / 2
    assert pressure_kpa(x, 5.0005, 4.9995) == pytest.approx(kirsch, rel=1e-3)


def mold():
    far = WIDE_MM / 2
    return squeeze.mold_of(
        {
            "length_mm": 100,
            "rubber": {"youngs_modulus_mpa": 0.6, "poisson": 0.499},
            "block": {"shape": "square", "width_mm": WIDE_MM, "round_mm": 0},
            "cavity": [{"shape": "oval", "width_mm": 2 * A, "height_mm": 2 * B}],
            "cut": [{"path_mm": [[-far, 0], [far, 0]]}],
            "push": [
                {"at_mm": at, "width_mm": WIDE_MM, "force_n_per_mm": P_KPA / 1000 * WIDE_MM}
                for at in ([0, far], [0, -far])
            ],
        }
    )


def beside(x_mm):
    closing = closed(mold, 6)
    land = closing.lands[1]
    assert land.closed_share == 1
    return float(np.interp(x_mm, land.x_mm, land.pressure_kpa)), closing


INGLIS = "C. E. Inglis, Trans. Inst. Naval Architects 55 (1913) 219; from memory"
CHECKS = tuple(
    Check(
        "Small elliptical cavity 2 : 1, cut along its long axis",
        INGLIS,
        f"contact pressure {where}, kPa",
        float(pressure_kpa(x)),
        lambda x=x: beside(x),
        within=0.01,
        slow=True,  # tests/published/test_kirsch.py is the quick one of its kind
    )
    for x, where in ((A, "at its tip"), (1.5 * A, "half of its half-axis away"))
)
test_published = rows_test(CHECKS)
