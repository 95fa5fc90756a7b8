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
from squeeze.design.search.on_block import few_of
from squeeze.design.search.places import BandsOn, Place
from squeeze.design.search.screen import (
    LINES,
    SLACK,
    SOFTER,
    TIGHT,
    Linear,
    Screened,
    needed_margin,
)
from squeeze.verdict.casting.flash import HAIRLINE_MM
from squeeze.verdict.grade import STEP_SEEN_MM

Array = NDArray[np.float64]

MARGIN, FLASH, SHIFT, STEP, SMOOTH = (
    LINES.index(name) for name in ("margin", "flash_mm", "shift_mm", "step_mm", "smooth")
)

NO_BANDS = BandsOn(0.0, 1, 0, 0.0)
"""Where a kind of band does not go round a block."""

BEYOND = 0.25
"""How far a forecast may leave the range of what was computed, over that range."""

SOFT = 1e-4
"""Smoothing: contact makes small kinks, which are not to be carried on."""


@dataclass(frozen=True, eq=False)
class Guesses:
    """Blocks with bands, as they are forecast.

    Attributes
    ----------
    places : sequence of Place
    number : array (n,)
        Which of the places each is.
    costs : array (n, 6)
        As `Draft.costs` [each in its own unit].
    """

    places: Sequence[Place]
    number: NDArray[np.intp]
    costs: Array


def together(parts: Sequence[Guesses]) -> Guesses:
    """Return what was forecast for several families as one."""
    places = [place for part in parts for place in part.places]
    starts = np.cumsum([0, *(len(part.places) for part in parts)])[:-1]
    numbers = [part.number + start for part, start in zip(parts, starts, strict=True)]
    costs = [part.costs for part in parts]
    none = np.empty(0, np.intp), np.empty((0, 6))
    return Guesses(places, np.concatenate([none[0], *numbers]), np.vstack([none[1], *costs]))


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

    def guesses(self, places: Sequence[Place]) -> Guesses:
        """Return the blocks that are forecast to hold, with each kind and number of bands."""
        needed = needed_margin(self.limits)
        parts = [(np.empty(0, np.intp), np.empty((0, 6)))]
        lines = self.lines(places) if places else np.empty((0, len(LINES), 2))
        own = np.array([(p.rubber_g, p.steps) for p in places]).reshape(-1, 2)
        for kind in range(max((len(place.bands) for place in places), default=0)):
            has = [p.bands[kind] if kind < len(p.bands) else NO_BANDS for p in places]
            pull, least, most, _ = np.array(has).T
            counts = np.arange(1, int(most.max()) + 1)
            pulls = pull[:, None] * counts
            margin = _at(lines, MARGIN, SLACK * pulls)
            flash, shift, step = (
                np.maximum(SOFTER * _at(lines, k, TIGHT * pulls), 0.0) for k in (FLASH, SHIFT, STEP)
            )
            held = (margin >= needed) & (counts >= least[:, None]) & (counts <= most[:, None])
            clean = (flash < HAIRLINE_MM) & (step < STEP_SEEN_MM)
            k, n = np.nonzero(listed_numbers(held, clean))
            bands = counts[n].astype(float)
            parts.append(
                (
                    k,
                    np.column_stack(
                        [
                            own[k, 0],
                            own[k, 1] + bands,
                            bands,
                            -margin[k, n],
                            flash[k, n],
                            shift[k, n],
                        ]
                    ),
                )
            )
        number, costs = zip(*parts, strict=True)
        return Guesses(places, np.concatenate(number), np.vstack(costs))

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
        most = [[on.pull * on.most for on in place.bands] for place in places]
        return [
            max((float(own[line, 1] + own[line, 0] * SLACK * p) for p in pulls), default=-math.inf)
            for pulls, own in zip(most, self.lines(places), strict=True)
        ]

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
        asked = [(float((margin - start) / (slope * SLACK * on.pull)), on) for on in place.bands]
        found = [max(bands, on.apart, 1.0) for bands, on in asked if bands <= on.most]
        return min(found, default=math.inf)


def listed_numbers(held: NDArray[np.bool_], clean: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return the numbers of bands that are listed: from the fewest to the most that stay clean.

    Parameters
    ----------
    held, clean : array (blocks, numbers)
        Whether the block holds with so many, from 1 on; and whether it stays clean.
    """
    found = np.zeros_like(held)
    for k in np.flatnonzero(held.any(axis=1)):
        numbers = np.flatnonzero(held[k])
        last = max(numbers[clean[k, numbers]], default=numbers[0])
        found[k, few_of(numbers[0], max(last, numbers[min(1, len(numbers) - 1)]))] = True
    return found


def _at(lines: Array, line: int, pulls: Array) -> Array:
    """Return a figure of blocks at their pulls, shape (blocks, pulls)."""
    return lines[:, line, 1, None] + lines[:, line, 0, None] * pulls


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
