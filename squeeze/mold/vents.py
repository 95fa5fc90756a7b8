"""Vents where they lie in the block: from a cavity straight up to the outside as it is filled."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry import LineString, Point

from squeeze.mold.errors import BadInput, Fault
from squeeze.mold.section.build import section_of
from squeeze.mold.section.records import Section
from squeeze.mold.stations import stations_of
from squeeze.mold.tables.channels import VentTable
from squeeze.mold.tables.mold import Mold

OFF_MM = 1.0
"""A vent may begin this far from its cavity, as a cut may end this far from an edge [mm]."""

XYZ = tuple[float, float, float]


@dataclass(frozen=True)
class Vent:
    """A vent in the block.

    Attributes
    ----------
    name, cavity : str
    at_mm, end_mm : (x, y, along)
        Where it leaves the cavity, and straight up from there the outside of the block.
    diameter_mm, height_mm : float
    """

    name: str
    cavity: str
    at_mm: XYZ
    end_mm: XYZ
    diameter_mm: float
    height_mm: float

    @property
    def volume_mm3(self) -> float:
        """What it takes of resin."""
        return math.pi / 4 * self.diameter_mm**2 * self.height_mm


def vents_of(mold: Mold) -> tuple[Vent, ...]:
    """Return the vents of a mold.

    The block lies with y up, or stands on its start where the resin says so.

    Raises
    ------
    BadInput
        With every vent that begins at no cavity, or is too short to reach the outside.
    """
    if not mold.vent:
        return ()
    stations = [(at, each, section_of(each)) for at, each in stations_of(mold)]
    standing = mold.resin is not None and mold.resin.standing
    faults: list[Fault] = []
    found = []
    for table in mold.vent:
        along = mold.length_mm / 2 if table.along_mm is None else table.along_mm
        near = _near(stations, along)
        cavity, fault = _cavity_at(table, along, near)
        _, _, section = min(near, key=lambda each: abs(each[0] - along))
        end = (*table.at_mm, mold.length_mm) if standing else _up(table.at_mm, along, section)
        straight = math.dist((*table.at_mm, along), end)
        key = f"vent.{table.name}"
        if fault:
            faults.append(Fault(f"{key}.at_mm", fault))
        elif table.height_mm is not None and table.height_mm < straight - OFF_MM:
            text = (
                f"{table.height_mm:g} given; straight up the outside of the block is"
                f" {straight:.1f} mm away, so give that or more"
            )
            faults.append(Fault(f"{key}.height_mm", text))
        high = straight if table.height_mm is None else table.height_mm
        found.append(Vent(table.name, cavity, (*table.at_mm, along), end, table.diameter_mm, high))
    if faults:
        raise BadInput(faults)
    return tuple(found)


Station = tuple[float, Mold, Section]


def _near(stations: Sequence[Station], along: float) -> list[Station]:
    """Return the stations on both sides of a place along the block."""
    before = [each for each in stations if each[0] <= along][-1:]
    after = [each for each in stations if each[0] > along][:1]
    return before + after


def _cavity_at(table: VentTable, along: float, near: Sequence[Station]) -> tuple[str, str]:
    """Return the cavity that a vent begins at, or what is wrong.

    Between two stations the outline is known no better than they stand apart.
    """
    places = [at for at, _, _ in near]
    slack = OFF_MM + max(places) - min(places)
    away = [
        (float(cavity.loop.polygon.distance(Point(table.at_mm))), cavity.name, mold)
        for _, mold, section in near
        for cavity in section.cavities
    ]
    x, y = table.at_mm
    if not away:
        return "", f"[{x:g}, {y:g}] given; the section there, {along:g} mm along, has no cavity"
    far, name, mold = min(away, key=lambda each: each[0])
    if far > slack:
        return name, (
            f"[{x:g}, {y:g}] given, which lies {far:.1f} mm from the nearest cavity, '{name}'; a"
            " vent begins at a cavity"
        )
    models = next(cavity.models for cavity in mold.cavity if cavity.name == name)
    beside = [abs(along - each.at_mm) - each.length_mm / 2 for each in models]
    if beside and min(beside) > OFF_MM:
        return name, (
            f"lies {min(beside):.1f} mm beside the nearest model of '{name}', at {along:g} mm along"
            " the block; set along_mm"
        )
    return name, ""


def _up(at: tuple[float, float], along: float, section: Section) -> XYZ:
    x, y = at
    block = section.outline.polygon
    line = LineString([(x, y), (x, max(block.bounds[3], y) + 1.0)])
    met = shapely.intersection(line, block)
    return x, y if met.is_empty else float(met.bounds[3]), along
