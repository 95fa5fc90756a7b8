"""Whether resin can get through: a barrier is a stretch of a land that presses hard enough."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import LineString, Point

from squeeze.mold.section import Loads
from squeeze.solve.closing import Land

Array = NDArray[np.float64]

MARGIN = 2.0
"""How many times the resin's pressure a barrier has to press."""

BARRIER_MM = 1.0
"""Shortest stretch that counts as a barrier [mm]; a judgement, not a published value."""

YARDSTICK_KPA = 1050.0 * 9.80665 * 0.1 / 1000.0
"""Pressure under 100 mm of liquid of 1.05 g/cm3 [kPa]: hydrostatics, density x g x height."""


def resin_kpa(loads: Loads) -> float:
    """Return the resin's pressure [kPa]; the yardstick when no resin is given."""
    return loads.cavity_mpa * 1000.0 if loads.cavity_mpa > 0 else YARDSTICK_KPA


def longest_barrier_mm(s_mm: Array, pressure_kpa: Array, needed_kpa: float) -> float:
    """Return the longest unbroken stretch at `needed_kpa` or more, pressure linear between places.

    Examples
    --------
    >>> longest_barrier_mm(np.array([0.0, 10.0, 20.0]), np.array([0.0, 4.0, 0.0]), 2.0)
    10.0
    """
    over = pressure_kpa - needed_kpa
    k = np.flatnonzero(over[:-1] * over[1:] < 0)
    meets = s_mm[k] + (s_mm[k + 1] - s_mm[k]) * over[k] / (over[k] - over[k + 1])
    s = np.sort(np.concatenate([s_mm, meets]))
    longest = run = 0.0
    for step, middle in zip(np.diff(s), (s[1:] + s[:-1]) / 2, strict=True):
        run = run + step if np.interp(middle, s_mm, over) >= 0 else 0.0
        longest = max(longest, run)
    return float(longest)


def seals(
    land: Land,
    others: tuple[Land, ...],
    needed_kpa: float,
    blind: tuple[bool, bool] = (False, False),
) -> bool:
    """Return whether a barrier parts the land's two ends.

    Where other lands meet it on its way, resin could come or go there, so each part between two
    such meetings has to have a barrier of its own. An end that is `blind`, in the rubber, leads
    nowhere: the part next to it needs none.
    """
    places = np.unique([0.0, *_meetings(land, others), land.length_mm])
    parts = list(pairwise(places))[1 if blind[0] else 0 :]
    parts = parts[:-1] if blind[1] else parts
    return all(_part_seals(land, start, end, needed_kpa) for start, end in parts)


def _part_seals(land: Land, start: float, end: float, needed_kpa: float) -> bool:
    inner = land.s_mm[(land.s_mm > start) & (land.s_mm < end)]
    s = np.concatenate([[start], inner, [end]])
    p = np.interp(s, land.s_mm, land.pressure_kpa)
    return longest_barrier_mm(s, p, needed_kpa) >= min(BARRIER_MM, (end - start) / 2)


def _meetings(land: Land, others: tuple[Land, ...]) -> list[float]:
    path = LineString(np.column_stack([land.x_mm, land.y_mm]))
    found = []
    for other in others:
        if other is land:
            continue
        line = LineString(np.column_stack([other.x_mm, other.y_mm]))
        if path.distance(line) < 1e-3:
            found += [path.project(Point(p)) for p in _shared(path, line)]
    edge = 1e-3 * path.length
    return [s for s in found if edge < s < path.length - edge]


def _shared(path: LineString, line: LineString) -> list[tuple[float, float]]:
    """Return where two lines cross, or where an end of `line` touches `path`."""
    crossing = path.intersection(line)
    points = [p for part in getattr(crossing, "geoms", [crossing]) for p in part.coords]
    points += [p for p in (line.coords[0], line.coords[-1]) if path.distance(Point(p)) < 1e-3]
    return [(p[0], p[1]) for p in points]
