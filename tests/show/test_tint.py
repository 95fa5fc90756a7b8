"""Levels of pressure: one hue, even steps, dark = more; judged in CIE Lab, not in Oklab."""

from __future__ import annotations

import numpy as np
import pytest

from squeeze.show.figure.tint import levels, round_down, round_up, tint

SRGB_TO_XYZ = np.array(
    [
        [0.4124564, 0.3575761, 0.1804375],
        [0.2126729, 0.7151522, 0.0721750],
        [0.0193339, 0.1191920, 0.9503041],
    ]
)
"""IEC 61966-2-1, D65 (from memory)."""


def lab(rgb):
    """CIE 1976 L*a*b* (CIE 15), D65 white."""
    rgb = np.asarray(rgb)
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    t = SRGB_TO_XYZ @ linear / (SRGB_TO_XYZ @ np.ones(3))
    f = np.where(t > (6 / 29) ** 3, np.cbrt(t), t * (29 / 6) ** 2 / 3 + 4 / 29)
    return 116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])


@pytest.mark.parametrize("count", [4, 6, 8])
def test_lightness_falls_in_even_steps(count):
    light = np.array([lab(tint(d))[0] for d in np.linspace(0, 1, count)])
    steps = -np.diff(light)
    assert steps.min() > 5
    assert steps.max() < 1.25 * steps.min()


def test_one_hue():
    _, a, b = np.array([lab(tint(d)) for d in np.linspace(0.05, 1, 20)]).T
    hue = np.unwrap(np.arctan2(b, a))
    assert np.hypot(a, b).min() > 3
    assert np.ptp(np.rad2deg(hue)) < 15


@pytest.mark.parametrize("top", [0.3, 1.0, 7.0, 31.0, 36.9, 410.0])
def test_levels_are_round_and_reach_the_top(top):
    made = levels(top)
    assert made.edges[-1] >= top * (1 - 1e-9)
    assert 4 <= len(made.colours) <= 8
    digits = made.step / 10 ** np.floor(np.log10(made.step))
    assert min(abs(digits - d) for d in (1, 2, 5)) < 1e-9


@pytest.mark.parametrize("top", [0.3, 7.0, 36.9, 410.0])
def test_levels_are_round_in_the_unit_that_is_shown(top):
    psi = 0.145037738
    made = levels(top, times=psi)
    assert made.edges[-1] >= top * (1 - 1e-9)
    assert made.step * psi == pytest.approx(levels(top * psi).step)
    assert len(made.colours) == len(levels(top * psi).colours)


def test_levels_give_each_value_its_step():
    made = levels(8.0)
    assert made.of([0.0, 0.99, 1.0, 99.0]) == [made.colours[k] for k in (0, 0, 1, -1)]


def test_round_numbers():
    assert [round_up(x) for x in (0.11, 1.0, 2.1, 6.0)] == [0.2, 1.0, 5.0, 10.0]
    assert [round_down(x) for x in (0.11, 1.0, 2.1, 6.0)] == [0.1, 1.0, 2.0, 5.0]
