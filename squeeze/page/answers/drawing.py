"""What the browser draws of a closing: places in mm, ready to be joined up."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from shapely.geometry import Point

from squeeze.mold.forces.loads import Push
from squeeze.show.figure.arrows import OFF, merged_pushes
from squeeze.show.figure.outlines import BAND_WIDTH, Pose, body_rings, gap_factor, pose_of
from squeeze.show.figure.tint import round_down
from squeeze.solve import Closing, Land

DIGITS = 3
BAND_OFF = 0.6 * OFF
MOST_OF_A_CAVITY = 0.4
"""A cavity is drawn moved by no more than this share of its radius."""


def drawing(closing: Closing, beside: Closing | None = None) -> dict[str, Any]:
    """Return everything that is drawn, at rest and deformed, as plain lists.

    Gaps at rest are widened as those of the closing that it stands `beside`.

    Notes
    -----
    Rings and faces are flat lists x0, y0, x1, y1, ... [mm]. At rest the gaps are widened
    ``gap_factor`` times; deformed, all displacements are multiplied by ``factor``.
    """
    rest, moved = pose_of(closing, deformed=False), _moved(closing)
    if beside is not None:
        rest = replace(rest, gap_factor=gap_factor([closing, beside]))
    return {
        "size_mm": rest.size_mm,
        "gap_factor": rest.gap_factor,
        "factor": moved.factor,
        "outline": flat(closing.section.outline.points()),
        "holes": [flat(cavity.loop.points()) for cavity in closing.section.cavities],
        "bodies": _bodies(closing, rest, moved),
        "lands": [_faces(land, rest, moved) for land in closing.lands],
        "seats": [_faces(seat, rest, moved) for seat in closing.seats],
        "joints": [_faces(joint, rest, moved) for joint in closing.joints],
        "cavities": [_middle(c.name, c.loop.polygon) for c in closing.section.cavities],
        "band": _band(closing, rest),
        "arrows": _arrows(closing),
        "pushes": [_push(push) for push in closing.loads.pushes],
        "all_round_kpa": 1000.0 * closing.loads.all_round_mpa,
        "resin_kpa": 1000.0 * closing.loads.cavity_mpa,
    }


def _moved(closing: Closing) -> Pose:
    """Return the deformed pose, exaggerated no more than small cavities can take."""
    pose = pose_of(closing, deformed=True)
    if not closing.outcome.has_answer:
        return pose
    most = [
        MOST_OF_A_CAVITY * np.sqrt(cavity.area_mm2 / np.pi) / cavity.largest_shift_mm
        for cavity in closing.cavities
        if cavity.largest_shift_mm > 0
    ]
    factor = max(1.0, round_down(float(min([pose.factor, *most]))))
    return replace(pose, factor=factor, gap_factor=factor)


def flat(points: ArrayLike) -> list[float]:
    """Return `points` (n, 2) as x0, y0, x1, y1, ..., rounded to a thousandth of a mm."""
    return np.round(np.asarray(points, float), DIGITS).ravel().tolist()


def _bodies(closing: Closing, rest: Pose, moved: Pose) -> list[dict[str, Any]]:
    return [
        {
            "body": body,
            "rest": [flat(_drawn(closing, rest, ring[:-1])) for ring in rings],
            "moved": [flat(_drawn(closing, moved, ring[:-1])) for ring in rings],
        }
        for body, rings in body_rings(closing.field).items()
    ]


def _drawn(closing: Closing, pose: Pose, nodes: list[int]) -> NDArray[np.float64]:
    field = closing.field
    return pose.at(field.points_mm[nodes], field.displacement_mm[nodes])


def _faces(land: Land, rest: Pose, moved: Pose) -> dict[str, Any]:
    left, right = rest.faces(land, least_mm=0.6 * BAND_WIDTH * rest.size_mm)
    moved_left, moved_right = moved.faces(land)
    faces = {"left": left, "right": right, "moved_left": moved_left, "moved_right": moved_right}
    return {name: flat(points) for name, points in faces.items()}


def _middle(name: str, polygon: Any) -> dict[str, Any]:
    middle = polygon.representative_point()
    return {"name": name, "x_mm": middle.x, "y_mm": middle.y}


def _band(closing: Closing, pose: Pose) -> list[float] | None:
    if closing.wrap is None:
        return None
    line = _hull(closing).buffer(BAND_OFF * pose.size_mm).exterior
    return flat(np.array(line.coords))


def _hull(closing: Closing) -> Any:
    """Return what a taut band encloses of the unloaded block and its cradle, a polygon."""
    section = closing.section
    loops = (section.outline, *(piece.loop for piece in section.cradles))
    return shapely.convex_hull(shapely.multipoints(np.vstack([loop.points() for loop in loops])))


def _arrows(closing: Closing) -> list[dict[str, float]]:
    if closing.wrap is None:
        return []
    at, force = merged_pushes(closing.wrap)
    if closing.deformation.is_large:  # the band runs round the deformed block, drawn is the other
        edge = _hull(closing).exterior
        at = np.array([edge.interpolate(edge.project(Point(p))).coords[0] for p in at])
    names = ("x_mm", "y_mm", "fx_n_per_mm", "fy_n_per_mm")
    return [
        dict(zip(names, (*map(float, p), *map(float, f)), strict=True))
        for p, f in zip(at, force, strict=True)
    ]


def _push(push: Push) -> dict[str, float]:
    x, y = push.at_mm
    return {
        "x_mm": x,
        "y_mm": y,
        "width_mm": push.width_mm,
        "force_n_per_mm": push.pressure_mpa * push.width_mm,
    }
