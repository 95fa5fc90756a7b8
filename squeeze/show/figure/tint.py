"""Levels of pressure in one hue, from light to dark in even steps of lightness.

The steps are even in the lightness of the Oklab colour space (B. Ottosson 2020, matrices from
memory; the tests check them against CIE L*), so that they stay even in grey print.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

HUE_DEG = 338.0
LIGHTEST, DARKEST = 0.95, 0.30
CHROMA = 0.12

_TO_CONES = np.array(
    [
        [1.0, 0.3963377774, 0.2158037573],
        [1.0, -0.1055613458, -0.0638541728],
        [1.0, -0.0894841775, -1.2914855480],
    ]
)
_TO_RGB = np.array(
    [
        [4.0767416621, -3.3077115913, 0.2309699292],
        [-1.2684380046, 2.6097574011, -0.3413193965],
        [-0.0041960863, -0.7034186147, 1.7076147010],
    ]
)


def tint(depth: float) -> tuple[float, float, float]:
    """Return the colour (red, green, blue in 0..1) at `depth`, from 0 = lightest to 1 = darkest."""
    lightness = LIGHTEST + (DARKEST - LIGHTEST) * depth
    rgb = np.ones(3)
    most = CHROMA * min(1.0, (0.15 + 2.4 * depth))
    for chroma in np.linspace(most, 0.0, 24):
        rgb = _linear_rgb(lightness, chroma)
        if rgb.min() >= 0.0 and rgb.max() <= 1.0:
            break
    shown = np.where(rgb <= 0.0031308, 12.92 * rgb, 1.055 * rgb ** (1 / 2.4) - 0.055)
    return float(shown[0]), float(shown[1]), float(shown[2])


def _linear_rgb(lightness: float, chroma: float) -> NDArray[np.float64]:
    hue = np.deg2rad(HUE_DEG)
    cones = _TO_CONES @ np.array([lightness, chroma * np.cos(hue), chroma * np.sin(hue)])
    return _TO_RGB @ cones**3


@dataclass(frozen=True)
class Levels:
    """Even steps of a quantity, each with its colour.

    Attributes
    ----------
    step : float
        Width of a level; the first begins at 0.
    colours : tuple of (red, green, blue)
        One a level, light to dark; what lies above the last takes its colour.
    """

    step: float
    colours: tuple[tuple[float, float, float], ...]

    @property
    def edges(self) -> tuple[float, ...]:
        """Where the levels begin and end."""
        return tuple(self.step * k for k in range(len(self.colours) + 1))

    def of(self, value: ArrayLike) -> list[tuple[float, float, float]]:
        """Return the colour of each `value` (n,)."""
        k = np.floor(np.asarray(value, float) / self.step + 1e-9).astype(int)
        return [self.colours[i] for i in np.clip(k, 0, len(self.colours) - 1)]


def levels(top: float, times: float = 1.0) -> Levels:
    """Return 4 to 8 levels of round width from 0 to at least `top` [kPa].

    Parameters
    ----------
    top : float
    times : float
        How many of the unit that is shown make one of `top`; widths are round in that unit.

    Examples
    --------
    >>> levels(35.0).edges
    (0.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0)
    >>> levels(36.0, times=0.5).edges
    (0.0, 10.0, 20.0, 30.0, 40.0)
    """
    step = round_up(max(top, 1e-6) * times / 8) / times
    count = max(4, int(np.ceil(top / step - 1e-9)))
    return Levels(step, tuple(tint(k / (count - 1)) for k in range(count)))


def round_up(value: float) -> float:
    """Return the least of 1, 2, 5 times a power of ten that is not below `value`."""
    power = 10.0 ** np.floor(np.log10(value))
    return float(next(m * power for m in (1, 2, 5, 10) if m * power >= value * (1 - 1e-9)))


def round_down(value: float) -> float:
    """Return the largest of 1, 2, 5 times a power of ten that is not above `value`."""
    power = 10.0 ** np.floor(np.log10(value))
    return float(next(m * power for m in (5, 2, 1) if m * power <= value * (1 + 1e-9)))
