"""Where the words of a picture stand on paper: clear of each other and of lines."""

from __future__ import annotations

import math
from dataclasses import replace

import shapely
from shapely.geometry.base import BaseGeometry

from squeeze.show.sheet.picture import XY, Picture, Word

RING_MM = 1.8
"""Half of what a ringed letter takes up on paper [mm]."""

ASIDE = ((1.0, 0.0), (0.7, 0.7), (0.7, -0.7), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0))
"""Where a letter goes that would lie on something: along its own shift and across it."""

FAR = (1.0, 1.3, 1.7)
"""How far, over its own shift."""


def words_apart(picture: Picture, scale: float) -> tuple[Word, ...]:
    """Return the words of a picture, ringed ones moved where they would lie on words or lines.

    Parameters
    ----------
    picture : Picture
    scale : float
        How many mm of the block stand for one on paper, a ratio.
    """
    taken = [(word, _on_paper(word, word.shift_mm, scale)) for word in picture.words]
    lines = _lines(picture, scale)
    made: list[Word] = []
    for word in picture.words:
        others = [at for each, at in taken if not each.ringed]
        others += [_on_paper(each, each.shift_mm, scale) for each in made if each.ringed]
        if not word.ringed or word.shift_mm == (0.0, 0.0):
            made.append(word)
            continue
        a, b = word.shift_mm
        shifts = [(far * (i * a - j * b), far * (i * b + j * a)) for far in FAR for i, j in ASIDE]
        room = [_room(_on_paper(word, shift, scale), others, lines) for shift in shifts]
        best = next((n for n, free in enumerate(room) if free >= RING_MM), None)
        best = max(range(len(room)), key=room.__getitem__) if best is None else best
        made.append(replace(word, shift_mm=shifts[best]))
    return tuple(made)


def _room(at: XY, others: list[XY], lines: BaseGeometry) -> float:
    """Return how wide a ring at a place on paper may be, half of it [mm]."""
    words = min((math.dist(at, other) / 2 for other in others), default=math.inf)
    return min(words, float(lines.distance(shapely.Point(at))))


def _lines(picture: Picture, scale: float) -> BaseGeometry:
    """Return all lines of a picture on paper, as wide as they are drawn there."""
    drawn = []
    for stroke in picture.strokes:
        ring = stroke.points + stroke.points[:1] * stroke.closed
        line = shapely.LineString([(x / scale, y / scale) for x, y in ring])
        drawn.append(line.buffer(stroke.width_mm / 2, quad_segs=2))
    return shapely.union_all(drawn)


def _on_paper(word: Word, shift: XY, scale: float) -> XY:
    return word.at[0] / scale + shift[0], word.at[1] / scale + shift[1]
