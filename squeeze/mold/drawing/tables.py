"""The tables of a mold file with what their drawings hold in place of the drawings' names."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from squeeze.mold.drawing.arcs import centre_of
from squeeze.mold.drawing.dxf import dxf_strokes
from squeeze.mold.drawing.join import one_outline, one_path
from squeeze.mold.drawing.strokes import MM_PER, XY, Corner, Stroke, fail
from squeeze.mold.drawing.svg import svg_strokes
from squeeze.mold.errors import BadInput, Fault
from squeeze.mold.file.toml import dotted
from squeeze.mold.tables.shape import DRAWING_KEYS

Data = dict[str, Any]
LARGEST_BYTES = 20_000_000
CHORD_MM = 0.01
"""Where only straight lines will do, they keep to arcs to this [mm]."""


def with_drawings(data: Data, folder: Path) -> Data:
    """Return the tables of a mold file with the points of every drawing they name.

    Parameters
    ----------
    data : dict
        Raw tables; drawings are looked for from `folder`.
    folder : Path

    Raises
    ------
    BadInput
        With every drawing that cannot be used, and why.
    """
    faults: list[Fault] = []

    def walk(value: Any, loc: tuple[str | int, ...]) -> Any:
        if isinstance(value, list):
            return [walk(entry, (*loc, k)) for k, entry in enumerate(value)]
        if not isinstance(value, dict) or len(loc) > 4:
            return value
        if "drawing" not in value:
            return {key: walk(entry, (*loc, key)) for key, entry in value.items()}
        kind = next((key for key in reversed(loc) if isinstance(key, str)), "")
        try:
            return _drawn(value, kind, folder)
        except BadInput as error:
            faults.extend(
                Fault(f"{dotted(loc, data)}.{each.key}", each.text) for each in error.faults
            )
            return value

    made = walk(data, ())
    if faults:
        raise BadInput(faults)
    return made


def _drawn(table: Data, kind: str, folder: Path) -> Data:
    rest = {key: value for key, value in table.items() if key not in DRAWING_KEYS}
    if kind not in ("block", "cavity", "filler", "cradle", "cut", "band"):
        raise fail("goes with block, cavity, filler, cradle, cut and band")
    if kind == "band":
        return rest  # `band_path` compares what is drawn with the path that the band takes
    key = "path_mm" if kind == "cut" else "points_mm"
    if key in rest:
        raise fail(f"given together with {key}; give one of them")
    stroke = drawn_stroke(table, kind == "cut", folder)
    if kind in ("cut", "cradle"):
        return rest | {key: [list(p) for p in stroke_chords(stroke)]}
    points = [list(corner.at) for corner in stroke.corners]
    bulges = [corner.bulge for corner in stroke.corners]
    return rest | {"points_mm": points} | ({"bulges": bulges} if any(bulges) else {})


def drawn_stroke(table: Data, is_path: bool, folder: Path) -> Stroke:
    """Return the one path or outline that a table takes from a drawing.

    Parameters
    ----------
    table : dict
        Raw table with ``drawing``, and where they are given ``layer``, ``units``, ``scale`` and
        ``origin_mm``.
    is_path : bool
        Whether it has two ends; else it is closed.
    folder : Path
        Where the drawing lies.

    Returns
    -------
    Stroke
        In mm from the middle of the section.

    Raises
    ------
    BadInput
        Where a key is wrong, the file cannot be read, or what is drawn is not one such path.
    """
    name, units, layer = (table.get(key) for key in ("drawing", "units", "layer"))
    if not isinstance(name, str) or not name:
        raise fail(f"{name!r} given; needed is the name of an SVG or DXF file in quotes")
    if units is not None and units not in MM_PER:
        raise fail(f"{units!r} is not known; allowed are {', '.join(MM_PER)}", "units")
    if layer is not None and not isinstance(layer, str):
        raise fail(f"{layer!r} given; needed is a name in quotes", "layer")
    scale, origin = table.get("scale", 1.0), table.get("origin_mm", [0.0, 0.0])
    if not _is_number(scale) or not 1e-4 <= scale <= 1e4:
        raise fail(f"{scale!r} given; allowed is a number from 0.0001 to 10000", "scale")
    if not isinstance(origin, list) or len(origin) != 2 or not all(map(_is_number, origin)):
        raise fail(f"{origin!r} given; a point is two numbers [x, y] in mm", "origin_mm")
    path = folder / name
    readers: dict[str, Callable[..., list[Stroke]]] = {".svg": svg_strokes, ".dxf": dxf_strokes}
    reader = readers.get(path.suffix.lower())
    if reader is None:
        raise fail(f'"{name}" is neither an SVG nor a DXF file')
    try:
        size = path.stat().st_size
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or "the name is not allowed"
        raise fail(f'"{name}" cannot be read: {why.lower()}') from None
    if size > LARGEST_BYTES:
        raise fail(f'"{name}" is larger than {LARGEST_BYTES // 1_000_000} MB')
    strokes = [_placed(stroke, scale, origin) for stroke in reader(str(path), layer, units)]
    return one_path(strokes) if is_path else one_outline(strokes)


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)


def _placed(stroke: Stroke, scale: float, origin: list[float]) -> Stroke:
    """Return a stroke at its scale, with the place `origin` of the scaled drawing at (0, 0)."""
    corners = tuple(
        Corner((scale * c.at[0] - origin[0], scale * c.at[1] - origin[1]), c.bulge)
        for c in stroke.corners
    )
    return Stroke(corners, stroke.closed, stroke.name)


def stroke_chords(stroke: Stroke, chord_mm: float = CHORD_MM) -> list[XY]:
    """Return the places of a stroke; lines between them keep to its arcs within `chord_mm` [mm]."""
    ends = stroke.corners[1:] + (stroke.corners[:1] if stroke.closed else ())
    found: list[XY] = []
    for corner, end in zip(stroke.corners, ends, strict=False):
        found.append(corner.at)
        if abs(corner.bulge) > 1e-9:
            found += _on_arc(corner, end.at, chord_mm)
    return found if stroke.closed else [*found, stroke.corners[-1].at]


def _on_arc(corner: Corner, end: XY, chord_mm: float) -> list[XY]:
    centre = np.array(centre_of(corner.at, end, corner.bulge))
    start = np.array(corner.at) - centre
    radius, turn = float(np.hypot(*start)), 4 * math.atan(corner.bulge)
    step = 2 * math.acos(max(1 - chord_mm / radius, 0.0))
    n = max(1, math.ceil(abs(turn) / step))
    angles = math.atan2(start[1], start[0]) + turn * np.arange(1, n) / n
    x, y = centre
    return [(float(x + radius * math.cos(a)), float(y + radius * math.sin(a))) for a in angles]
