"""From strokes to one outline or one path: ends joined, gaps and open ends reported in place."""

from __future__ import annotations

import math
from collections.abc import Sequence

from squeeze.mold.drawing.strokes import XY, Corner, Stroke, fail
from squeeze.mold.geometry.tolerance import SAME_MM

GAP_MM = 1.0
"""Ends nearer than this to each other, and farther than 0.02 mm, are a gap by mistake [mm]."""


def joined(strokes: Sequence[Stroke]) -> list[Stroke]:
    """Return the strokes with those joined whose ends lie on each other, to 0.02 mm."""
    done = [_tidy(stroke) for stroke in strokes if stroke.closed]
    rest = [_tidy(stroke) for stroke in strokes if not stroke.closed]
    while rest:
        stroke = rest.pop(0)
        found = True
        while found and not stroke.closed:
            stroke, found = _closed(stroke), False
            for k, other in enumerate(rest):
                longer = None if stroke.closed else _together(stroke, other)
                if longer is not None:
                    stroke, found = longer, True
                    rest.pop(k)
                    break
        done.append(_closed(stroke))
    return [stroke for stroke in done if len(stroke.corners) > 1]


def _together(one: Stroke, two: Stroke) -> Stroke | None:
    for a in (one, _reversed(one)):
        for b in (two, _reversed(two)):
            if math.dist(a.corners[-1].at, b.corners[0].at) <= SAME_MM:
                return Stroke((*a.corners[:-1], *b.corners), False, a.name or b.name)
    return None


def _reversed(stroke: Stroke) -> Stroke:
    places = [corner.at for corner in stroke.corners][::-1]
    bulges = [-corner.bulge for corner in stroke.corners[:-1]][::-1]
    corners = [Corner(p, b) for p, b in zip(places, [*bulges, 0.0], strict=True)]
    return Stroke(tuple(corners), False, stroke.name)


def _closed(stroke: Stroke) -> Stroke:
    """Return the stroke closed, where its end lies on its beginning."""
    if stroke.closed or len(stroke.corners) < 3:
        return stroke
    if math.dist(stroke.corners[0].at, stroke.corners[-1].at) > SAME_MM:
        return stroke
    return Stroke(stroke.corners[:-1], True, stroke.name)


def _tidy(stroke: Stroke) -> Stroke:
    """Return the stroke without places that lie on the one before."""
    kept: list[Corner] = []
    for corner in stroke.corners:
        if kept and math.dist(kept[-1].at, corner.at) < SAME_MM:
            kept[-1] = Corner(kept[-1].at, corner.bulge)
        else:
            kept.append(corner)
    if stroke.closed and len(kept) > 1 and math.dist(kept[0].at, kept[-1].at) < SAME_MM:
        kept.pop()
    return Stroke(tuple(kept), stroke.closed, stroke.name)


def one_outline(strokes: Sequence[Stroke]) -> Stroke:
    """Return the one closed outline among the strokes.

    Raises
    ------
    BadInput
        When there is none, with where it is open; or when there are several.
    """
    found = joined(strokes)
    closed = [stroke for stroke in found if stroke.closed]
    if len(closed) == 1 and len(found) == 1:
        return closed[0]
    opened = [stroke for stroke in found if not stroke.closed]
    if opened:
        stroke = opened[0]
        a, b = stroke.corners[0].at, stroke.corners[-1].at
        gap = _nearest_gap(stroke, opened[1:])
        if gap is not None:
            p, q = gap
            raise fail(f"has a gap of {math.dist(p, q):.2f} mm between {_say(p)} and {_say(q)}")
        raise fail(f"is open: it begins at {_say(a)} and ends at {_say(b)}; close it")
    if not closed:
        raise fail("holds no outline")
    names = ", ".join(f'"{stroke.name}"' for stroke in closed[:8] if stroke.name)
    hint = f"; name one with layer: {names}" if names else "; put each on a layer of its own"
    raise fail(f"holds {len(closed)} outlines{hint}")


def one_path(strokes: Sequence[Stroke]) -> Stroke:
    """Return the one open path among the strokes.

    Raises
    ------
    BadInput
        When there is none or several, or it is closed.
    """
    found = joined(strokes)
    if len(found) == 1 and not found[0].closed:
        return found[0]
    if len(found) == 1:
        raise fail(f"is closed at {_say(found[0].corners[0].at)}; a cut is an open path")
    if not found:
        raise fail("holds no path")
    gap = _nearest_gap(found[0], found[1:]) if not found[0].closed else None
    if gap is not None:
        p, q = gap
        raise fail(f"has a gap of {math.dist(p, q):.2f} mm between {_say(p)} and {_say(q)}")
    names = ", ".join(f'"{stroke.name}"' for stroke in found[:8] if stroke.name)
    hint = f"; name one with layer: {names}" if names else "; put each on a layer of its own"
    raise fail(f"holds {len(found)} paths{hint}")


def _nearest_gap(stroke: Stroke, others: Sequence[Stroke]) -> tuple[XY, XY] | None:
    """Return two ends that all but meet, of a stroke or of it and another."""
    a, b = stroke.corners[0].at, stroke.corners[-1].at
    pairs = [(a, b)]
    for other in others:
        if not other.closed:
            pairs += [(p, q) for p in (a, b) for q in (other.corners[0].at, other.corners[-1].at)]
    near = [pair for pair in pairs if SAME_MM < math.dist(*pair) < GAP_MM]
    return min(near, key=lambda pair: math.dist(*pair), default=None)


def _say(place: XY) -> str:
    return f"({place[0] + 0.0:.4g}, {place[1] + 0.0:.4g}) mm"
