"""The step in which rubber is poured: box, rubber, models, sprues and vents."""

from __future__ import annotations

from squeeze.mold import Mold, Section
from squeeze.show.sheet.parts import Grid, Part, Row, Unit
from squeeze.show.sheet.steps.air import channels
from squeeze.show.sheet.steps.amounts import grams, weigh
from squeeze.verdict.air.pockets import Air
from squeeze.verdict.quantities import Quantities
from squeeze.verdict.words import length


def pour_parts(mold: Mold, section: Section, found: Quantities, air: Air, unit: Unit) -> list[Part]:
    """Return what to know before rubber is poured.

    Parameters
    ----------
    mold : Mold
    section : Section
    found : Quantities
    air : Air
        For the places of sprues and vents.
    unit : Unit
    """
    box = " x ".join(unit.bare(mm) for mm in found.box_mm)
    mixed = found.rubber_mixed
    parts: list[Part] = [
        Row("Box inside", f"{box} {unit.name} (width x height x length)"),
        Row("Block", _outline(mold, unit)),
        Row(
            "Rubber",
            f"{found.rubber.volume_cm3:.0f} cm3, {grams(found.rubber.mass_g)} in the block",
        ),
        Row("Weigh out", f"{weigh(mixed)} with {mold.rubber.waste_percent:g} % waste"),
        Row("Mixing vessel", f"{found.vessel_cm3 / 1000:.1f} l or more: rubber rises under vacuum"),
    ]
    if mold.rubber.shore_a is not None:
        parts.insert(2, Row("Hardness", f"Shore A {mold.rubber.shore_a:g}"))
    saved = [
        f"{cm3:.0f} cm3 by {what}"
        for cm3, what in (
            (found.filler_cm3, "fillers"),
            (found.saved_by_outline_cm3, "the outline, against its box"),
        )
        if cm3 >= 0.5
    ]
    if saved:
        parts.append(Row("Rubber saved", ", ".join(saved)))
    if found.shrinkage is not None:
        parts.append(Row("Shrinkage", _shrinkage(found, unit)))
    if section.cavities:
        parts.append(_models(section, unit))
    for cavity in mold.cavity:
        if cavity.models:
            at = ", ".join(unit.bare(model.at_mm) for model in cavity.models)
            say = f"{len(cavity.models)} of {cavity.name}, middles {at} {unit.name} from the start"
            parts.append(Row("In a row", say))
    parts += channels(mold, air, unit)
    return parts


def _outline(mold: Mold, unit: Unit) -> str:
    block = mold.block
    sizes = [mm for mm in (block.diameter_mm, block.width_mm, block.height_mm) if mm is not None]
    said = block.shape + (
        f" {' x '.join(unit.bare(mm) for mm in sizes)} {unit.name}" if sizes else ""
    )
    if block.bevel_mm:
        said += f", bevels of {unit.say(block.bevel_mm)} along both sides of each corner"
    return said


def _shrinkage(found: Quantities, unit: Unit) -> str:
    assert found.shrinkage is not None
    sizes = max((max(size[1:]) for size in found.shrinkage.sizes), default=0.0)
    bow = max((bow for _, bow in found.shrinkage.bow_mm), default=0.0)
    return (
        f"{found.shrinkage.percent:g} %: castings up to {length(sizes, unit.inches)} smaller, cuts"
        f" bowed by {length(bow, unit.inches)} at most"
    )


def _models(section: Section, unit: Unit) -> Grid:
    """Return where the models hang: middle from the left and the lower edge, and their sizes."""
    x0, y0, _, _ = section.outline.polygon.bounds
    rows = []
    for number, cavity in enumerate(section.cavities, start=1):
        a, b, c, d = cavity.loop.polygon.bounds
        middle = ((a + c) / 2 - x0, (b + d) / 2 - y0)
        size = f"{unit.bare(c - a)} x {unit.bare(d - b)}"
        rows.append((f"{number} {cavity.name}", *(unit.bare(mm) for mm in middle), size))
    heads = (f"model, middle [{unit.name}]", "from left", "from below", "size")
    return Grid(heads, tuple(rows), (0.42, 0.17, 0.19, 0.22))
