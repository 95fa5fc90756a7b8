"""What a drawing holds before anything is made of it: lines, arcs and free curves, in mm, y up."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from squeeze.mold.errors import BadInput, Fault
from squeeze.mold.file.units import MM_PER_INCH

XY = tuple[float, float]
Points = NDArray[np.float64]

MM_PER = {
    "mm": 1.0,
    "cm": 10.0,
    "in": MM_PER_INCH,
    "px": MM_PER_INCH / 96,
    "pt": MM_PER_INCH / 72,
}
"""Units of length by their names in drawings; a px is a 96th of an inch (W3C CSS values)."""


@dataclass(frozen=True)
class Corner:
    """A place, and how the line to the next one bulges: the tangent of a quarter of its turning.

    0 is straight, 1 a half circle counter-clockwise, negative clockwise.
    """

    at: XY
    bulge: float = 0.0


@dataclass(frozen=True)
class Stroke:
    """A line of a drawing from where the pen is set down to where it is lifted.

    Attributes
    ----------
    corners : tuple of Corner
        From its beginning to its end; the bulge of the last one counts only where it is closed.
    closed : bool
    name : str
        What the drawing calls it: an id or a layer.
    """

    corners: tuple[Corner, ...]
    closed: bool
    name: str


@dataclass(frozen=True)
class FreeCurve:
    """A smooth curve by its parameter in 0..1: places (n, 2) and directions (n, 2)."""

    at: Callable[[Points], Points]
    along: Callable[[Points], Points]


def bezier(control: Points) -> FreeCurve:
    """Return the Bezier curve of two to four control points (n, 2), of degree n - 1."""
    n = len(control) - 1
    step = n * np.diff(control, axis=0)

    def weights(t: Points, degree: int) -> Points:
        t = np.atleast_1d(t)[:, None]
        k = np.arange(degree + 1)
        choose = np.array([math.comb(degree, int(j)) for j in k])
        return choose * t**k * (1 - t) ** (degree - k)

    return FreeCurve(lambda t: weights(t, n) @ control, lambda t: weights(t, n - 1) @ step)


def fail(text: str, key: str = "drawing") -> BadInput:
    """Return the error on a drawing: `text` says what is wrong, `key` of the mold file where."""
    return BadInput([Fault(key, text)])
