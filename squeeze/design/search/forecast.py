"""Forecasting how blocks close from those of their family that were computed.

Contact pressure is the pull over the length of cut that it presses, times a number for the shape;
deformation is the pull over the stiffness, times another. Those numbers change slowly with the
shape. Radial basis functions (scipy's `RBFInterpolator`, thin plates) carry them from block to
block. A forecast only says what to compute next: no figure of an answer comes from it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import RBFInterpolator

from squeeze.design.blocks.limits import Limits
from squeeze.design.search.given_up import Unfit
from squeeze.design.search.on_block import few_of
from squeeze.design.search.places import Place
from squeeze.design.search.screen import (
    LINES,
    PITCH,
    SLACK,
    SOFTER,
    TIGHT,
    Linear,
    Screened,
    bands_for,
    kind_pull,
    needed_margin,
)
from squeeze.verdict.casting.flash import HAIRLINE_MM
from squeeze.verdict.grade import STEP_SEEN_MM

Array = NDArray[np.float64]

MARGIN, SHIFT, SMOOTH = LINES.index("margin"), LINES.index("shift_mm"), LINES.index("smooth")

BEYOND = 0.25
"""How far a forecast may leave the range of what was computed, over that range."""

SOFT = 1e-4
"""Smoothing: contact makes small kinks, which are not to be carried on."""


@dataclass(frozen=True)
class ForecastRow:
    """A block with bands, as it is forecast.

    Attributes
    ----------
    place : Place
    costs : tuple of float
        As `Draft.costs`.
    """

    place: Place
    costs: tuple[float, ...]


class Forecast:
    """What the blocks of a family that were computed say about the others.

    Parameters
    ----------
    places : sequence of Place
    got : sequence of Screened
        What was computed for each of them.
    limits : Limits
    """

    def __init__(self, places: Sequence[Place], got: Sequence[Screened], limits: Limits) -> None:
        self.limits = limits
        figures = np.array([place.figures for place in places])
        self.middle = figures.mean(axis=0)
        self.scale = np.array([1.0, 1.0, 0.4, 1.0, 0.3, 0.9])
        values = np.array([_numbers(p, g) for p, g in zip(places, got, strict=True)])
        low, high = values.min(axis=0), values.max(axis=0)
        self.bounds = low - BEYOND * (high - low), high + BEYOND * (high - low)
        known = (figures - self.middle) / self.scale
        self.varied = np.ptp(known, axis=0) > 1e-6
        rank = int(np.linalg.matrix_rank(known[:, self.varied])) if self.varied.any() else 0
        linear = len(places) >= 2 * (int(self.varied.sum()) + 1) and rank == self.varied.sum()
        self._fit = None
        self._mean = values.mean(axis=0)
        if len(places) > 1 and self.varied.any():
            self._fit = RBFInterpolator(
                known[:, self.varied],
                values,
                kernel="thin_plate_spline" if linear else "linear",
                degree=1 if linear else 0,
                smoothing=SOFT,
            )

    def lines(self, places: Sequence[Place]) -> Array:
        """Return slope and value without pull of each of `LINES`, shape (places, 5, 2)."""
        if self._fit is None:
            values = np.tile(self._mean, (len(places), 1))
        else:
            at = (np.array([p.figures for p in places]) - self.middle) / self.scale
            values = np.clip(self._fit(at[:, self.varied]), *self.bounds)
        found = values.reshape(len(places), len(LINES), 2)
        wide = np.array([place.width_mm for place in places])
        found[:, (MARGIN, SMOOTH), 0] /= wide[:, None]
        found[:, SHIFT, 0] = np.exp(found[:, SHIFT, 0])
        found[:, SHIFT, 1] *= found[:, SHIFT, 0]
        return found

    def rows(self, places: Sequence[Place]) -> list[ForecastRow]:
        """Return the blocks that are forecast to hold, with each kind and number of bands."""
        if not places:
            return []
        needed, found = needed_margin(self.limits), []
        for place, lines in zip(places, self.lines(places), strict=True):
            for pull_of, counts in self._bands(place):
                held = [n for n in counts if _at(lines[0], SLACK * pull_of[n]) >= needed]
                if not held:
                    continue
                clean = [n for n in held if _is_clean(lines, pull_of[n])]
                last = max(max(clean, default=held[0]), held[min(1, len(held) - 1)])
                for n in few_of(held[0], last):
                    pull = pull_of[n]
                    costs = (
                        place.rubber_g,
                        float(place.steps + n),
                        float(n),
                        -_at(lines[0], SLACK * pull),
                        max(0.0, SOFTER * _at(lines[1], TIGHT * pull)),
                        max(0.0, SOFTER * _at(lines[2], TIGHT * pull)),
                    )
                    found.append(ForecastRow(place, costs))
        return found

    def margins(self, places: Sequence[Place], line: int = MARGIN) -> list[float]:
        """Return the margin that the bands at hand are forecast to give at the most.

        Parameters
        ----------
        places : sequence of Place
        line : int
            `SMOOTH` for the smooth margin, which says how far an open land is from closing.
        """
        if not places:
            return []
        found = []
        for place, lines in zip(places, self.lines(places), strict=True):
            pulls = [max(pull_of.values()) for pull_of, _ in self._bands(place)]
            found.append(max((_at(lines[line], SLACK * p) for p in pulls), default=-math.inf))
        return found

    def bands_needed(self, place: Place, margin: float) -> float:
        """Return how many bands a margin asks for, as a real number: that changes smoothly.

        Parameters
        ----------
        place : Place
        margin : float

        Returns
        -------
        float
            The least over the kinds of band; infinite where no number gives the margin.
        """
        slope, start = self.lines([place])[0, MARGIN]
        if slope <= 0:
            return math.inf
        apart = self.limits.length_mm / (PITCH * place.side_mm)
        found = []
        for pull_of, counts in self._bands(place):
            one = pull_of[counts[0]] / counts[0]
            bands = float((margin - start) / (slope * SLACK * one))
            if bands <= counts[-1]:
                found.append(max(bands, min(apart, counts[-1]), 1.0))
        return min(found, default=math.inf)

    def _bands(self, place: Place) -> list[tuple[dict[int, float], list[int]]]:
        length, found = self.limits.length_mm, []
        least = max(1, math.ceil(length / (PITCH * place.side_mm) - 1e-9))
        try:
            kinds = bands_for(place.wrap_mm, self.limits)
        except Unfit:
            return []
        for kind, most in kinds:
            counts = list(range(min(least, most) if kind.most else 1, most + 1))
            one = kind_pull(kind, 1, place.wrap_mm, length)
            found.append(({n: n * one for n in counts}, counts))
        return found


def _at(line: Array, pull: float) -> float:
    return float(line[1] + line[0] * pull)


def _is_clean(lines: Array, pull: float) -> bool:
    flash, step = (SOFTER * _at(lines[k], TIGHT * pull) for k in (1, 3))
    return flash < HAIRLINE_MM and step < STEP_SEEN_MM


def _numbers(place: Place, got: Screened) -> list[float]:
    """Return slope and value without pull of each line, freed of the size of the block."""
    found = []
    for name in LINES:
        slope, start = _line(getattr(got, name))
        if name == "shift_mm":  # never below zero, whatever the forecast
            slope = max(slope, 1e-9)
            found += [math.log(slope), start / slope]
        else:
            found += [slope * place.width_mm if name in ("margin", "smooth") else slope, start]
    return found


def _line(line: Linear) -> tuple[float, float]:
    slope = (line.values[1] - line.values[0]) / (line.at[1] - line.at[0])
    return slope, line.values[0] - slope * line.at[0]
