"""The group of models: its cavities with the cuts that open them, moved and turned.

The cavities of all stations move together, so the group is the union of all of them.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, MultiPoint, Point

from squeeze.mold import Mold, dict_of
from squeeze.mold.shapes.outline import loop_of
from squeeze.mold.shapes.registry import SHAPES, Form
from squeeze.mold.tables.shape import CavityTable

XY = tuple[float, float]
Array = NDArray[np.float64]

DIGITS = 3
"""Coordinates are rounded to a thousandth of a millimetre."""

ROW_SHARE = 0.25
"""Models whose parting heights differ by less than this share of their height share a row."""

LONG_MM = 1500.0
"""As far are the ends of a cut carried that come out of the block [mm]."""

OPEN_SPREAD = ("gap_mm", "film_mm")
LEFT_OUT = ("film_at_mm",)


@dataclass(frozen=True)
class CutLine:
    """A cut that goes with the models.

    Attributes
    ----------
    table : dict
        Its other keys.
    path : tuple of (x, y)
    opens : (bool, bool)
        Whether its beginning and its end come out of the block, so that they are carried on.
    """

    table: dict[str, Any]
    path: tuple[XY, ...]
    opens: tuple[bool, bool] = (True, True)


@dataclass(frozen=True)
class SectionModels:
    """The cavities, as tables, and the cuts of one section."""

    cavities: tuple[dict[str, Any], ...]
    cuts: tuple[CutLine, ...]


@dataclass(frozen=True)
class Models:
    """The group.

    Attributes
    ----------
    sections : tuple of SectionModels
        The section of the file, then one for each station.
    say : str
        How it was arranged, in words; empty as in the file.
    """

    sections: tuple[SectionModels, ...]
    say: str = ""

    def points(self) -> Array:
        """Return points on the hull of all cavities, shape (n, 2) [mm]."""
        loops = [loop_of(table_of(each)) for part in self.sections for each in part.cavities]
        hull = MultiPoint(np.vstack([loop.points() for loop in loops])).convex_hull
        return shapely.get_coordinates(hull)[:-1]


def table_of(cavity: dict[str, Any]) -> CavityTable:
    """Return the checked table of a cavity."""
    return CavityTable.model_validate(cavity)


def models_of(mold: Mold, has_block: bool) -> Models:
    """Return the models of a mold, with its cuts.

    Parameters
    ----------
    mold : Mold
    has_block : bool
        Whether its block is its own, so that it says which ends of the cuts come out of it.
    """
    data = dict_of(mold)
    outside = loop_of(mold.block).polygon.buffer(-1.05) if has_block else None
    tables = [data, *data.get("station", ())]
    sections = []
    for table in tables:
        cavities = _pick(table, data, "cavity")
        cuts = _pick(table, data, "cut")
        lines = tuple(_line(cut, cavities, outside) for cut in cuts)
        sections.append(SectionModels(tuple(cavities), lines))
    return Models(tuple(sections))


def _pick(table: dict[str, Any], mold: dict[str, Any], key: str) -> list[dict[str, Any]]:
    own = table.get(key)
    return [dict(each) for each in (mold.get(key, ()) if own is None else own)]


def _line(cut: dict[str, Any], cavities: Sequence[dict[str, Any]], outside: Any) -> CutLine:
    path = tuple((float(x), float(y)) for x, y in cut["path_mm"])
    table = {key: value for key, value in cut.items() if key not in ("path_mm", *LEFT_OUT)}
    for key in OPEN_SPREAD:  # the path changes its length, so what is spread along it does not fit
        if isinstance(table.get(key), list | tuple):
            table[key] = max(table[key])
    if outside is not None:
        opens = tuple(not outside.contains(Point(p)) for p in (path[0], path[-1]))
    else:
        voids = shapely.union_all([loop_of(table_of(each)).polygon for each in cavities])
        opens = tuple(not voids.buffer(1.0).contains(Point(p)) for p in (path[0], path[-1]))
    return CutLine(table, path, (opens[0], opens[1]))


def moved(models: Models, turn_deg: float, shift: XY) -> Models:
    """Return the models turned counter-clockwise about (0, 0), then shifted.

    Parameters
    ----------
    models : Models
    turn_deg : float
    shift : (x, y)
        [mm].
    """
    place = _placing(turn_deg, shift)
    return replace(
        models,
        sections=tuple(
            SectionModels(
                tuple(_moved_cavity(c, turn_deg, place) for c in part.cavities),
                tuple(replace(c, path=tuple(place(p) for p in c.path)) for c in part.cuts),
            )
            for part in models.sections
        ),
    )


def _placing(turn_deg: float, shift: XY) -> Callable[[Sequence[float]], XY]:
    cos, sin = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))

    def place(p: Sequence[float]) -> XY:
        x, y = float(p[0]), float(p[1])
        return (
            round(cos * x - sin * y + shift[0], DIGITS) + 0.0,
            round(sin * x + cos * y + shift[1], DIGITS) + 0.0,
        )

    return place


def _moved_cavity(
    cavity: dict[str, Any], turn_deg: float, place: Callable[[Sequence[float]], XY]
) -> dict[str, Any]:
    at = place(cavity.get("centre_mm", (0.0, 0.0)))
    return _turned_shape(cavity, turn_deg) | {"centre_mm": at}


def _turned_shape(cavity: dict[str, Any], turn_deg: float) -> dict[str, Any]:
    """Return a cavity turned about its own centre; what has no word for that becomes drawn."""
    shape = cavity.get("shape", "drawn")
    turn = turn_deg % 360
    if shape == "round" or turn == 0 or (shape == "square" and turn % 90 == 0):
        return cavity
    if shape in ("rectangle", "oval") and turn % 180 == 90:
        return cavity | {"width_mm": cavity["height_mm"], "height_mm": cavity["width_mm"]}
    if shape in ("rectangle", "oval") and turn == 180:
        return cavity
    if SHAPES[shape].form is Form.ELLIPSE:
        points = loop_of(table_of({**cavity, "centre_mm": (0.0, 0.0)})).points()
    elif shape == "drawn":
        points = np.array(cavity["points_mm"], float)
    else:
        width = cavity["width_mm"]
        halves = np.array([width, cavity.get("height_mm", width)]) / 2
        points = np.array(SHAPES[shape].corners) * halves
    turned = _placing(turn, (0.0, 0.0))
    kept = {k: v for k, v in cavity.items() if k not in ("width_mm", "height_mm", "diameter_mm")}
    return kept | {"shape": "drawn", "points_mm": [turned(p) for p in points]}


def with_free_cuts(models: Models, angle_deg: float, how: dict[str, Any]) -> Models:
    """Return the models with straight cuts under an angle, one for each row of models.

    A cut runs midway between the two places of a model that lie farthest along it, so that it
    parts the model where it is widest.

    Parameters
    ----------
    models : Models
    angle_deg : float
        Of the cuts, counter-clockwise from the right.
    how : dict
        Keys that all cuts share, such as their friction.
    """
    return replace(
        models,
        sections=tuple(
            replace(part, cuts=_rows(part.cavities, angle_deg, how)) for part in models.sections
        ),
    )


def _rows(
    cavities: Sequence[dict[str, Any]], angle_deg: float, how: dict[str, Any]
) -> tuple[CutLine, ...]:
    cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    found = []  # (height of the parting across the cut, height of the model)
    for cavity in cavities:
        points = loop_of(table_of(cavity)).points()
        along, across = points @ (cos, sin), points @ (-sin, cos)
        parting = (across[np.argmin(along)] + across[np.argmax(along)]) / 2
        found.append((float(parting), float(np.ptp(across))))
    rows: list[list[tuple[float, float]]] = []
    for parting, high in sorted(found):
        if rows and parting - rows[-1][-1][0] < ROW_SHARE * min(high, rows[-1][-1][1]):
            rows[-1].append((parting, high))
        else:
            rows.append([(parting, high)])
    return tuple(_straight(k, rows, angle_deg, how) for k in range(len(rows)))


def _straight(
    k: int, rows: list[list[tuple[float, float]]], angle_deg: float, how: dict[str, Any]
) -> CutLine:
    at = float(np.mean([parting for parting, _ in rows[k]]))
    place = _placing(angle_deg, (0.0, 0.0))
    name = "cut" if len(rows) == 1 else f"cut {k + 1}"
    ends = (place((-LONG_MM, at)), place((LONG_MM, at)))
    return CutLine(how | {"name": name}, ends)


def trimmed(line: CutLine, outside: shapely.Polygon) -> list[XY]:
    """Return the path of a cut with its open ends carried out to the outline, and no farther."""
    path = [np.array(p, float) for p in line.path]
    given = path.copy()
    for end, before, opens in ((0, 1, line.opens[0]), (-1, -2, line.opens[1])):
        if opens:
            along = given[end] - given[before]
            path[end] = given[end] + LONG_MM * along / np.hypot(*along)
    parts = shapely.get_parts(LineString(path).intersection(outside))
    inside = max(parts, key=lambda part: part.length, default=LineString(path))
    return [(round(float(x), 2) + 0.0, round(float(y), 2) + 0.0) for x, y in inside.coords]
