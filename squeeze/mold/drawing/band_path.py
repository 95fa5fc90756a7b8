"""Drawn paths of bands, held against the path that a taut band takes.

A taut band lies on the convex hull of block and cradle pieces, wherever it was drawn. So a drawn
path gives no figure of its own. It shows whether drawing and mold agree.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import shapely
from shapely.geometry import LinearRing

from squeeze.mold.drawing.strokes import fail
from squeeze.mold.drawing.tables import drawn_stroke, stroke_chords
from squeeze.mold.errors import BadInput, Fault
from squeeze.mold.section.clearance import say_at
from squeeze.mold.section.records import Section

ASTRAY_MM = 2.0
"""A drawn path may lie this far from the taut one [mm], for corners are drawn sharp and are rounded
in the mold; a judgement."""

STEP_MM = 0.5
"""Between places at which the two paths are compared [mm]."""


def check_band_paths(data: dict[str, Any], section: Section, folder: Path) -> None:
    """Compare every drawn path of a band with the path that the band takes.

    Parameters
    ----------
    data : dict
        Raw tables of a mold file.
    section : Section
        The cross-section that they describe.
    folder : Path
        Where the drawings lie.

    Raises
    ------
    BadInput
        With every drawing that cannot be used, and every path that lies more than 2 mm off, with
        the place where it is farthest off.
    """
    faults: list[Fault] = []
    for number, band in enumerate(data.get("band", ()), start=1):
        if not isinstance(band, dict) or "drawing" not in band:
            continue
        try:
            _check(LinearRing(stroke_chords(drawn_stroke(band, False, folder))), section)
        except BadInput as error:
            faults += [Fault(f"band.{number}.{each.key}", each.text) for each in error.faults]
    if faults:
        raise BadInput(faults)


def _check(drawn: LinearRing, section: Section) -> None:
    taut = section.hull.exterior
    off, at = max(_farthest(drawn, taut), _farthest(taut, drawn))
    if off > ASTRAY_MM:
        raise fail(
            f"lies {off:.1f} mm off the path of a taut band at {say_at(at)}; a band lies on the"
            " hull of block and cradle pieces: correct the drawing, or leave it out"
        )


def _farthest(one: LinearRing, other: LinearRing) -> tuple[float, tuple[float, float]]:
    """Return how far a path gets from another [mm], and where."""
    places = shapely.get_coordinates(shapely.segmentize(one, STEP_MM))
    away = np.atleast_1d(shapely.distance(shapely.points(places), other))
    k = int(np.argmax(away))
    return float(away[k]), (float(places[k, 0]), float(places[k, 1]))
