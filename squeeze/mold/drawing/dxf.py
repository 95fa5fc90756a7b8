"""Strokes of a DXF drawing: lines, arcs, polylines with bulges, ellipses, splines, blocks."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

import numpy as np

from squeeze.mold.drawing.arcs import as_arcs
from squeeze.mold.drawing.strokes import MM_PER, Corner, FreeCurve, Points, Stroke, bezier, fail


def dxf_strokes(file: str, layer: str | None, units: str | None) -> list[Stroke]:
    """Return all strokes of a drawing's model space, or those on one layer.

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
    try:
        from ezdxf import filemanagement
        from ezdxf.lldxf.const import DXFError
    except ImportError:
        raise fail("needs the library ezdxf: pip install 'squeeze-mold[dxf]'") from None
    try:
        drawing: Any = filemanagement.readfile(file)
    except (DXFError, OSError, UnicodeError) as error:
        raise fail(f"cannot be read as DXF: {error}") from None
    scale = MM_PER[units] if units else _unit_of(drawing)
    entities = list(_entities(drawing.modelspace(), 4))
    if layer is not None:
        known = sorted({entity.dxf.layer for entity in entities})
        entities = [entity for entity in entities if entity.dxf.layer == layer]
        if not entities:
            some = ", ".join(f'"{name}"' for name in known[:12])
            raise fail(f'has nothing on a layer "{layer}"; it has {some or "nothing"}', "layer")
    strokes = [stroke for entity in entities for stroke in _strokes(entity)]
    return [_scaled(stroke, scale) for stroke in strokes]


def _unit_of(drawing: Any) -> float:
    from ezdxf import units

    if drawing.units == 0:
        raise fail(f'does not state its unit; add units = "mm" or one of {", ".join(MM_PER)}')
    mm: Any = units.MM
    return float(units.conversion_factor(drawing.units, mm))


def _entities(space: Any, depth: int) -> Iterator[Any]:
    """Yield all entities, those of inserted blocks as well."""
    for entity in space:
        if entity.dxftype() == "INSERT" and depth:
            yield from _entities(entity.virtual_entities(), depth - 1)
        else:
            yield entity


def _strokes(entity: Any) -> Iterator[Stroke]:
    kind, name = entity.dxftype(), entity.dxf.layer
    if kind == "LWPOLYLINE":
        corners = tuple(Corner((x, y), b) for x, y, b in entity.get_points("xyb"))
        yield _as_seen(entity, Stroke(corners, bool(entity.closed), name))
    elif kind == "POLYLINE" and entity.is_2d_polyline:
        places = ((v.dxf.location, v.dxf.get("bulge", 0.0)) for v in entity.vertices)
        corners = tuple(Corner((float(p.x), float(p.y)), b) for p, b in places)
        yield _as_seen(entity, Stroke(corners, bool(entity.is_closed), name))
    elif kind in ("CIRCLE", "ARC"):
        yield _as_seen(entity, _round(entity, name))
    elif kind == "ELLIPSE":
        yield _ellipse(entity, name)
    elif kind == "SPLINE":
        yield _spline(entity, name)
    elif kind in ("LINE", "POLYLINE"):
        yield from _path(entity, name)


def _as_seen(entity: Any, stroke: Stroke) -> Stroke:
    """Return a stroke as it is seen from above.

    Plane entities count x from their own side: mirrored ones are seen from below, where x runs the
    other way.
    """
    if entity.dxf.get("extrusion", (0.0, 0.0, 1.0))[2] > 0:
        return stroke
    corners = tuple(Corner((-c.at[0], c.at[1]), -c.bulge) for c in stroke.corners)
    return Stroke(corners, stroke.closed, stroke.name)


def _ellipse(entity: Any, name: str) -> Stroke:
    """Return an ellipse, or a part of one, as arcs that keep to it."""
    made = entity.construction_tool()
    begin = float(made.start_param)
    turn = (float(made.end_param) - begin) % math.tau
    whole = turn < 1e-9 or math.tau - turn < 1e-9
    centre = np.array([made.center.x, made.center.y])
    major = np.array([made.major_axis.x, made.major_axis.y])
    minor = np.array([made.minor_axis.x, made.minor_axis.y])
    turn = math.tau if whole else turn

    def at(t: Points) -> Points:
        a = begin + turn * np.atleast_1d(t)[:, None]
        return centre + np.cos(a) * major + np.sin(a) * minor

    def along(t: Points) -> Points:
        a = begin + turn * np.atleast_1d(t)[:, None]
        return turn * (np.cos(a) * minor - np.sin(a) * major)

    x, y = at(np.array([1.0]))[0]
    end = () if whole else (Corner((float(x), float(y))),)
    return Stroke((*as_arcs(FreeCurve(at, along)), *end), whole, name)


def _round(entity: Any, name: str) -> Stroke:
    """Return a circle or an arc in quarters at most."""
    whole = entity.dxftype() == "CIRCLE"
    begin = 0.0 if whole else math.radians(entity.dxf.start_angle)
    turn = math.tau if whole else math.radians(entity.dxf.end_angle) - begin
    turn = math.tau if whole else turn % math.tau
    n = max(1, math.ceil(turn / (math.pi / 2) - 1e-9))
    (x, y, _), r = entity.dxf.center, entity.dxf.radius
    angles = [begin + turn * k / n for k in range(n if whole else n + 1)]
    bulge = math.tan(turn / n / 4)
    places = [(x + r * math.cos(a), y + r * math.sin(a)) for a in angles]
    return Stroke(tuple(Corner(p, bulge) for p in places), whole, name)


def _spline(entity: Any, name: str) -> Stroke:
    """Return a spline as arcs, span by span between its knots."""
    made = entity.construction_tool()
    knots = np.array(made.knots(), float)
    degree = made.order - 1
    spans = np.unique(knots[degree : len(knots) - degree])
    corners: list[Corner] = []
    for a, b in pairwise(spans):
        corners += as_arcs(_span(made, float(a), float(b)))
    end = made.point(float(spans[-1]))
    return Stroke((*corners, Corner((end.x, end.y))), False, name)


def _span(made: Any, a: float, b: float) -> FreeCurve:
    def at(t: Points) -> Points:
        return np.array([(p.x, p.y) for p in made.points(a + (b - a) * np.atleast_1d(t))])

    def along(t: Points) -> Points:
        found = made.derivatives(a + (b - a) * np.atleast_1d(t), n=1)
        return np.array([(d.x, d.y) for _, d in found])

    return FreeCurve(at, along)


def _path(entity: Any, name: str) -> Iterator[Stroke]:
    """Yield what the library makes of other curves: lines and Bezier curves."""
    from ezdxf import path

    made = path.make_path(entity)
    for part in made.sub_paths() if made.has_sub_paths else [made]:
        corners: list[Corner] = []
        here = part.start
        for step in part.commands():
            ctrl = [getattr(step, key) for key in ("ctrl", "ctrl1", "ctrl2") if hasattr(step, key)]
            if not ctrl:
                corners.append(Corner((here.x, here.y)))
            else:
                points = np.array([(p.x, p.y) for p in (here, *ctrl, step.end)])
                corners += as_arcs(bezier(points), 0.01)
            here = step.end
        if corners:
            closed = part.is_closed
            yield Stroke((*corners, Corner((here.x, here.y))), closed, name)


def _scaled(stroke: Stroke, scale: float) -> Stroke:
    corners = tuple(Corner((scale * c.at[0], scale * c.at[1]), c.bulge) for c in stroke.corners)
    return Stroke(corners, stroke.closed, stroke.name)
