"""Models arranged anew: in rows with a cut through each, or in a ring with a cut to each."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from squeeze.design.models.group import (
    DIGITS,
    LONG_MM,
    XY,
    CutLine,
    Models,
    SectionModels,
    table_of,
    with_free_cuts,
)
from squeeze.mold.shapes.outline import loop_of


def arrangements(models: Models, between_mm: float, how: dict[str, Any]) -> Iterator[Models]:
    """Yield the models in rows with a cut through each, and in a ring with a cut to each.

    Only models of one section can be arranged; there have to be two or more.

    Parameters
    ----------
    models : Models
    between_mm : float
        Least rubber between two models.
    how : dict
        Keys of the cuts, such as their friction.
    """
    if len(models.sections) != 1 or len(models.sections[0].cavities) < 2:
        return
    cavities = models.sections[0].cavities
    boxes = [np.ptp(loop_of(table_of(each)).points(), axis=0) for each in cavities]
    wide, high = (float(v) for v in np.max(boxes, axis=0))
    count = len(cavities)
    for rows in range(1, count + 1):
        if rows > 1 and count % rows:
            continue
        columns = count // rows
        places = [
            (
                (k % columns - (columns - 1) / 2) * (wide + between_mm),
                ((rows - 1) / 2 - k // columns) * (high + between_mm),
            )
            for k in range(count)
        ]
        set_up = Models((SectionModels(_put(cavities, places), ()),), _row_words(rows, columns))
        yield with_free_cuts(set_up, 0.0, how)
    if count > 2:
        yield _ring(cavities, math.hypot(wide, high) + between_mm, how)


def _row_words(rows: int, columns: int) -> str:
    if columns == 1:
        return "models one over the other"
    return "models in a row" if rows == 1 else f"models in {rows} rows of {columns}"


def _put(cavities: Sequence[dict[str, Any]], places: Sequence[XY]) -> tuple[dict[str, Any], ...]:
    found = []
    for cavity, (x, y) in zip(cavities, places, strict=True):
        bare = {**cavity, "centre_mm": (0.0, 0.0)}
        x0, y0, x1, y1 = loop_of(table_of(bare)).polygon.bounds
        centre = (round(x - (x0 + x1) / 2, DIGITS), round(y - (y0 + y1) / 2, DIGITS))
        found.append(cavity | {"centre_mm": centre})
    return tuple(found)


def _ring(cavities: Sequence[dict[str, Any]], pitch_mm: float, how: dict[str, Any]) -> Models:
    count = len(cavities)
    radius = pitch_mm / 2 / math.sin(math.pi / count)
    angles = [2 * math.pi * (k + 0.5) / count for k in range(count)]
    places = [(radius * math.cos(a), radius * math.sin(a)) for a in angles]
    cuts = tuple(
        CutLine(
            how | {"name": f"cut {k + 1}"},
            (
                (round(x, DIGITS), round(y, DIGITS)),
                (round(LONG_MM * x / radius, DIGITS), round(LONG_MM * y / radius, DIGITS)),
            ),
            (False, True),
        )
        for k, (x, y) in enumerate(places)
    )
    return Models((SectionModels(_put(cavities, places), cuts),), "models in a ring")
