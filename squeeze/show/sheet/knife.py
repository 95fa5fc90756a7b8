"""Where the knife goes: the corners of every cut that lie in rubber."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely.geometry import LineString, Point

from squeeze.mold.section.records import Cut, Section

XY = tuple[float, float]
STRAY_MM = 0.2
"""Points that lie this near to the line past them are left out."""

MOST_POINTS = 12
NEAR_MM = 0.05


@dataclass(frozen=True)
class KnifePoint:
    """A corner of a cut: its letter, where it is [mm], and how far from the two edges [mm]."""

    letter: str
    at: XY
    from_left_mm: float
    from_bottom_mm: float


def knife_points(section: Section) -> tuple[tuple[KnifePoint, ...], ...]:
    """Return the corners of each cut, in the order of the cuts, lettered over all of them."""
    x0, y0, _, _ = section.outline.polygon.bounds
    found, number = [], 0
    for cut in section.cuts:
        points = []
        for at in _corners(cut, section):
            points.append(KnifePoint(_letter(number), at, at[0] - x0, at[1] - y0))
            number += 1
        found.append(tuple(points))
    return tuple(found)


def _letter(number: int) -> str:
    """Return a, b, ... z, aa, ab, ...

    Examples
    --------
    >>> _letter(0), _letter(25), _letter(26), _letter(53)
    ('a', 'z', 'aa', 'bb')
    """
    one = chr(ord("a") + number % 26)
    return one if number < 26 else chr(ord("a") + number // 26 - 1) + one


def _corners(cut: Cut, section: Section) -> list[XY]:
    """Return the corners of a cut from its beginning to its end, straight through cavities."""
    path: list[XY] = []
    for stretch in cut.stretches:
        path += [p for p in stretch.points if not path or math.dist(path[-1], p) > NEAR_MM]
    inner = [p for p in path[1:-1] if not _on_a_cavity(p, section)]
    points = [path[0], *inner, path[-1]] if len(path) > 1 else path
    if len(points) < 3:
        return points
    for stray in (STRAY_MM, 0.5, 1.0, 2.0, 5.0):
        thin = np.asarray(LineString(points).simplify(stray).coords)
        if len(thin) <= MOST_POINTS:
            break
    return [(float(x), float(y)) for x, y in thin]


def _on_a_cavity(point: XY, section: Section) -> bool:
    edges = (cavity.loop.polygon.exterior for cavity in section.cavities)
    return any(edge.distance(Point(point)) < NEAR_MM for edge in edges)


def cutting_order(cuts: Sequence[Cut]) -> list[int]:
    """Return in which order to cut: a cut that ends on another comes after it, else as written."""
    lines = [[LineString(s.points) for s in cut.stretches] for cut in cuts]
    after = [
        {j for j in range(len(cuts)) if j != i and _ends_on(cut, lines[j])}
        for i, cut in enumerate(cuts)
    ]
    done: list[int] = []
    while len(done) < len(cuts):
        ready = [i for i in range(len(cuts)) if i not in done and after[i] <= set(done)]
        done.append(ready[0] if ready else next(i for i in range(len(cuts)) if i not in done))
    return done


def _ends_on(cut: Cut, lines: Sequence[LineString]) -> bool:
    ends = [
        p for s in (cut.stretches[:1] + cut.stretches[-1:]) for p in (s.points[0], s.points[-1])
    ]
    return any(line.distance(Point(end)) < NEAR_MM for line in lines for end in ends)
