"""Pictures of a sheet as plain lines and words, before any file form; x to the right, y up, mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Point

from squeeze.mold.geometry.loop import Loop
from squeeze.mold.section.records import Section
from squeeze.mold.vents import Vent
from squeeze.show.sheet.knife import KnifePoint
from squeeze.show.template.drawing import template_number
from squeeze.show.vents import vent_lines, vent_numbers, vents_named
from squeeze.solve.closing import Closing
from squeeze.solve.land import Land

XY = tuple[float, float]
BLACK, DARK, PALE, WHITE = 0.0, 0.35, 0.9, 1.0
LAND_MM = 1.6
"""Width of a land on paper [mm]."""


@dataclass(frozen=True)
class DrawnLine:
    """A line or a closed shape.

    Attributes
    ----------
    points : tuple of (x, y)
        In mm of the block.
    closed : bool
    line, fill : float or None
        Greys from 0 = black to 1 = white; None = not drawn.
    width_mm : float
        Of the line, on paper.
    dash_mm : tuple of float
        On paper; empty = unbroken.
    """

    points: tuple[XY, ...]
    closed: bool = False
    line: float | None = BLACK
    fill: float | None = None
    width_mm: float = 0.2
    dash_mm: tuple[float, ...] = ()


@dataclass(frozen=True)
class Word:
    """A word in a picture: what, where its middle is [mm of the block], whether it has a ring.

    `shift_mm` moves it on paper.
    """

    say: str
    at: XY
    ringed: bool = False
    shift_mm: XY = (0.0, 0.0)


@dataclass(frozen=True)
class Picture:
    """Lines and words, what they show, and what they take up.

    Attributes
    ----------
    caption : str
        With ``{scale}`` where the scale is given.
    strokes : tuple of Stroke
    words : tuple of Word
    box : (x0, y0, x1, y1)
        In mm of the block.
    room_mm : float
        Left free round it, on paper.
    most_high_mm : float
        On paper.
    """

    caption: str
    strokes: tuple[DrawnLine, ...]
    words: tuple[Word, ...]
    box: tuple[float, float, float, float]
    room_mm: float = 6.0
    most_high_mm: float = 75.0


SCALES = (1, 1.25, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 15, 20, 30, 50)


def scale_of(picture: Picture, wide_mm: float, high_mm: float) -> float:
    """Return how many mm of the block stand for one on paper: the least even number that fits.

    Parameters
    ----------
    picture : Picture
    wide_mm, high_mm : float
        Room on the paper.
    """
    x0, y0, x1, y1 = picture.box
    free = 2 * picture.room_mm
    need = max((x1 - x0) / (wide_mm - free), (y1 - y0) / (high_mm - free))
    return next((scale for scale in SCALES if scale >= need), need)


def _ring(loop: Loop) -> tuple[XY, ...]:
    return tuple((float(x), float(y)) for x, y in loop.points(0.05))


def _box(section: Section) -> tuple[float, float, float, float]:
    bounds = np.array([loop.polygon.bounds for loop in section.loops])
    x0, y0 = bounds[:, :2].min(axis=0)
    x1, y1 = bounds[:, 2:].max(axis=0)
    return float(x0), float(y0), float(x1), float(y1)


def _bodies(section: Section) -> list[DrawnLine]:
    made = [DrawnLine(_ring(section.outline), True, BLACK, PALE, 0.35)]
    made += [DrawnLine(_ring(f.loop), True, DARK, None, 0.15, (0.6, 0.8)) for f in section.fillers]
    made += [DrawnLine(_ring(piece.loop), True, BLACK, 0.75, 0.25) for piece in section.cradles]
    made += [DrawnLine(_ring(cavity.loop), True, BLACK, WHITE, 0.25) for cavity in section.cavities]
    return made


def cut_picture(
    section: Section, knife: tuple[tuple[KnifePoint, ...], ...], vents: Sequence[Vent] = ()
) -> Picture:
    """Return the section with every cut, the knife's points lettered and cavities numbered.

    Parameters
    ----------
    section : Section
    knife : tuple of tuples of KnifePoint
        For each cut its points.
    vents : sequence of Vent
        Drawn from all along the block.
    """
    strokes = _bodies(section)
    for cut in section.cuts:
        for stretch in cut.stretches:
            points = tuple((float(x), float(y)) for x, y in stretch.points)
            strokes.append(DrawnLine(points, width_mm=0.5))
    strokes += [DrawnLine(run, width_mm=0.3, dash_mm=(0.3, 0.6)) for run in vent_lines(vents)]
    x0, y0, _, _ = section.outline.polygon.bounds
    words = [Word("0", (x0, y0), False, (-3.0, -3.0))]
    words += [Word(str(k), _inside(c.loop)) for k, c in enumerate(section.cavities, start=1)]
    words += [
        Word(template_number(k), _inside(piece.loop))
        for k, piece in enumerate(section.cradles, start=1)
    ]
    for points in knife:
        words += [Word(p.letter, p.at, True, _aside(p.at, section)) for p in points]
    for end, numbers in vent_numbers(vents).items():
        words.append(Word(vents_named(numbers), end, False, (0.0, 2.4)))
    caption = "Seen from the block's start, {scale}. Measure from 0: the left and the lower side."
    if vents:
        caption += " Dotted: vents."
    return Picture(caption, tuple(strokes), tuple(words), _box(section), 7.0)


ROOMY = 0.7
"""A number stands in the middle of a shape where a circle there is at least so large, over the
largest circle in the shape."""


def _inside(loop: Loop) -> XY:
    shape = loop.polygon
    middle, x, y = shape.centroid, *shapely.maximum_inscribed_circle(shape).coords[0]
    around = shape.exterior.distance(middle) if shape.contains(middle) else 0.0
    if around >= ROOMY * shape.exterior.distance(Point(x, y)):
        return middle.x, middle.y
    return float(x), float(y)


def _aside(at: XY, section: Section) -> XY:
    """Return where on paper a letter stands beside its point: outwards, or above."""
    x0, y0, x1, y1 = section.outline.polygon.bounds
    if section.outline.polygon.exterior.distance(Point(at)) > 0.5:
        return (0.0, 3.4)
    away = np.array([at[0] - (x0 + x1) / 2, at[1] - (y0 + y1) / 2])
    away = away / np.array([x1 - x0, y1 - y0])
    side = int(np.argmax(np.abs(away)))
    shift = [0.0, 0.0]
    shift[side] = 4.0 * float(np.sign(away[side]))
    return shift[0], shift[1]


def closing_picture(closing: Closing) -> Picture:
    """Return the closed section: lands black where they press, white where they stand open.

    Without an answer nothing is known of them, and they are thin lines.
    """
    section, solved = closing.section, closing.outcome.has_answer
    strokes = _bodies(section)
    words = []
    for number, land in enumerate(closing.lands, start=1):
        strokes += _land(land) if solved else [_thin(land)]
        k = len(land.x_mm) // 2
        at = (float(land.x_mm[k]), float(land.y_mm[k]))
        words.append(Word(str(number), at, True, _beside(land, k)))
    caption = (
        "The closing, {scale}: cuts black where they press, white where open."
        if solved
        else "The block as it was cut, {scale}. There is no closing to draw."
    )
    if closing.loads.tension_n_per_mm > 0:
        strokes.append(_band_path(section))
        caption += " The dashed line is the bands."
    return Picture(caption, tuple(strokes), tuple(words), _box(section), 4.0, 60.0)


BAND_OFF_MM = 0.012
"""The bands are drawn outside of what they lie on by so much of the section's size."""


