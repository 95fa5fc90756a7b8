"""The section to scale: rubber, cavities, lands, bands and pushes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection
from matplotlib.patches import PathPatch, Polygon
from matplotlib.path import Path
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from squeeze.mold.vents import Vent
from squeeze.show.figure.labels import Labels
from squeeze.show.figure.outlines import BAND_WIDTH, Pose, body_rings, interpolated, normals
from squeeze.show.figure.tint import Levels
from squeeze.solve.closing import Closing
from squeeze.solve.field import Field
from squeeze.solve.land import Land
from squeeze.verdict import Verdict
from squeeze.verdict.words import MM_PER_INCH, PSI_PER_KPA

Array = NDArray[np.float64]

RUBBER, CRADLE, INK, SOFT = "#e3e3e0", "#c3c0b8", "#222222", "#77756f"
FILLER = "#d2d5d8"
HATCH = "/////"


@dataclass(frozen=True, eq=False)
class Drawing:
    """What every part of the drawing needs.

    Attributes
    ----------
    closing : Closing
    verdict : Verdict
    pose : Pose
    levels : Levels
        Of pressure [kPa].
    mm_per_inch : float
        Scale: millimetres of the section to an inch of paper.
    inches : bool
        Give lengths in inches, pressures in psi.
    vents : tuple of Vent
        From all along the block.
    """

    closing: Closing
    verdict: Verdict
    pose: Pose
    levels: Levels
    mm_per_inch: float
    inches: bool = False
    vents: tuple[Vent, ...] = ()

    @property
    def unit(self) -> tuple[float, str]:
        """The unit of lengths: how many make a mm, and its name."""
        return (1 / MM_PER_INCH, "in") if self.inches else (1.0, "mm")

    @property
    def pressure_unit(self) -> tuple[float, str]:
        """The unit of pressures: how many make a kPa, and its name."""
        return (PSI_PER_KPA, "psi") if self.inches else (1.0, "kPa")

    @property
    def solved(self) -> bool:
        """Whether there is an answer to draw."""
        return self.closing.outcome.has_answer


def draw_section(ax: Axes, drawing: Drawing, names: bool = True) -> None:
    """Draw everything inside the block's outline.

    Parameters
    ----------
    ax : Axes
    drawing : Drawing
    names : bool
        Whether cavities and pieces bear their names.
    """
    _draw_bodies(ax, drawing)
    for land in (*drawing.closing.seats, *drawing.closing.lands):
        if drawing.solved:
            draw_land(ax, land, drawing)
        else:
            ax.plot(land.x_mm, land.y_mm, color=INK, lw=1.2, ls=(0, (4, 3)))
    if names:
        _draw_names(ax, drawing)
        _draw_strain(ax, drawing)
    _draw_worst(ax, drawing)


def _draw_bodies(ax: Axes, drawing: Drawing) -> None:
    pose, closing = drawing.pose, drawing.closing
    for body, path in body_paths(closing.field, pose).items():
        fill = fill_of(body, closing)
        ax.add_patch(PathPatch(path, facecolor=fill, edgecolor=INK, lw=0.8, zorder=1))
    if pose.factor:
        for loop in (closing.section.outline, *(c.loop for c in closing.section.cavities)):
            ax.add_patch(
                Polygon(loop.points(), fill=False, ec=SOFT, lw=0.7, ls=(0, (5, 3)), zorder=4)
            )


def fill_of(body: int, closing: Closing) -> str:
    """Return the fill of a body: the block, its fillers, then cradle pieces."""
    if body == 0:
        return RUBBER
    return FILLER if body <= len(closing.section.fillers) else CRADLE


def draw_land(ax: Axes, land: Land, drawing: Drawing) -> None:
    """Draw a land: a tinted band where it presses, two faces apart and hatched where it is open."""
    width = BAND_WIDTH * drawing.pose.size_mm
    left, right = drawing.pose.faces(land, least_mm=0.6 * width)
    middle = 0.5 * (left + right)
    side = 0.5 * width * normals(middle)
    presses = land.gap_mm <= 0
    for run in runs(presses):
        _draw_closed(ax, middle[run] + side[run], middle[run] - side[run], land, run, drawing)
    for run in runs(~presses, reach=1):
        ring = np.vstack([left[run], right[run][::-1]])
        ax.add_patch(Polygon(ring, facecolor="white", edgecolor=INK, hatch=HATCH, lw=0.8, zorder=3))


def _draw_closed(
    ax: Axes, upper: Array, lower: Array, land: Land, run: slice, drawing: Drawing
) -> None:
    ring = np.vstack([upper, lower[::-1]])
    upper, lower = interpolated(upper), interpolated(lower)
    quads = np.stack([upper[:-1], upper[1:], lower[1:], lower[:-1]], axis=1)
    pressure = interpolated(land.pressure_kpa[run])
    colours = drawing.levels.of(0.5 * (pressure[1:] + pressure[:-1]))
    ax.add_collection(
        PolyCollection(list(quads), facecolors=colours, edgecolors=colours, lw=0.3, zorder=3)
    )
    ax.add_patch(Polygon(ring, fill=False, edgecolor=INK, lw=0.7, zorder=3.1))


def runs(flags: NDArray[np.bool_], reach: int = 0) -> list[slice]:
    """Return the unbroken runs of true `flags` (n,) with at least two places.

    They are longer by `reach` places at each end.
    """
    edge = np.flatnonzero(np.diff(np.concatenate([[0], flags.astype(int), [0]])))
    found = [
        slice(max(0, a - reach), min(len(flags), b + reach))
        for a, b in zip(edge[::2], edge[1::2], strict=True)
    ]
    return [run for run in found if run.stop - run.start > 1]


def _draw_names(ax: Axes, drawing: Drawing) -> None:
    labels = Labels(drawing.closing, drawing.pose, drawing.mm_per_inch)
    for number, point in enumerate(labels.lands(), start=1):
        ax.annotate(
            str(number),
            tuple(point),
            ha="center",
            va="center",
            fontsize=8,
            zorder=6,
            bbox={"boxstyle": "circle,pad=0.25", "fc": "white", "ec": INK, "lw": 0.7},
        )
    for piece in drawing.closing.section.cradles:
        x, y = _inside(piece.loop.polygon)
        ax.text(x, y, piece.name, ha="center", va="center", fontsize=8, color=INK, zorder=5)
    for name, point in labels.cavities():
        x, y = point
        ax.text(x, y, name, ha="center", va="center", fontsize=8, color=INK, zorder=5)


def _inside(shape: BaseGeometry) -> tuple[float, float]:
    """Return the middle of a shape, or a place inside when the middle lies outside."""
    middle = shape.centroid
    middle = middle if shape.contains(middle) else shape.representative_point()
    return middle.x, middle.y


def _draw_worst(ax: Axes, drawing: Drawing) -> None:
    worst = drawing.verdict.worst
    if worst is None:
        return
    land = next(
        each for each in drawing.closing.lands if (each.cut, each.land) == (worst.cut, worst.land)
    )
    left, right = drawing.pose.faces(land)
    point = 0.5 * (left[worst.place] + right[worst.place])
    ax.plot(*point, marker="*", ms=10, mfc="white", mec=INK, mew=1.1, zorder=7)


def _draw_strain(ax: Axes, drawing: Drawing) -> None:
    """Mark where the rubber is strained most, at the node next to it."""
    closing = drawing.closing
    if not closing.outcome.has_answer or not closing.trust.largest_strain_pct > 0:
        return
    field = closing.field
    node = int(np.argmin(np.hypot(*(field.points_mm - closing.trust.strain_at_mm).T)))
    there = slice(node, node + 1)
    point = drawing.pose.at(field.points_mm[there], field.displacement_mm[there])[0]
    ax.plot(*point, marker="D", ms=6, mfc="white", mec=INK, mew=1.1, zorder=7)


def frame(ax: Axes, drawing: Drawing, margin: float) -> None:
    """Set equal scales and limits: the block with `margin` (share of its size) round it."""
    path = Path.make_compound_path(*body_paths(drawing.closing.field, drawing.pose).values())
    box = path.get_extents().padded(margin * drawing.pose.size_mm)
    ax.set_xlim(box.x0, box.x1)
    ax.set_ylim(box.y0, box.y1)
    ax.set_aspect("equal")


def body_paths(field: Field, pose: Pose) -> dict[int, Path]:
    """Return the outline of every body with its holes, as one path a body."""
    drawn = pose.at(field.points_mm, field.displacement_mm)
    return {
        body: Path.make_compound_path(*[Path(drawn[ring], closed=True) for ring in rings])
        for body, rings in body_rings(field).items()
    }
