"""Strokes of an SVG drawing: transforms, units and every kind of curve taken as they are."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import numpy as np

from squeeze.mold.drawing.arcs import as_arcs
from squeeze.mold.drawing.strokes import (
    MM_PER,
    XY,
    Corner,
    FreeCurve,
    Points,
    Stroke,
    bezier,
    fail,
)

_LENGTH = re.compile(r"\s*([\d.eE+-]+)\s*([a-z%]*)\s*$")
OF_PAGE = {**{k: MM_PER[k] for k in ("mm", "cm", "in", "pt")}, "pc": 12 * MM_PER["pt"], "q": 0.25}
"""Units that a page's width may have and that are lengths on paper, in mm."""

ROUND = 1e-6
"""Radii that differ by less than this share are those of a circle."""


def svg_strokes(file: str, layer: str | None, units: str | None) -> list[Stroke]:
    """Return all strokes of a drawing, or of what carries the id or label `layer`.

    Parameters
    ----------
    file : str
        Path of the drawing.
    layer : str, optional
    units : str, optional
        What one unit of it is; as the drawing states it unless given.

    Raises
    ------
    BadInput
        When it cannot be read, or does not state its unit.
    """
    from svgelements import SVG, Shape

    try:
        drawing: Any = SVG.parse(file, reify=True, ppi=96.0)
    except Exception as error:
        raise fail(f"cannot be read as SVG: {error}") from None
    scale = MM_PER[units] if units else _unit_of(drawing)
    high = float(drawing.height) if drawing.height else 0.0

    def place(p: Any) -> XY:
        return scale * float(p.x), scale * (high - float(p.y))

    top = drawing if layer is None else _named(drawing, layer)
    shapes = [top] if isinstance(top, Shape) else list(top.select(lambda e: isinstance(e, Shape)))
    return [stroke for shape in shapes if _shown(shape) for stroke in _strokes(shape, place)]


def _unit_of(drawing: Any) -> float:
    """Return how many mm a px of the drawing is; its width has to state its unit."""
    width = _LENGTH.match(str(drawing.values.get("attributes", drawing.values).get("width", "")))
    if width is None or width.group(2) not in OF_PAGE:
        raise fail(
            "does not state its unit (its width is a bare number or missing); add units ="
            f' "mm" or one of {", ".join(MM_PER)}'
        )
    return float(width.group(1)) * OF_PAGE[width.group(2)] / float(drawing.width)


def _named(drawing: Any, layer: str) -> Any:
    known: list[str] = []
    for element in drawing.elements():
        values = getattr(element, "values", None) or {}
        own = values.get("attributes", {})
        names = [str(v) for k, v in own.items() if k == "id" or str(k).endswith("label")]
        if layer in names:
            return element
        known += names[:1]
    some = ", ".join(f'"{name}"' for name in dict.fromkeys(known[:12]))
    raise fail(f'has nothing called "{layer}"; it has {some or "no ids"}', "layer")


def _shown(shape: Any) -> bool:
    return shape.values.get("display") != "none" and shape.values.get("visibility") != "hidden"


def _strokes(shape: Any, place: Any) -> Iterator[Stroke]:
    """Yield the strokes of a shape, broken where the pen is lifted."""
    from svgelements import Arc, Close, Line, Move, Path

    name = str(shape.id or "")
    corners: list[Corner] = []
    last: XY | None = None
    for part in abs(Path(shape)):  # with all transforms put in
        if isinstance(part, Move):
            if len(corners) > 0 and last is not None:
                yield Stroke((*corners, Corner(last)), False, name)
            corners, last = [], place(part.end)
        elif isinstance(part, Close):
            if corners and last is not None:
                yield Stroke((*corners, Corner(last)), True, name)
            corners, last = [], place(part.end) if part.end is not None else None
        elif part.start is not None:
            if isinstance(part, Line):
                corners.append(Corner(place(part.start)))
            elif isinstance(part, Arc):
                corners += _arc(part, place)
            else:
                corners += _bezier(part, place)
            last = place(part.end)
    if corners and last is not None:
        yield Stroke((*corners, Corner(last)), False, name)


def _bezier(part: Any, place: Any) -> list[Corner]:
    points = [
        part.start,
        *(p for n in ("control", "control1", "control2") if (p := getattr(part, n, None))),
        part.end,
    ]
    return as_arcs(bezier(np.array([place(p) for p in points])))


def _arc(part: Any, place: Any) -> list[Corner]:
    """Return the arc of a circle in quarters at most, or arcs that keep to one of an ellipse."""
    rx, ry = float(part.rx), float(part.ry)
    if abs(rx - ry) <= ROUND * max(rx, ry):
        n = max(1, int(np.ceil(abs(part.sweep) / (np.pi / 2) - 1e-9)))
        p = np.array([place(part.point(k / (2 * n))) for k in range(2 * n + 1)])
        chord, half = p[2::2] - p[:-2:2], p[1::2] - p[:-2:2]
        across = chord[:, 0] * half[:, 1] - chord[:, 1] * half[:, 0]
        bulges = -2 * across / np.sum(chord**2, axis=1)
        return [
            Corner((float(x), float(y)), float(b))
            for (x, y), b in zip(p[:-1:2], bulges, strict=True)
        ]

    def at(t: Points) -> Points:
        return np.array([place(part.point(float(s))) for s in np.atleast_1d(t)])

    def along(t: Points) -> Points:
        h = 1e-6
        t = np.atleast_1d(t)
        low, high = np.clip(t - h, 0, 1), np.clip(t + h, 0, 1)
        return (at(high) - at(low)) / (high - low)[:, None]

    return as_arcs(FreeCurve(at, along))
