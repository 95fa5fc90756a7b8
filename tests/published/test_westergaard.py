"""A wavy parting line pressed flat, from a few lines of contact to full closure.

H. M. Westergaard, J. Appl. Mech. 6 (1939) 49; the formula was confirmed by a published reference
computation. The source has an endless row of waves on two half-planes; here nine waves on blocks
somewhat higher than a wave is long, and the middle wave is looked at. Of five waves the ends curl
away, and the middle one carries 1 to 2 % less than its share.
"""

from functools import cache

import numpy as np
import pytest
from pressed import Pressed, along
from verification import Check, rows_test

import squeeze
from squeeze.mold.section.records import Material

AMPLITUDE_MM, WAVE_MM, WAVES, HEIGHT_MM = 0.05, 20.0, 9, 24.0
RUBBER = Material(0.5, 0.49)
E_STAR = RUBBER.youngs_modulus_mpa / (1 - RUBBER.poisson**2) / 2
FULL_KPA = 1000 * np.pi * E_STAR * AMPLITUDE_MM / WAVE_MM
MARKS_MM = [2.5 * k for k in range(5)] + [20.0, 40.0, 60.0, 80.0]
"""Ends of stretches: fine on the middle wave, ten edges on each of the others."""


def half_length_mm(share):
    """Of the contact on one crest, when the mean pressure is `share` of full closure."""
    return WAVE_MM / np.pi * np.arcsin(np.sqrt(share))


def pressure_kpa(x, share):
    k, s = np.pi / WAVE_MM, np.sqrt(share)
    inside = np.maximum(s**2 - np.sin(k * x) ** 2, 0)
    return 2 * FULL_KPA * np.cos(k * x) * np.sqrt(inside)


def waves():
    return Pressed(
        half_width_mm=WAVES * WAVE_MM / 2,
        height_mm=HEIGHT_MM,
        marks_mm=MARKS_MM,
        gap_mm=lambda x: AMPLITUDE_MM * (1 - np.cos(2 * np.pi * x / WAVE_MM)),
        material=RUBBER,
    )


@cache
def closing(share, fineness):
    """Close under a share of the pressure of full closure."""
    wide = WAVES * WAVE_MM
    mold = waves().pushed(share * FULL_KPA / 1000 * wide, wide)
    return squeeze.close(mold, fineness=fineness, deformation="small")


def middle_wave(share, fineness):
    x, p, g = along(closing(share, fineness))
    middle = np.abs(x) <= WAVE_MM / 2 + 1e-9
    return x[middle], p[middle], g[middle]


FINE = [pytest.param(share, 2, marks=pytest.mark.slow) for share in (0.1, 0.25, 0.5, 0.75, 0.9)]


@pytest.mark.parametrize(("share", "fineness"), [(0.5, 1), *FINE])
def test_contact_on_a_crest(share, fineness):
    x, p, g = middle_wave(share, fineness)
    edge = np.diff(x).max()
    a = half_length_mm(share)
    last, first = np.abs(x[p > 0]).max(), np.abs(x[g > 0]).min()
    assert 0.5 * (last + first) == pytest.approx(a, abs=edge)
    assert p.max() == pytest.approx(2 * np.sqrt(share) * FULL_KPA, rel=1e-2)
    inner = np.abs(x) < a - 2 * edge
    assert p[inner] == pytest.approx(pressure_kpa(x[inner], share), rel=3e-2)


@pytest.mark.slow
def test_what_stays_open_at_half_of_full_closure():
    x, p, g = middle_wave(0.5, 2)
    assert g.max() == pytest.approx(26.6e-3, rel=1e-2)
    assert np.trapezoid(g, x) / WAVE_MM == pytest.approx(7.67e-3, rel=1e-2)
    assert np.trapezoid(p, x) / WAVE_MM == pytest.approx(0.5 * FULL_KPA, rel=5e-3)


@pytest.mark.slow
def test_just_past_full_closure_nothing_is_open():
    x, p, g = middle_wave(1.05, 2)
    assert (g == 0).all()
    closed = FULL_KPA * (1.05 + np.cos(2 * np.pi * x / WAVE_MM))
    assert p == pytest.approx(closed, abs=0.02 * FULL_KPA)


def half_closed(figure):
    """Return a figure of the middle wave at half of full closure: (share that touches, gap)."""
    return figure(*middle_wave(0.5, 2)), closing(0.5, 2)


def touching(x, p, g):
    return (np.abs(x[p > 0]).max() + np.abs(x[g > 0]).min()) / WAVE_MM


def mean_gap_um(x, p, g):
    return 1000 * np.trapezoid(g, x) / WAVE_MM


def exact_mean_gap_um(share):
    """Integrate the gap from its slope on the open part.

    Pressure and half of E* times the slope are real and imaginary part of one function,
    2 p* cos kz sqrt(share - sin^2 kz) with k = pi / wave; at share 0 it is the unloaded slope.
    """
    k, a = np.pi / WAVE_MM, half_length_mm(share)
    x = a + (WAVE_MM / 2 - a) * np.linspace(0, 1, 20001) ** 2
    root = np.sqrt(np.maximum(np.sin(k * x) ** 2 - share, 0))
    slope = 4 * FULL_KPA / 1000 / E_STAR * np.cos(k * x) * root
    gap = np.concatenate([[0], np.cumsum(0.5 * (slope[1:] + slope[:-1]) * np.diff(x))])
    return 1000 * 2 * np.trapezoid(gap, x) / WAVE_MM


WESTERGAARD = "H. M. Westergaard, J. Appl. Mech. 6 (1939) 49; from memory"
CHECKS = (
    Check(
        "Wavy parting line, half of the pressure that closes it",
        WESTERGAARD,
        "share that touches",
        0.5,
        lambda: half_closed(touching),
        within=0.02,
        slow=True,
    ),
    Check(
        "Wavy parting line, half of the pressure that closes it",
        WESTERGAARD,
        "mean gap, um",
        exact_mean_gap_um(0.5),
        lambda: half_closed(mean_gap_um),
        within=0.01,
        slow=True,
    ),
)
test_published = rows_test(CHECKS)
