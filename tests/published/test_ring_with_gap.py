"""A ring whose radial cut gapes by an angle while it is unloaded: how much tension closes it.

The stress of a ring out of which an angle was cut and whose ends were joined is that of a curved
bar under couples: Kh. Golovin 1881; S. P. Timoshenko, J. N. Goodier, Theory of Elasticity, 3rd ed.
1970; from memory, and the integral that must vanish is checked. To it comes Lame's hoop stress of
the band's T / b. As long as their sum is compressive all along the cut, it is the contact pressure;
friction has no part.
"""

import numpy as np
import pytest
from scipy.integrate import quad
from verification import Check, closed, rows_test

import squeeze

A_MM, B_MM, ANGLE = 10.0, 30.0, 0.02
E_MPA, NU = 0.6, 0.499


def joined_kpa(r):
    """Hoop stress [kPa], tension positive, after the angle was closed; plane strain."""
    a, b = A_MM, B_MM
    N = (b**2 - a**2) ** 2 - 4 * a**2 * b**2 * np.log(b / a) ** 2
    M = -ANGLE * E_MPA / (1 - NU**2) / (8 * np.pi) * N / (2 * (b**2 - a**2))
    inner = -(a**2 * b**2 / r**2) * np.log(b / a) + b**2 * np.log(r / b) + a**2 * np.log(a / r)
    return -1000 * 4 * M / N * (inner + b**2 - a**2)


def pressed_kpa(r, tension):
    """Lame's hoop stress, compression positive, under the band's T / b all round [kPa]."""
    a, b = A_MM, B_MM
    return 1000 * tension / b * b**2 / (b**2 - a**2) * (1 + a**2 / r**2)


CLOSES = float(joined_kpa(B_MM) / pressed_kpa(B_MM, 1.0))
"""Tension at which the outside, the last place to close, begins to press [N/mm]."""


def gaping():
    return squeeze.mold_of(
        {
            "length_mm": 100,
            "rubber": {"youngs_modulus_mpa": E_MPA, "poisson": NU},
            "block": {"shape": "round", "diameter_mm": 2 * B_MM},
            "cavity": [{"shape": "round", "diameter_mm": 2 * A_MM}],
            "cut": [{"path_mm": [[0, 0], [B_MM, 0]], "gap_mm": [0.0, ANGLE * B_MM]}],
            "band": [{"tension_n_per_mm": 1.5 * CLOSES}],
        }
    )


@pytest.fixture(scope="module")
def ring():
    return squeeze.Block(gaping(), fineness=3)


def test_the_formula():
    """Joined, the ring carries no force across the cut, and the outside is in tension."""
    assert quad(joined_kpa, A_MM, B_MM)[0] == pytest.approx(0, abs=1e-9)
    assert joined_kpa(B_MM) > 0 > joined_kpa(A_MM)
    rest = [pressed_kpa(r, CLOSES) - joined_kpa(r) for r in np.linspace(A_MM, B_MM, 99)]
    assert np.argmin(rest) == 98


@pytest.mark.parametrize("friction", [0.0, 0.7])
def test_pressure_once_it_is_closed(ring, friction):
    (land,) = ring.close(band_tension_n_per_mm=1.5 * CLOSES, friction=friction).lands
    expected = pressed_kpa(land.x_mm, 1.5 * CLOSES) - joined_kpa(land.x_mm)
    assert land.closed_share == 1
    assert land.pressure_kpa == pytest.approx(expected, abs=0.01 * expected.max())


def test_more_bands_close_it_at_the_tension_of_the_formula(ring):
    low, high = 0.5 * CLOSES, 1.5 * CLOSES
    assert ring.close(band_tension_n_per_mm=low).lands[0].gap_mm[-1] > 0
    while high - low > 1e-3 * CLOSES:
        middle = 0.5 * (low + high)
        shut = ring.close(band_tension_n_per_mm=middle).lands[0].closed_share == 1
        low, high = (low, middle) if shut else (middle, high)
    assert 0.5 * (low + high) == pytest.approx(CLOSES, rel=0.02)


def test_the_gap_shrinks_with_every_band(ring):
    gaps = [
        ring.close(band_tension_n_per_mm=k * CLOSES).lands[0].gap_mm[-1]
        for k in (0.0, 0.25, 0.5, 0.75, 1.05)
    ]
    assert gaps[0] == pytest.approx(ANGLE * B_MM, rel=1e-6)
    assert (np.diff(gaps) < 0).all()
    assert gaps[-1] == 0


def test_twice_the_gap_needs_twice_the_tension(ring):
    once = ring.close(band_tension_n_per_mm=CLOSES / 2)
    twice = ring.close(band_tension_n_per_mm=CLOSES, gap_mm=[0.0, 2 * ANGLE * B_MM])
    assert twice.lands[0].pressure_kpa == pytest.approx(
        2 * once.lands[0].pressure_kpa, abs=1e-9 * CLOSES * 1000
    )


def at_bore():
    """Pressure at the bore under 1.5 times the pull that closes the outside."""
    made = gaping()
    closing = squeeze.close(made, fineness=3, deformation="small")
    (land,) = closing.lands
    assert land.closed_share == 1
    return float(land.pressure_kpa[0]), closing


def opposite():
    """Hoop pressure on the side without a cut, at the bore, less Lame's: that of the couple."""
    closing = closed(gaping, 3)
    field = closing.field
    corners = field.points_mm[field.triangles[:, :3]]
    at = np.hypot(corners[..., 0] + A_MM, corners[..., 1]) < 1e-6
    return float(
        -1000 * field.stress_mpa[at][:, 1].mean() - pressed_kpa(A_MM, 1.5 * CLOSES)
    ), closing


GOLOVIN = "Kh. Golovin 1881; Timoshenko, Goodier, Theory of Elasticity, 3rd ed. 1970; from memory"
CHECKS = (
    Check(
        "Curved bar under couples: ring whose cut gapes by an angle, closed by bands",
        GOLOVIN,
        "contact pressure at the bore, kPa",
        float(pressed_kpa(A_MM, 1.5 * CLOSES) - joined_kpa(A_MM)),
        at_bore,
        within=0.01,
    ),
    Check(
        "Curved bar under couples: ring whose cut gapes by an angle, closed by bands",
        GOLOVIN,
        "hoop pressure of the couple at the bore, opposite to the cut, kPa",
        float(-joined_kpa(A_MM)),
        opposite,
        within=0.02,
    ),
)
test_published = rows_test(CHECKS)
