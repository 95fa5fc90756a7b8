"""From models to the tables of a mold file: sections at stations, cavities, a parting line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon

from squeeze.mold.errors import BadInput
from squeeze.mold.file.mold_file import mold_of
from squeeze.mold.model.mesh import Model, section_at
from squeeze.mold.model.on_disk import model_tables
from squeeze.mold.model.parting_line import Outline, cuts_of, ends_of, numbered, steepest_deg
from squeeze.mold.model.placed import Placed, side_by_side
from squeeze.mold.model.sentences import say_sliced
from squeeze.mold.model.thin import thinned
from squeeze.mold.model.undercut_faces import UndercutPatch, undercuts_of
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
    placed : tuple of Placed
        The models where they lie in the block.
    undercuts : tuple of UndercutPatch
        What of the models' surfaces is undercut against the parting line, the largest area first.
    islands : tuple of (str, float)
        Model and place along the block where rubber would stand inside a cavity; that is left out.
    rise_deg : float
        How steeply the parting line rises from one section to the next, at most [degrees].
    say : tuple of str
        On what was read, in plain sentences.
    """

    mold: Mold
    placed: tuple[Placed, ...]
    undercuts: tuple[UndercutPatch, ...]
    islands: tuple[tuple[str, float], ...]
    rise_deg: float
    say: tuple[str, ...]


def slice_models(
    models: Sequence[Model],
    stations: int = 9,
    wall_mm: float = 12.0,
    shore_a: float = 20.0,
    title: str = "",
    folder: Path | None = None,
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
    folder : Path, optional
        Where the mold file will lie: it names the models' files from there, and none without it.

    Raises
    ------
    BadInput
        Where a hole in a mesh leaves a section open, or the mold's geometry is not allowed.
    """
    placed, long, wide, high = side_by_side(models, wall_mm)
    step = long / stations
    places = [wall_mm + (k + 0.5) * step for k in range(stations)]
    sections, islands = _sections(placed, places)
    ends = ends_of(sections)
    tables, cores = [], []
    for at, outlines, own in zip(places, sections, ends, strict=True):
        cavities: list[dict[str, Any]] = []
        for each in outlines:
            name = _unlike(models[each.model].name, each.number, cavities)
            cavities.append({"name": name, "points_mm": each.thin.tolist()})
        cuts = cuts_of(outlines, own, wide)
        cores += [at] * (len(cuts) > 1)
        tables.append({"at_mm": round(at, 3), "cavity": cavities, "cut": cuts})
    areas = [sum(Polygon(c["points_mm"]).area for c in each["cavity"]) for each in tables]
    widest = tables[int(np.argmax(areas))]
    empty: dict[str, Any] = {"cavity": [], "cut": []}
    tips = [max(wall_mm - step / 2, 0.0), min(wall_mm + long + step / 2, long + 2 * wall_mm)]
    tables = [{"at_mm": round(tips[0], 3)} | empty, *tables, {"at_mm": round(tips[1], 3)} | empty]
    data: dict[str, Any] = {"title": title} if title else {}
    data |= {
        "length_mm": round(long + 2 * wall_mm, 3),
        "rubber": {"shore_a": shore_a},
        "block": {"shape": "rectangle", "width_mm": round(wide, 3), "height_mm": round(high, 3)},
        "cavity": widest["cavity"],
        "cut": widest["cut"],
        "station": tables,
    }
    if folder is not None:
        data["model"] = model_tables(placed, folder)
    mold = mold_of(data)
    for _, each in stations_of(mold):
        section_of(each)
    section_of(mold)
    rise = steepest_deg(sections, ends, step)
    try:
        lines = _lines_between(placed, wall_mm, long, stations, wide)
    except BadInput:  # a hole in the surface that no station meets
        lines = _lines(places, sections, wide)
    undercut = undercuts_of(placed, lines)
    say = say_sliced(models, sections, places, undercut, islands, cores, rise)
    return Sliced(mold, tuple(placed), tuple(undercut), tuple(islands), rise, tuple(say))


def _sections(
    placed: Sequence[Placed], places: Sequence[float], thin: bool = True
) -> tuple[list[list[Outline]], list[tuple[str, float]]]:
    """Return the outlines at each place along the block, and where one closes round rubber.

    With `thin` they have the least number of points as well.
    """
    sections: list[list[Outline]] = []
    islands: list[tuple[str, float]] = []
    for at in places:
        found: list[Outline] = []
        for number, each in enumerate(placed):
            shift = np.array(each.at_mm[:2])
            shapes = _outlines(each.model, at - each.at_mm[2])
            rings = [_ring(shape) + shift for shape in shapes]
            before = [o for o in (sections[-1] if sections else []) if o.model == number]
            numbers = numbered(rings, before)
            for shape, ring, k in zip(shapes, rings, numbers, strict=True):
                islands += [(each.model.name, at)] * bool(shape.interiors)
                least = np.round(thinned(ring, STRAY_MM), 3) if thin else ring
                found.append(Outline(number, k, ring, least))
        sections.append(found)
    return sections, islands


BETWEEN = 5
"""The knife follows the silhouette between two sections as well: so many times as many are taken
for its line there."""

LEAST_LINES, MOST_LINES = 30, 90
END_MM = 0.05
"""The first and the last of them are this far from the models' ends [mm]."""


def _lines_between(
    placed: Sequence[Placed], start: float, long: float, stations: int, wide: float
) -> list[tuple[float, list[Points]]]:
    """Return the parting lines at places close to each other along the models."""
    n = min(max(BETWEEN * stations, LEAST_LINES), MOST_LINES)
    near = min(END_MM, long / n)
    places = [float(at) for at in np.linspace(start + near, start + long - near, n)]
    sections, _ = _sections(placed, places, thin=False)
    return _lines(places, sections, wide)


def _lines(
    places: Sequence[float], sections: Sequence[Sequence[Outline]], wide: float
) -> list[tuple[float, list[Points]]]:
    return [
        (at, [np.array(cut["path_mm"]) for cut in cuts_of(outlines, ends, wide)])
        for at, outlines, ends in zip(places, sections, ends_of(sections), strict=True)
    ]


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
