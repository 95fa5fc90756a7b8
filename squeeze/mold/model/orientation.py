"""How to lay a model in its block: along which axis, and turned how far about it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from squeeze.mold.errors import BadInput
from squeeze.mold.model.mesh import (
    AXES,
    OWN_AXIS,
    Model,
    box_size_mm,
    laid_along,
    own_axes,
    section_at,
)
from squeeze.mold.model.parting import undercuts

Points = NDArray[np.float64]
SECTIONS = 8
"""Sections of a model that are looked at for each axis."""

TURNS_DEG = (0.0, 90.0, 45.0, 135.0, 15.0, 165.0, 30.0, 150.0, 60.0, 120.0, 75.0, 105.0)
"""Turns that are tried; of two that leave the same undercut the first one stands."""

SAME_MM = 0.5
"""Undercuts that differ by less than this count as the same; a judgement [mm]."""

SMALLER_BOX = 0.9
"""A box counts as the smallest until another is smaller than this share of it; a judgement."""


@dataclass(frozen=True)
class Orientation:
    """How a model lies in its block.

    Attributes
    ----------
    axis : str
        "x", "y", "z" or "own".
    turn_deg : float
        About the block's axis.
    size_mm : (float, float, float)
        Width, height and length of its box.
    undercut_mm : float
        The deepest undercut of the sections that were looked at.
    """

    axis: str
    turn_deg: float
    size_mm: tuple[float, float, float]
    undercut_mm: float

    @property
    def box_mm3(self) -> float:
        """Volume of its box."""
        return math.prod(self.size_mm)


def orientations_along(mesh: Any, axis: str, turns_deg: Sequence[float]) -> list[Orientation]:
    """Return how a model lies along an axis at several turns.

    Parameters
    ----------
    mesh : trimesh.Trimesh
        As it lies in its file [mm].
    axis : str
    turns_deg : sequence of float
    """
    laid = laid_along(mesh, axis)
    size = box_size_mm(laid)
    model = Model("", laid, size, (), mesh, axis)
    sections = []
    for k in range(SECTIONS):
        try:
            shapes = section_at(model, (k + 0.5) * size[2] / SECTIONS)
        except BadInput:  # a hole in the surface: it is reported where the model is sliced
            continue
        sections.append([np.asarray(shape.exterior.coords)[:-1] for shape in shapes])
    flat = np.asarray(laid.vertices)[:, :2]
    found = []
    for deg in turns_deg:
        a = math.radians(deg)
        turn = np.array([[math.cos(a), -math.sin(a)], [math.sin(a), math.cos(a)]]).T
        wide, high = (float(v) for v in np.ptp(flat @ turn, axis=0))
        deepest = max((_deepest([r @ turn for r in rings]) for rings in sections), default=0.0)
        found.append(Orientation(axis, deg, (wide, high, size[2]), deepest))
    return found


def _deepest(rings: Sequence[Points]) -> float:
    """Return the deepest undercut of a section; rubber between two outlines counts across them."""
    depths = [each.depth_mm for ring in rings for each in undercuts(ring)]
    for k, one in enumerate(rings):
        for two in rings[k + 1 :]:
            a, b = max(one[:, 0].min(), two[:, 0].min()), min(one[:, 0].max(), two[:, 0].max())
            depths.append(float(b - a))
    return max(depths, default=0.0)


def best_orientation(model: Model) -> tuple[Orientation, Orientation]:
    """Return how a model lies, and how it should; both are the same where nothing is better.

    Of those with the least undercut those with the smallest box are kept, of these those along
    an axis of the file if there are any, and of these the longest is taken: the model of a block's
    section is good where the block is long.

    Parameters
    ----------
    model : Model
    """
    (now,) = orientations_along(model.drawn, model.axis, [model.turn_deg])
    tried = [now]
    for axis in (*AXES, OWN_AXIS):
        tried += orientations_along(model.drawn, axis, TURNS_DEG)
    least = min(each.undercut_mm for each in tried)
    good = [each for each in tried if each.undercut_mm <= least + SAME_MM]
    smallest = min(each.box_mm3 for each in good)
    snug = [each for each in good if SMALLER_BOX * each.box_mm3 <= smallest]
    snug = [each for each in snug if each.axis != OWN_AXIS or each == now] or snug
    best = max(snug, key=lambda each: round(each.size_mm[2], 1))
    is_long = now.size_mm[2] > 0.95 * best.size_mm[2]
    return now, now if now in snug and is_long else best


def say_orientation(model: Model) -> str:
    """Return the sentence on how a model should lie in its block."""
    now, best = best_orientation(model)
    laid = f"{model.name} lies along {_named(now)}"
    if best == now:
        return f"{laid}: no other axis or turn is better."
    options = f"--axis {best.axis}" + (f" --turn {best.turn_deg:g}" if best.turn_deg else "")
    off = ""
    if best.axis == OWN_AXIS and now.axis != OWN_AXIS:
        along = np.abs(own_axes(model.drawn)[2][AXES[now.axis][2]])
        off = f", {math.degrees(math.acos(min(float(along), 1.0))):.0f} degrees off {now.axis}"
    gains = []
    if abs(now.undercut_mm - best.undercut_mm) >= SAME_MM / 2:
        gains.append(f"undercut by {best.undercut_mm:.1f} mm in place of {now.undercut_mm:.1f} mm")
    if best.size_mm != now.size_mm:
        gains.append(f"{_size(best)} in place of {_size(now)} mm")
    return f"{laid}. Better: along {_named(best)}{off}: {', '.join(gains)}. {options}"


def _size(laid: Orientation) -> str:
    return " x ".join(f"{v:.1f}" for v in laid.size_mm)


def _named(laid: Orientation) -> str:
    axis = "its own long axis" if laid.axis == OWN_AXIS else laid.axis
    return axis + (f" turned by {laid.turn_deg:g} degrees" if laid.turn_deg else "")
