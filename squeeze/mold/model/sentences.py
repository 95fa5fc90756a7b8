"""What `squeeze slice` says: what was read, the sections, the parting line, what is undercut."""

from __future__ import annotations

from collections.abc import Sequence

from squeeze.mold.model.mesh import Model
from squeeze.mold.model.parting import SLACK_MM
from squeeze.mold.model.parting_line import Outline
from squeeze.mold.model.undercut_faces import LEAST_MM, UndercutPatch

KNIFE_DEG = 45.0
"""A parting line that rises more steeply along the block is called hard to cut; a judgement."""


def say_sliced(
    models: Sequence[Model],
    sections: Sequence[Sequence[Outline]],
    places_mm: Sequence[float],
    undercut: Sequence[UndercutPatch],
    islands: Sequence[tuple[str, float]],
    cores_mm: Sequence[float],
    rise_deg: float,
) -> list[str]:
    """Return the sentences on sliced models.

    Parameters
    ----------
    models : sequence of Model
    sections : sequence of sequences of Outline
    places_mm : sequence of float
        Where the sections are along the block.
    undercut : sequence of UndercutPatch
        The largest area first.
    islands : sequence of (str, float)
        Model, and place along the block [mm].
    cores_mm : sequence of float
        Where one outline lies above another.
    rise_deg : float
        Of the parting line, along the block.
    """
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
    points = sum(len(each.thin) for outlines in sections for each in outlines)
    said.append(
        f"Sections at {places_mm[0]:.1f} to {places_mm[-1]:.1f} mm along the block: {len(sections)}"
        f" of them, {points} points in all keep within 0.05 mm of the models."
    )
    said.append(_say_line(rise_deg))
    said += _say_undercut(undercut)
    if cores_mm:
        said.append(
            f"Outlines lie above each other at {cores_mm[0]:.1f} mm along the block, and in"
            f" {len(cores_mm)} of {len(sections)} sections. The rubber between them is held there:"
            " each has a parting line of its own."
        )
    if islands:
        name, at = islands[0]
        said.append(
            f"'{name}' closes round rubber at {at:.1f} mm along the block; a cavity cannot hold an"
            " island, so it is left out there. Choose another axis for the block: --axis."
        )
    return said


def _say_line(rise_deg: float) -> str:
    if rise_deg < 0.5:
        return "The parting line runs level along the block."
    say = f"The parting line rises or falls by {rise_deg:.0f} degrees at most along the block"
    if rise_deg <= KNIFE_DEG:
        return f"{say}: a knife follows it."
    return f"{say}: hard to cut. Try another turn (--turn), or more sections (--stations)."


MOST_PATCHES = 3

LEAST = (
    f"Undercuts narrower than {LEAST_MM:g} mm are left out: the parting line itself may lie"
    f" {SLACK_MM:g} mm off the silhouette."
)


def _say_undercut(undercut: Sequence[UndercutPatch]) -> list[str]:
    if not undercut:
        return [f"Nothing is undercut against this parting line. {LEAST}"]
    area = sum(patch.area_mm2 for patch in undercut)
    places = "one place" if len(undercut) == 1 else f"{len(undercut)} places"
    said = [
        f"Undercut against this parting line: {area:.0f} mm2 of the surface, in {places}. Rubber"
        f" has to bend there to come off. {LEAST}"
    ]
    for patch in undercut[:MOST_PATCHES]:
        x, y, along = patch.at_mm
        said.append(
            f"'{patch.model}' is undercut by {patch.depth_mm:.1f} mm at ({x:.1f}, {y:.1f}),"
            f" {along:.1f} mm along the block: {patch.area_mm2:.0f} mm2."
        )
    return said
