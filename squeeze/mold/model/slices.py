"""From models to the tables of a mold file: sections at stations, cavities, a parting line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon

from squeeze.mold.file.mold_file import mold_of
from squeeze.mold.model.mesh import Model, section_at
from squeeze.mold.model.parting import Undercut, silhouette, undercuts
from squeeze.mold.model.thin import thinned
from squeeze.mold.section.build import section_of
from squeeze.mold.stations import stations_of
from squeeze.mold.tables.mold import Mold

Points = NDArray[np.float64]
STRAY_MM = 0.05
LEAST_MM2 = 1.0
"""Sections smaller than this leave no cavity: the tip of a model [mm2]."""


@dataclass(frozen=True)
class Sliced:
    """A mold made from models.

    Attributes
    ----------
    mold : Mold
    undercuts : tuple of (str, float, Undercut)
        Model, place along the block [mm], and how deep it is; places in the section of the block.
    islands : tuple of (str, float)
        Model and place along the block where rubber would stand inside a cavity; that is left out.
    say : tuple of str
        On what was read, in plain sentences.
    """

    mold: Mold
    undercuts: tuple[tuple[str, float, Undercut], ...]
    islands: tuple[tuple[str, float], ...]
    say: tuple[str, ...]


def slice_models(
    models: Sequence[Model],
    stations: int = 9,
    wall_mm: float = 12.0,
    shore_a: float = 20.0,
    title: str = "",
) -> Sliced:
    """Return a mold for models that lie side by side.

    Parameters
    ----------
    models : sequence of Model
    stations : int
        Sections along the longest model; each stands for its part of the length.
    wall_mm : float
        Rubber round the models, and between them.
    shore_a : float
    title : str

    Raises
    ------
    BadInput
        Where a hole in a mesh leaves a section open, or the mold's geometry is not allowed.
    """
    long = max(model.size_mm[2] for model in models)
    step = long / stations
    wide = sum(model.size_mm[0] for model in models) + wall_mm * (len(models) + 1)
    high = max(model.size_mm[1] for model in models) + 2 * wall_mm
    lefts = np.cumsum([wall_mm - wide / 2, *(m.size_mm[0] + wall_mm for m in models[:-1])])
    places = [wall_mm + (k + 0.5) * step for k in range(stations)]
    undercut: list[tuple[str, float, Undercut]] = []
    islands: list[tuple[str, float]] = []
    tables = []
    for at in places:
        cavities, outlines = [], []
        for model, left in zip(models, lefts, strict=True):
            along = at - wall_mm - (long - model.size_mm[2]) / 2
            shift = np.array([left, -model.size_mm[1] / 2])
            for k, shape in enumerate(_outlines(model, along)):
                ring = _ring(shape) + shift
                undercut += [(model.name, at, each) for each in undercuts(ring)]
                islands += [(model.name, at)] * bool(shape.interiors)
                outlines.append(ring)
                name = _unlike(model.name, k, cavities)
                points = np.round(thinned(ring, STRAY_MM), 3).tolist()
                cavities.append({"name": name, "points_mm": points})
        tables.append({"at_mm": round(at, 3), "cavity": cavities} | _cut(outlines, wide))
    areas = [sum(Polygon(c["points_mm"]).area for c in each["cavity"]) for each in tables]
    widest = tables[int(np.argmax(areas))]
    empty: dict[str, Any] = {"cavity": [], "cut": []}
    ends = [max(wall_mm - step / 2, 0.0), min(wall_mm + long + step / 2, long + 2 * wall_mm)]
    tables = [{"at_mm": round(ends[0], 3)} | empty, *tables, {"at_mm": round(ends[1], 3)} | empty]
    data: dict[str, Any] = {"title": title} if title else {}
    data |= {
        "length_mm": round(long + 2 * wall_mm, 3),
        "rubber": {"shore_a": shore_a},
        "block": {"shape": "rectangle", "width_mm": round(wide, 3), "height_mm": round(high, 3)},
        "cavity": widest["cavity"],
        "cut": widest.get("cut", []),
        "station": tables,
    }
    mold = mold_of(data)
    for _, each in stations_of(mold):
        section_of(each)
    section_of(mold)
    return Sliced(mold, tuple(undercut), tuple(islands), tuple(_words(models, undercut, islands)))


def _outlines(model: Model, along_mm: float) -> list[Polygon]:
    if not 0 < along_mm < model.size_mm[2]:
        return []
    shapes = [shape for shape in section_at(model, along_mm) if shape.area > LEAST_MM2]
    shapes.sort(key=lambda shape: -Polygon(shape.exterior).area)
    outer: list[Polygon] = []
    for shape in shapes:  # what lies in the hole of another goes with the island that is left out
        if not any(Polygon(each.exterior).contains(shape) for each in outer):
            outer.append(shape)
    return outer


def _ring(shape: Polygon) -> Points:
    """Return an outline counter-clockwise, without its first place again."""
    ring = np.asarray(shape.exterior.coords)[:-1]
    return ring if shape.exterior.is_ccw else ring[::-1]


def _unlike(name: str, number: int, cavities: Sequence[dict[str, Any]]) -> str:
    taken = {each["name"] for each in cavities}
    title = name[:50] if number == 0 else f"{name[:50]} {number + 1}"
    k = 2
    while title in taken:
        title, k = f"{name[:50]} {number + 1}-{k}", k + 1
    return title


def _cut(outlines: Sequence[Points], wide: float) -> dict[str, Any]:
    """Return the cut through the silhouettes of all outlines that lie beside each other."""
    ends = sorted((silhouette(ring) for ring in outlines), key=lambda pair: pair[0][0])
    if not ends:
        return {"cut": []}
    way: list[tuple[float, float]] = [(-wide / 2, ends[0][0][1])]
    for left, right in ends:
        if left[0] > way[-1][0]:  # what lies over another needs a cut of its own
            way += [left, right]
    way.append((wide / 2, way[-1][1]))
    path = [[round(x, 3), round(y, 3)] for x, y in way]
    return {"cut": [{"name": "parting line", "path_mm": path}]}


def _words(
    models: Sequence[Model],
    undercut: Sequence[tuple[str, float, Undercut]],
    islands: Sequence[tuple[str, float]],
) -> list[str]:
    said = []
    for model in models:
        size = " x ".join(f"{v:.1f}" for v in model.size_mm)
        said.append(f"{model.name}: {size} mm (width x height x length along the block).")
        if model.holes:
            x, y, z = model.holes[0]
            said.append(
                f"{model.name} has holes in its surface, the first at ({x:.1f}, {y:.1f}, {z:.1f})"
                " mm from its corner; close them, or sections there may be wrong."
            )
    if undercut:
        name, at, worst = max(undercut, key=lambda each: each[2].depth_mm)
        x, y = worst.at
        said.append(
            f"Undercut against this parting line: {worst.depth_mm:.1f} mm at most, in '{name}' at"
            f" {at:.1f} mm along the block, at ({x:.1f}, {y:.1f}). Rubber has to bend that far."
        )
    else:
        said.append("No section is undercut against this parting line.")
    if islands:
        name, at = islands[0]
        said.append(
            f"'{name}' closes round rubber at {at:.1f} mm along the block; a cavity cannot hold an"
            " island, so it is left out there. Choose another axis for the block: --axis."
        )
    return said
