"""A small hole in a wide block pressed normal to the cut through it.

G. Kirsch, Z. Ver. Dtsch. Ing. 42 (1898) 797, as in S. P. Timoshenko, J. N. Goodier, Theory of
Elasticity, 3rd ed. 1970. From memory; its limits (3 at the edge, 1 far off) are exact.
"""

import numpy as np
import pytest
from verification import Check, closed, rows_test

import squeeze

HOLE_MM, WIDE_MM, P_KPA = 5.0, 300.0, 10.0


def plate():
    far = WIDE_MM / 2
    return squeeze.mold_of(
        {
            "length_mm": 100,
            "rubber": {"youngs_modulus_mpa": 0.6, "poisson": 0.499},
            "block": {"shape": "square", "width_mm": WIDE_MM, "round_mm": 0},
            "cavity": [{"shape": "round", "diameter_mm": 2 * HOLE_MM}],
            "cut": [{"path_mm": [[-far, 0], [far, 0]]}],
            "push": [
                {"at_mm": at, "width_mm": WIDE_MM, "force_n_per_mm": P_KPA / 1000 * WIDE_MM}
                for at in ([0, far], [0, -far])
            ],
        }
    )


def pressure_kpa(r):
    a = HOLE_MM
    return P_KPA * (2 + a**2 / r**2 + 3 * a**4 / r**4) / 2


def test_pressure_beside_the_hole():
    left, right = squeeze.close(plate(), fineness=4).lands
    for land in (left, right):
        assert land.closed_share == 1
        near = np.abs(land.x_mm) < 4 * HOLE_MM
        assert near.sum() > 10
        assert land.pressure_kpa[near] == pytest.approx(
            pressure_kpa(np.abs(land.x_mm[near])), rel=1e-2
        )


def beside(r_mm):
    closing = closed(plate, 4)
    land = closing.lands[1]
    return float(np.interp(r_mm, land.x_mm, land.pressure_kpa)), closing


CHECKS = tuple(
    Check(
        "Small round cavity, cut normal to the pressure",
        "G. Kirsch, Z. Ver. Dtsch. Ing. 42 (1898) 797; from memory",
        f"contact pressure {where}, kPa",
        float(pressure_kpa(r)),
        lambda r=r: beside(r),
        within=5e-3,
    )
    for r, where in ((HOLE_MM, "at the cavity"), (2 * HOLE_MM, "one radius away from it"))
)
test_published = rows_test(CHECKS)
