"""Cuts that end in rubber, short of the outside: where, and how far they would have to go."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from shapely.geometry import LineString

from squeeze.mold.section.records import Section
from squeeze.verdict.place import end_at

XY = tuple[float, float]


@dataclass(frozen=True)
class ShortCut:
    """An end of a cut that stops in rubber.

    Attributes
    ----------
    cut : str
    number : int
        Of the cut in the section, from 0.
    at_start : bool
        Whether it is the beginning of the cut's path.
    at_mm : (x, y)
        Where it stops.
    out_mm : (x, y)
        Where it would come out, carried on straight.
    short_mm : float
        From one to the other.
    """

    cut: str
    number: int
    at_start: bool
    at_mm: XY
    out_mm: XY
    short_mm: float


def short_cuts(section: Section) -> tuple[ShortCut, ...]:
    """Return the ends of cuts that stop in rubber, with where they would come out."""
    return tuple(
        found
        for number, cut in enumerate(section.cuts)
        if cut.stretches
        for at_start in (True, False)
        if (found := _short(section, number, at_start)) is not None
    )


def _short(section: Section, number: int, at_start: bool) -> ShortCut | None:
    cut = section.cuts[number]
    points = cut.stretches[0].points if at_start else cut.stretches[-1].points[::-1]
    end, before = np.array(points[0]), np.array(points[1])
    if end_at((float(end[0]), float(end[1])), cut.name, section).kind != "rubber":
        return None
    x0, y0, x1, y1 = section.outline.polygon.bounds
    far = math.hypot(x1 - x0, y1 - y0)
    direction = (end - before) / np.hypot(*(end - before))
    ray = LineString([end, end + far * direction]).intersection(section.outline.polygon.exterior)
    if ray.is_empty:
        return None
    places = [np.array(p.coords[0]) for p in getattr(ray, "geoms", [ray])]
    out = min(places, key=lambda p: float(np.hypot(*(p - end))))
    return ShortCut(
        cut.name,
        number,
        at_start,
        _rounded(end),
        _rounded(out),
        float(np.hypot(*(out - end))),
    )


def _rounded(point: np.ndarray) -> XY:
    """Return a place without the rounding of how it was found."""
    x, y = (round(float(v), 6) + 0.0 for v in point)
    return x, y
