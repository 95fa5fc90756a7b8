"""Faces with a shallow elliptical hollow, pressed together.

An open crack 2 c long in a large body under tension p opens elliptically, by 4 p c / E' in its
middle, E' = E / (1 - nu^2) (A. A. Griffith 1921, from C. E. Inglis 1913; from memory). Pressure on
faces with an elliptical hollow g0 deep works the other way: the hollow stays an ellipse of the same
length, g0 - 4 p c / E' deep, until all of it closes at once at p = E' g0 / (4 c). Beside it the
faces press with p |x| / sqrt(x^2 - c^2).
"""

from functools import cache

import numpy as np
import pytest
from pressed import Pressed, along
from verification import Check, rows_test

import squeeze
from squeeze.mold.section.records import Material

C_MM, DEEP_MM, WIDE_MM = 10.0, 0.05, 200.0
RUBBER = Material(0.5, 0.49)
CLOSES_KPA = 1000 * RUBBER.youngs_modulus_mpa / (1 - RUBBER.poisson**2) * DEEP_MM / (4 * C_MM)


def hollow():
    return Pressed(
        half_width_mm=WIDE_MM,
        height_mm=WIDE_MM,
        marks_mm=[C_MM, 2 * C_MM, 5 * C_MM],
        gap_mm=lambda x: DEEP_MM * np.sqrt(np.maximum(1 - (x / C_MM) ** 2, 0)),
        material=RUBBER,
    )


@cache
def closing(share, fineness=4):
    """Close under a share of the pressure that closes the hollow."""
    force = share * CLOSES_KPA / 1000 * 2 * WIDE_MM
    return squeeze.close(
        hollow().pushed(force, 2 * WIDE_MM), fineness=fineness, deformation="small"
    )


def at_half(figure):
    return figure(*along(closing(0.5))), closing(0.5)


GRIFFITH = "A. A. Griffith 1921, C. E. Inglis 1913: the crack that opens elliptically; from memory"
CHECKS = (
    Check(
        "Elliptical hollow in a cut, at half of the pressure that closes it",
        GRIFFITH,
        "gap left in the middle, um",
        1000 * DEEP_MM / 2,
        lambda: at_half(lambda x, p, g: 1000 * float(np.interp(0.0, x, g))),
        within=0.01,
    ),
    Check(
        "Elliptical hollow in a cut, at half of the pressure that closes it",
        GRIFFITH,
        "contact pressure one half-length beside it, kPa",
        0.5 * CLOSES_KPA * 2 / np.sqrt(3),
        lambda: at_half(lambda x, p, g: float(np.interp(2 * C_MM, x, p))),
        within=0.01,
    ),
)
test_published = rows_test(CHECKS)


SLOW = [pytest.param(share, marks=pytest.mark.slow) for share in (0.25, 0.75)]


@pytest.mark.parametrize("share", [0.5, *SLOW])
def test_it_stays_an_ellipse_of_the_same_length(share):
    x, _, g = along(closing(share))
    left = DEEP_MM * np.sqrt(np.maximum(1 - (x / C_MM) ** 2, 0)) * (1 - share)
    inner = np.abs(x) < 0.95 * C_MM
    assert g[inner] == pytest.approx(left[inner], abs=0.01 * DEEP_MM)
    assert (g[np.abs(x) > C_MM] == 0).all()


@pytest.mark.slow
def test_it_closes_all_at_once():
    (x, _, before), (_, _, after) = (along(closing(share, fineness=2)) for share in (0.97, 1.03))
    assert (before[np.abs(x) < 0.8 * C_MM] > 0).all()
    assert after.max() < 0.01 * DEEP_MM
