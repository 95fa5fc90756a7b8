"""A thick ring pinched across its diameter, cut normal to the pinch.

S. P. Timoshenko, Phil. Mag. 44 (1922) 1014; S. P. Timoshenko, J. N. Goodier, Theory of Elasticity,
3rd ed. 1970, general solution in polar coordinates (J. H. Michell 1899). From memory; the series
is solved here, and its hoop stress is checked to carry half of the pinch on each side. Even
pressure all round keeps the cut closed, and adds Lame's stress.
"""

import numpy as np
import pytest
from verification import Check, closed, rows_test

import squeeze

A, B, PATCH_MM, P, ROUND_KPA = 30.0, 60.0, 4.0, 0.2, 10.0


def terms(n, r, part):
    """Four functions of Michell's n-th term: `part` of stress (radial, hoop, shear) at r, (4,)."""
    k = np.array([n, n + 2, -n, 2 - n], float)
    factor = {"radial": k - n**2, "hoop": k * (k - 1), "shear": n * (k - 1)}[part]
    return factor * (r / np.array([B, B, A, A])) ** (k - 2)


def hoop_kpa(r, most=240):
    """Hoop pressure on the diameter normal to the pinch."""
    half = PATCH_MM / (2 * B)
    even = P / (np.pi * B) + ROUND_KPA / 1000
    total = even * B**2 / (B**2 - A**2) * (1 + A**2 / r**2)
    for n in range(2, most, 2):
        q = 2 * P / PATCH_MM / np.pi * 2 * np.sin(n * half) / n * (-1) ** (n // 2)
        rows = [terms(n, at, part) for at in (B, A) for part in ("radial", "shear")]
        c = np.linalg.solve(np.array(rows), [-q, 0, 0, 0])
        total -= terms(n, r, "hoop") @ c
    return 1000 * total


def test_each_side_carries_half_of_the_pinch():
    r = np.linspace(A, B, 401)
    whole = np.trapezoid([hoop_kpa(each, 80) for each in r], r) / 1000
    assert whole == pytest.approx(P / 2 + ROUND_KPA / 1000 * B, rel=1e-4)


def mold():
    pushes = [{"at_mm": [0, y], "width_mm": PATCH_MM, "force_n_per_mm": P} for y in (B, -B)]
    return squeeze.mold_of(
        {
            "length_mm": 100,
            "rubber": {"youngs_modulus_mpa": 0.6, "poisson": 0.499},
            "block": {"shape": "round", "diameter_mm": 2 * B},
            "cavity": [{"shape": "round", "diameter_mm": 2 * A}],
            "cut": [{"path_mm": [[-B - 5, 0], [B + 5, 0]]}],
            "push": [*pushes, {"pressure_kpa": ROUND_KPA}],
        }
    )


def on_the_right(r):
    closing = closed(mold, 3)
    land = closing.lands[1]
    assert land.closed_share == 1
    return float(np.interp(r, land.x_mm, land.pressure_kpa)), closing


CHECKS = tuple(
    Check(
        "Thick ring pinched on a diameter, cut normal to the pinch, pressed all round as well",
        "S. P. Timoshenko, Phil. Mag. 44 (1922) 1014; Michell's series, solved here",
        f"contact pressure {where}, kPa",
        float(hoop_kpa(r)),
        lambda r=r: on_the_right(r),
        within=5e-3,
    )
    for r, where in ((A, "at the bore"), ((A + B) / 2, "in the middle of the wall"))
)
test_published = rows_test(CHECKS)
