"""A wavy parting line pressed flat, from a few lines of contact to full closure.

H. M. Westergaard, J. Appl. Mech. 6 (1939) 49; the formula was confirmed by a published reference
computation. The source has an endless row of waves on two half-planes; here nine waves on blocks
somewhat higher than a wave is long, and the middle wave is looked at. Of five waves the ends curl
away, and the middle one carries 1 to 2 % less than its share.
"""

import numpy as np
import pytest

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


def middle_wave(pressed, share):
    row = pressed(
        half_width_mm=WAVES * WAVE_MM / 2,
        height_mm=HEIGHT_MM,
        marks_mm=MARKS_MM,
        gap_mm=lambda x: AMPLITUDE_MM * (1 - np.cos(2 * np.pi * x / WAVE_MM)),
        material=RUBBER,
    )
    wide = WAVES * WAVE_MM
    x, p, g = row.places(share * FULL_KPA / 1000 * wide, wide, fineness=2)
    middle = np.abs(x) <= WAVE_MM / 2 + 1e-9
    return x[middle], p[middle], g[middle]


def test_the_formulas_have_the_published_values():
    assert FULL_KPA == pytest.approx(2.5839, abs=5e-5)
    share = np.array([0.1, 0.25, 0.5, 0.75, 0.9])
    ratio = 2 * half_length_mm(share) / WAVE_MM
    assert ratio == pytest.approx([0.20483, 0.33333, 0.5, 0.66667, 0.79517], abs=5e-6)


@pytest.mark.parametrize("share", [0.1, 0.25, 0.5, 0.75, 0.9])
def test_contact_on_a_crest(pressed, share):
    x, p, g = middle_wave(pressed, share)
    edge = np.diff(x).max()
    a = half_length_mm(share)
    last, first = np.abs(x[p > 0]).max(), np.abs(x[g > 0]).min()
    assert 0.5 * (last + first) == pytest.approx(a, abs=edge)
    assert p.max() == pytest.approx(2 * np.sqrt(share) * FULL_KPA, rel=1e-2)
    inner = np.abs(x) < a - 2 * edge
    assert p[inner] == pytest.approx(pressure_kpa(x[inner], share), rel=3e-2)


def test_what_stays_open_at_half_of_full_closure(pressed):
    x, p, g = middle_wave(pressed, 0.5)
    assert g.max() == pytest.approx(26.6e-3, rel=1e-2)
    assert np.trapezoid(g, x) / WAVE_MM == pytest.approx(7.67e-3, rel=1e-2)
    assert np.trapezoid(p, x) / WAVE_MM == pytest.approx(0.5 * FULL_KPA, rel=5e-3)


def test_just_past_full_closure_nothing_is_open(pressed):
    x, p, g = middle_wave(pressed, 1.05)
    assert (g == 0).all()
    closed = FULL_KPA * (1.05 + np.cos(2 * np.pi * x / WAVE_MM))
    assert p == pytest.approx(closed, abs=0.02 * FULL_KPA)
