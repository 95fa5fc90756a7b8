"""Parting lines through the outlines of all models, from one section to the next."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import LineString, Polygon

from squeeze.mold.model.parting import XY, extremes_of, place_at, steady

Points = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Outline:
    """An outline of a section.

    Attributes
    ----------
    model, number : int
        Which model it is of, and which of its outlines, the same from section to section.
    ring, thin : array (n, 2)
        As the mesh gives it, and with the least number of points [mm].
    """

    model: int
    number: int
    ring: Points
    thin: Points


def numbered(rings: Sequence[Points], before: Sequence[Outline]) -> list[int]:
    """Return which outline of the section before each of `rings` (n, 2) goes on.

    A new number where none does.
    """
    middles = [Polygon(ring).centroid for ring in rings]
    pairs = sorted(
        (middle.distance(Polygon(each.ring).centroid), k, each.number)
        for k, middle in enumerate(middles)
        for each in before
    )
    found: dict[int, int] = {}
    for _, k, number in pairs:
        if k not in found and number not in found.values():
            found[k] = number
    for k in range(len(rings)):
        if k not in found:
            found[k] = next(n for n in range(len(rings) + len(before)) if n not in found.values())
    return [found[k] for k in range(len(rings))]


def ends_of(sections: Sequence[Sequence[Outline]]) -> list[list[tuple[XY, XY]]]:
    """Return where the parting line meets each outline, left and right, section by section."""
    met: list[list[Any]] = [[None] * len(outlines) for outlines in sections]
    runs: dict[tuple[int, int], list[list[tuple[int, int]]]] = {}
    for s, outlines in enumerate(sections):
        for k, each in enumerate(outlines):
            own = runs.setdefault((each.model, each.number), [])
            if not own or own[-1][-1][0] != s - 1 or not _goes_on(sections, s, each):
                own.append([])
            own[-1].append((s, k))
    for run in (run for own in runs.values() for run in own):
        outlines = [sections[s][k] for s, k in run]
        both = [extremes_of(each.ring) for each in outlines]
        lefts, rights = (steady([pair[side] for pair in both]) for side in (0, 1))
        for (s, k), each, a, b in zip(run, outlines, lefts, rights, strict=True):
            met[s][k] = place_at(each.thin, a, True), place_at(each.thin, b, False)
    return met


def _goes_on(sections: Sequence[Sequence[Outline]], s: int, each: Outline) -> bool:
    """Return whether a model has as many outlines in a section as in the one before it.

    Where an outline parts in two, each part begins a parting line of its own.
    """
    count = [sum(one.model == each.model for one in sections[k]) for k in (s - 1, s)]
    return s > 0 and count[0] == count[1]


def cuts_of(
    outlines: Sequence[Outline], ends: Sequence[tuple[XY, XY]], wide: float
) -> list[dict[str, Any]]:
    """Return the cuts through the silhouettes: one through all outlines beside each other.

    The section is `wide` [mm].

    An outline over another takes a cut of its own, unless the first one meets it already.
    """
    rows: list[list[int]] = []
    for k in sorted(range(len(ends)), key=lambda k: ends[k][0][0]):
        free = [row for row in rows if ends[row[-1]][1][0] < ends[k][0][0]]
        if free:
            nearest = min(free, key=lambda row: abs(ends[row[-1]][1][1] - ends[k][0][1]))
            nearest.append(k)
        else:
            rows.append([k])
    made: list[dict[str, Any]] = []
    for row in rows:
        lines = [LineString(each["path_mm"]) for each in made]
        if all(any(line.intersects(Polygon(outlines[k].thin)) for line in lines) for k in row):
            continue
        path = [(-wide / 2, ends[row[0]][0][1])]
        path += [place for k in row for place in ends[k]]
        path.append((wide / 2, path[-1][1]))
        name = "parting line" if not made else f"parting line {len(made) + 1}"
        made.append({"name": name, "path_mm": [[round(x, 3), round(y, 3)] for x, y in path]})
    return made


def steepest_deg(
    sections: Sequence[Sequence[Outline]], ends: Sequence[Sequence[tuple[XY, XY]]], step: float
) -> float:
    """Return how steeply a parting line rises from one section to the next, at most [degrees].

    Sections stand `step` apart [mm].
    """
    steepest = 0.0
    for s in range(1, len(sections)):
        before = {
            (each.model, each.number): pair
            for each, pair in zip(sections[s - 1], ends[s - 1], strict=True)
        }
        for each, pair in zip(sections[s], ends[s], strict=True):
            old = before.get((each.model, each.number))
            if old is not None and _goes_on(sections, s, each):
                rise = max(abs(pair[side][1] - old[side][1]) for side in (0, 1))
                steepest = max(steepest, math.degrees(math.atan2(rise, step)))
    return steepest