def _band_path(section: Section) -> DrawnLine:
    """Return the bands round the section: the hull of block and cradle, a bit outside of it."""
    loops = (section.outline, *(piece.loop for piece in section.cradles))
    hull = shapely.convex_hull(shapely.union_all([loop.polygon for loop in loops]))
    x0, y0, x1, y1 = hull.bounds
    ring = hull.buffer(BAND_OFF_MM * max(x1 - x0, y1 - y0)).exterior
    points = tuple((float(x), float(y)) for x, y in ring.coords[:-1])
    return DrawnLine(points, True, DARK, None, 0.45, (2.0, 1.0))


def _beside(land: Land, k: int) -> XY:
    """Return a shift on paper across a land, so that its number does not hide it."""
    a, b = max(k - 1, 0), min(k + 1, len(land.x_mm) - 1)
    along = np.array([land.x_mm[b] - land.x_mm[a], land.y_mm[b] - land.y_mm[a]])
    across = np.array([-along[1], along[0]]) / max(float(np.hypot(*along)), 1e-9)
    across = across if across[1] >= 0 else -across
    return float(4.0 * across[0]), float(4.0 * across[1])


def _thin(land: Land) -> DrawnLine:
    points = zip(land.x_mm.tolist(), land.y_mm.tolist(), strict=True)
    return DrawnLine(tuple(points), width_mm=0.3)


def _land(land: Land) -> list[DrawnLine]:
    """Return a land's stretches; neighbours share their place, so that nothing is left between."""
    made, n = [], len(land.x_mm)
    opened = land.gap_mm > 0
    points = [(float(x), float(y)) for x, y in zip(land.x_mm, land.y_mm, strict=True)]
    begin = 0
    for k in range(1, n + 1):
        if k < n and opened[k] == opened[begin]:
            continue
        run = tuple(points[max(begin - int(opened[begin]), 0) : min(k + int(opened[begin]), n)])
        if len(run) > 1 and opened[begin]:
            made.append(DrawnLine(run, width_mm=LAND_MM))
            made.append(DrawnLine(run, line=WHITE, width_mm=LAND_MM - 0.5))
            made.append(DrawnLine(run, width_mm=0.2, dash_mm=(0.8, 0.8)))
        elif len(run) > 1:
            made.append(DrawnLine(run, width_mm=LAND_MM))
        begin = k
    made.sort(key=lambda stroke: stroke.width_mm != LAND_MM)
    return made
