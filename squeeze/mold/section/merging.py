"""Places of cuts that are meant to be one: typed figures are rounded, meshes are not."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import LineString, Point

from squeeze.mold.geometry.curve import XY
from squeeze.mold.geometry.tolerance import ON_MM, SAME_MM
from squeeze.mold.section.clearance import NumberedStretch, joints, near_pairs, once
from squeeze.mold.section.cut_path import RubberRegion


def gathered(stretches: Sequence[NumberedStretch], body: RubberRegion) -> list[NumberedStretch]:
    """Return the stretches with all places that lie within 0.02 mm of each other made one.

    These are ends on edges (which go to the end of a piece of the edge when one is as near), and
    places where cuts meet. A stretch that passes such a place gets a point there.
    """
    if not stretches:
        return []
    ends = _edge_places([end for each in stretches for end in each.ends], body)
    pairs = near_pairs([each.line for each in stretches], ON_MM)
    met = [spot for i, j in pairs for spot in joints(stretches[i], stretches[j])]
    spots = once([*ends, *met])
    if not spots:
        return list(stretches)
    lines = [each.line for each in stretches]
    tree = shapely.STRtree(shapely.points(spots))
    which, spot = tree.query(lines, predicate="dwithin", distance=SAME_MM)
    passed: list[list[int]] = [[] for _ in stretches]
    for k, i in sorted(zip(which.tolist(), spot.tolist(), strict=True)):
        passed[k].append(i)
    return [
        _through(each, [spots[i] for i in own]) for each, own in zip(stretches, passed, strict=True)
    ]


def _edge_places(ends: Sequence[XY], body: RubberRegion) -> list[XY]:
    """Return the places on edges of the ends that lie on one."""
    near = body.nearest(np.array(ends))
    found = []
    for end, distance in zip(ends, near.distance, strict=True):
        if distance < ON_MM:
            begins = [body.edges.pieces[k].place(0.0) for k in body.edges.within(end, SAME_MM)]
            found.append(next((p for p in begins if math.dist(p, end) < SAME_MM), end))
    return found


def _through(stretch: NumberedStretch, spots: Sequence[XY]) -> NumberedStretch:
    points = list(stretch.stretch.points)
    for spot in spots:
        points = _put(points, spot)
    return replace(stretch, stretch=replace(stretch.stretch, points=tuple(points)))


def _put(points: list[XY], spot: XY) -> list[XY]:
    """Return the path with `spot` in place of a near point of it, or as a point of its own."""
    near = min(range(len(points)), key=lambda i: math.dist(points[i], spot))
    if math.dist(points[near], spot) < SAME_MM:
        return [*points[:near], spot, *points[near + 1 :]]
    line = LineString(points)
    s = line.project(Point(spot))
    before = [p for p in points if line.project(Point(p)) < s]
    return [*before, spot, *points[len(before) :]]
