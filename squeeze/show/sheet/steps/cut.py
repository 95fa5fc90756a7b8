"""The step in which the block is cut: the section to scale, the knife's points, the order."""

from __future__ import annotations

from collections.abc import Sequence

from squeeze.mold import Mold, Section
from squeeze.mold.vents import vents_of
from squeeze.show.sheet.knife import KnifePoint, cutting_order, knife_points
from squeeze.show.sheet.parts import Grid, Part, Row, Unit
from squeeze.show.sheet.picture import cut_picture


def cut_parts(mold: Mold, section: Section, unit: Unit) -> list[Part]:
    """Return the section with its cuts, their order and the knife's points.

    Parameters
    ----------
    mold : Mold
    section : Section
    unit : Unit
    """
    if not section.cuts:
        return [Row("Cuts", "none in the mold file")]
    knife = knife_points(section)
    order = cutting_order(section.cuts)
    names = [section.cuts[k].name for k in order]
    parts: list[Part] = [cut_picture(section, knife, vents_of(mold))]
    if len(names) > 1:
        parts.append(Row("Order", ", then ".join(names)))
    if any(len(points) > 2 for points in knife):
        keyed = ", ".join(section.cuts[k].name for k in order if len(knife[k]) > 2)
        parts.append(
            Row("Key shapes", f"cut the corners of {keyed} as lettered: they lock the halves")
        )
    if mold.block.bevel_mm:
        parts.append(
            Row(
                "Bevels",
                f"{unit.say(mold.block.bevel_mm)} off each corner, unless the box has them",
            )
        )
    parts.append(_knife_grid([(section.cuts[k].name, knife[k]) for k in order], unit))
    return parts


def _knife_grid(cuts: Sequence[tuple[str, tuple[KnifePoint, ...]]], unit: Unit) -> Grid:
    rows = [
        (name if k == 0 else "", p.letter, unit.bare(p.from_left_mm), unit.bare(p.from_bottom_mm))
        for name, points in cuts
        for k, p in enumerate(points)
    ]
    heads = (f"cut [{unit.name}]", "at", "from left", "from below")
    return Grid(heads, tuple(rows), (0.46, 0.12, 0.2, 0.22))
