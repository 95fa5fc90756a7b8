"""A long strip pinched by two opposed patches: the pressure on a cut in its middle.

L. N. G. Filon, Phil. Trans. R. Soc. A 201 (1903) 63. The stress function
(A cosh ky + B ky sinh ky) cos kx without shear at y = +/- c gives, under P in patches 2 b wide,

    p(x) = 2 P / pi  integral (sinh kc + kc cosh kc) / (sinh 2 kc + 2 kc)  sin kb / (kb)  cos kx dk

derived here; p sums to P. Far from the patches it is slightly tensile, so an even pressure all
round is put on top, which keeps the cut closed and adds itself.
"""

import numpy as np
import pytest
from scipy.integrate import quad
from verification import Check, closed, rows_test

import squeeze

HALF_HIGH_MM, HALF_WIDE_MM, PATCH_MM, P, ROUND_KPA = 30.0, 150.0, 6.0, 0.6, 2.0


def pressure_kpa(x):
    c, b = HALF_HIGH_MM, PATCH_MM / 2

    def part(k):
        w = k * c
        wave = (np.sinh(w) + w * np.cosh(w)) / (np.sinh(2 * w) + 2 * w)
        return wave * np.sinc(k * b / np.pi) * np.cos(k * x)

    return ROUND_KPA + 1000 * 2 * P / np.pi * quad(part, 1e-9, 40 / c, limit=400)[0]


def test_the_integral():
    x = np.linspace(0, 200, 401)
    p = np.array([pressure_kpa(each) for each in x]) - ROUND_KPA
    assert 2 * np.trapezoid(p, x) == pytest.approx(1000 * P, rel=1e-4)
    assert -ROUND_KPA < p.min() < 0  # a little tension, which the even pressure makes up for


def mold():
    return squeeze.mold_of(
        {
            "length_mm": 100,
            "rubber": {"youngs_modulus_mpa": 0.6, "poisson": 0.49},
            "block": {
                "shape": "rectangle",
                "width_mm": 2 * HALF_WIDE_MM,
                "height_mm": 2 * HALF_HIGH_MM,
                "round_mm": 0,
            },
            "cut": [{"path_mm": [[-HALF_WIDE_MM, 0], [HALF_WIDE_MM, 0]]}],
            "push": [
                {"at_mm": [0, y], "width_mm": PATCH_MM, "force_n_per_mm": P}
                for y in (HALF_HIGH_MM, -HALF_HIGH_MM)
            ]
            + [{"pressure_kpa": ROUND_KPA}],
        }
    )


def on_the_cut(x):
    closing = closed(mold, 3)
    (land,) = closing.lands
    assert land.closed_share == 1
    return float(np.interp(x, land.x_mm, land.pressure_kpa)), closing


FILON = "L. N. G. Filon, Phil. Trans. R. Soc. A 201 (1903) 63; solved here"
CHECKS = tuple(
    Check(
        "Long strip pinched by two opposed patches, cut in its middle",
        FILON,
        f"contact pressure {where}, kPa",
        float(pressure_kpa(x)),
        lambda x=x: on_the_cut(x),
        within=5e-3,
    )
    for x, where in ((0.0, "under the patches"), (HALF_HIGH_MM, "half of the height beside them"))
)
test_published = rows_test(CHECKS)
