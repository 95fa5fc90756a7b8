"""A round block with a round cavity out of its middle, pressed evenly from outside.

G. B. Jeffery, Phil. Trans. R. Soc. A 221 (1921) 265, by bipolar coordinates; S. P. Timoshenko,
J. N. Goodier, Theory of Elasticity, 3rd ed. 1970, eccentric hole under inner pressure p: hoop
stress where the wall is thinnest

    p (2 b^2 (b^2 + a^2 - 2 a e - e^2) / ((a^2 + b^2) (b^2 - a^2 - 2 a e - e^2)) - 1)

with bore a, outside b and e between the middles; -e gives the thickest place. From memory; at
e = 0 it is Lame's. Pressure outside is even pressure everywhere less pressure inside. The line
through both middles is one of symmetry, and compressive all along: a cut there carries the stress.
"""

import numpy as np
import pytest
from verification import Check, closed, rows_test

import squeeze

A, B, OFF, P_KPA = 20.0, 60.0, 15.0, 20.0


def mold():
    return squeeze.mold_of(
        {
            "length_mm": 100,
            "rubber": {"youngs_modulus_mpa": 0.6, "poisson": 0.499},
            "block": {"shape": "round", "diameter_mm": 2 * B},
            "cavity": [{"shape": "round", "diameter_mm": 2 * A, "centre_mm": [OFF, 0]}],
            "cut": [{"path_mm": [[-B - 5, 0], [B + 5, 0]]}],
            "push": [{"pressure_kpa": P_KPA}],
        }
    )


def hoop_kpa(e):
    above = 2 * B**2 * (B**2 + A**2 - 2 * A * e - e**2)
    return P_KPA * above / ((A**2 + B**2) * (B**2 - A**2 - 2 * A * e - e**2))


def at_bore(side):
    """Return the pressure at the bore: side 1 = where the wall is thinnest, -1 = opposite."""
    closing = closed(mold, 3)
    assert all(land.closed_share == 1 for land in closing.lands)
    thick, thin = closing.lands
    return float(thin.pressure_kpa[0] if side > 0 else thick.pressure_kpa[-1]), closing


JEFFERY = "G. B. Jeffery, Phil. Trans. R. Soc. A 221 (1921) 265; from memory"
CHECKS = tuple(
    Check(
        "Round cavity out of the middle of a round block, pressed all round",
        JEFFERY,
        f"contact pressure at the bore, {where} side, kPa",
        hoop_kpa(side * OFF),
        lambda side=side: at_bore(side),
        within=3e-3,
    )
    for side, where in ((1, "thin"), (-1, "thick"))
)
test_published = rows_test(CHECKS)


def test_the_walls_carry_the_push_on_both_sides():
    lands = closed(mold, 2).lands
    force = sum(land.force_n_per_mm for land in lands)
    assert force == pytest.approx(P_KPA / 1000 * 2 * B, rel=1e-3)


def test_in_the_middle_it_is_lame():
    assert hoop_kpa(0.0) == pytest.approx(2 * P_KPA * B**2 / (B**2 - A**2))
    assert np.diff([hoop_kpa(e) for e in (-15, -5, 5, 15)]).min() > 0
