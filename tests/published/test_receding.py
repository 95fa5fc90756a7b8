"""Two equal layers pinched together: they touch round the pinch, and part beside it.

L. M. Keer, J. Dundurs, K. C. Tsai, J. Appl. Mech. 39 (1972) 1115: receding contact of a layer. The
length of the contact does not depend on the load. The line between equal layers is one of
symmetry, so each meets it as it would meet a rigid smooth base. Solved here from the layer's
compliance (half thickness c, waves cos kx of the pressure p below and q above)

    k E' v / 2 = S (p + q) / 2 + T (p - q) / 2
    S = 2 sinh^2 kc / (sinh 2kc + 2kc)      T = 2 cosh^2 kc / (sinh 2kc - 2kc)

with v' = 0 where they touch, and p a sum of Chebyshev functions times sqrt(1 - x^2 / a^2), whose
transforms are Bessel functions. At the true half-length a the pressure falls to 0 like that root.
"""

from functools import cache

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import jv
from verification import Check, rows_test

import squeeze

THICK_MM, PATCH_MM, P = 20.0, 2.0, 0.1
HALF_MM = THICK_MM / 2
COUNT = 8
_R, _W = np.polynomial.legendre.leggauss(1500)
K, W = 12.501 + 12.499 * _R, 12.499 * _W  # from 0.002 to 25, over half of the thickness
S = 2 * np.sinh(K) ** 2 / (np.sinh(2 * K) + 2 * K)
T = 2 * np.cosh(K) ** 2 / (np.sinh(2 * K) - 2 * K)


def pressure(a):
    """Weights of the functions at half-length `a`, lengths over half of the thickness, load 1.

    The last weight is that of 1 / sqrt(1 - x^2 / a^2), less what it sums to: at the true `a` the
    pressure has no such edge.
    """
    x = a * np.cos((np.arange(COUNT) + 0.5) * np.pi / (2 * COUNT))
    waves = np.sin(np.outer(x, K)) * W
    m = 2 * np.arange(COUNT) + 1
    sign = (-1.0) ** np.arange(COUNT)
    own = np.pi * sign * m * jv(m, K[:, None] * a) / K[:, None]
    direct = np.pi * sign * np.sin(m * np.arcsin(x / a)[:, None])
    edge = np.pi * a * jv(0, K * a) - 2 * own[:, 0]
    sums_to_one = 1 / (np.pi * a / 2)
    load = np.sinc(K * PATCH_MM / 2 / HALF_MM / np.pi)
    beyond = (S + T) / 2 - 1
    rows = direct + waves @ (beyond[:, None] * own)
    last = -2 * direct[:, 0] + waves @ (beyond * edge)
    right = -sums_to_one * direct[:, 0] - waves @ (
        beyond * sums_to_one * own[:, 0] + (S - T) / 2 * load
    )
    c = np.linalg.solve(np.column_stack([rows[:, 1:], last]), right)
    return np.concatenate([[sums_to_one], c])


def half_length():
    """Half-length of the contact over half of the thickness."""
    return brentq(lambda a: pressure(a)[-1], 1.5, 4.0)


def in_the_middle_kpa():
    c = pressure(half_length())[:-1]
    return 1000 * P / HALF_MM * float(c @ (-1.0) ** np.arange(COUNT))


def mold(times=1.0):
    return squeeze.mold_of(
        {
            "length_mm": 100,
            "rubber": {"youngs_modulus_mpa": 0.6, "poisson": 0.49},
            "block": {
                "shape": "rectangle",
                "width_mm": 8 * THICK_MM,
                "height_mm": 2 * THICK_MM,
                "round_mm": 0,
            },
            "cut": [{"path_mm": [[-4 * THICK_MM, 0], [4 * THICK_MM, 0]]}],
            "push": [
                {"at_mm": [0, y], "width_mm": PATCH_MM, "force_n_per_mm": times * P}
                for y in (THICK_MM, -THICK_MM)
            ],
        }
    )


@cache
def pinched(times):
    return squeeze.close(mold(times), fineness=4, deformation="small")


def touches(times=1.0):
    """Half of the length that touches [mm], between the last place that presses and the first."""
    closing = pinched(times)
    (land,) = closing.lands
    x = np.abs(land.x_mm)
    return 0.5 * (x[land.pressure_kpa > 0].max() + x[land.gap_mm > 0].min()), closing


def pressed():
    closing = pinched(1.0)
    (land,) = closing.lands
    return float(np.interp(0.0, land.x_mm, land.pressure_kpa)), closing


KDT = "L. M. Keer, J. Dundurs, K. C. Tsai, J. Appl. Mech. 39 (1972) 1115; solved here"
CHECKS = (
    Check(
        "Two equal layers pinched together: receding contact",
        KDT,
        "half-length of the contact, mm",
        HALF_MM * half_length(),
        touches,
        within=0.03,
        slow=True,
    ),
    Check(
        "Two equal layers pinched together: receding contact",
        KDT,
        "contact pressure in the middle, kPa",
        in_the_middle_kpa(),
        pressed,
        within=5e-3,
        slow=True,
    ),
)
test_published = rows_test(CHECKS)


@pytest.mark.slow
def test_more_load_touches_over_the_same_length():
    assert touches(3.0)[0] == pytest.approx(touches()[0], rel=1e-9)


def test_more_functions_change_nothing(monkeypatch):
    few = half_length()
    monkeypatch.setitem(globals(), "COUNT", 12)
    assert half_length() == pytest.approx(few, rel=1e-5)
