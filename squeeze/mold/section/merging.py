"""Places of cuts that are meant to be one: typed figures are rounded, meshes are not."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

from shapely.geometry import LineString, Point

from squeeze.mold.section.clearance import Run, joints, once
from squeeze.mold.section.cut_path import XY, Body, on_edge
from squeeze.mold.tables.values import SAME_MM

_SAME = 1e-7


def gathered(runs: Sequence[Run], body: Body) -> list[Run]:
    """Return the stretches with all places that lie within 0.02 mm of each other made one.

    These are ends on edges (which go to the end of a piece of the edge when one is as near), and
    places where cuts meet. A stretch that passes such a place gets a point there.
    """
    ends = [spot for run in runs for end in run.ends if (spot := _edge_place(end, body))]
    met = [spot for a, b in combinations(runs, 2) for spot in joints(a, b)]
    spots = once([*ends, *met])
    return [_through(run, spots) for run in runs]


def _edge_place(end: XY, body: Body) -> XY | None:
    """Return the place on an edge for an end that lies on one, or None."""
    if on_edge(end, body) is None:
        return None
    for loop in body.loops:
        for piece in loop.pieces_near(end, SAME_MM):
            x, y = piece.at(0.0)[0]
            if math.dist((x, y), end) < SAME_MM:
                return float(x), float(y)
    return end


def _through(run: Run, spots: Sequence[XY]) -> Run:
    points = list(run.stretch.points)
    for spot in spots:
        if run.line.distance(Point(spot)) < SAME_MM:
            points = _put(points, spot)
    return Run(run.cut, run.name, replace(run.stretch, points=tuple(points)))


def _put(points: list[XY], spot: XY) -> list[XY]:
    """Return the path with `spot` in place of a near point of it, or as a point of its own."""
    near = min(range(len(points)), key=lambda i: math.dist(points[i], spot))
    if math.dist(points[near], spot) < SAME_MM:
        return [*points[:near], spot, *points[near + 1 :]]
    line = LineString(points)
    if line.distance(Point(spot)) < _SAME:
        return points
    s = line.project(Point(spot))
    before = [p for p in points if line.project(Point(p)) < s]
    return [*before, spot, *points[len(before) :]]
