"""What is wrong with a mold, where and how much, in a sentence."""

from __future__ import annotations

from collections.abc import Sequence

from squeeze.solve.closing import Closing
from squeeze.solve.land import Land
from squeeze.verdict.casting.distortion import largest_step
from squeeze.verdict.casting.flash import HAIRLINE_MM, Flash
from squeeze.verdict.figures import times
from squeeze.verdict.grade import FINE_LINE, FLASH, LEAKS, STEP_SEEN_MM
from squeeze.verdict.place import land_ends, where_on, widest_place
from squeeze.verdict.seal.barrier import Seal
from squeeze.verdict.words import length, length_with_error, pressure


def troubled_lands(grade: str, closing: Closing, seal: Seal) -> list[Land]:
    """Return the lands that have the trouble that the grade names."""
    if grade == LEAKS:
        return [land for land, leaky in zip(closing.lands, seal.leaky, strict=True) if leaky]
    if grade in (FLASH, FINE_LINE):
        return [land for land in closing.lands if _flash_mm(land, closing) >= HAIRLINE_MM]
    return []


def _flash_mm(land: Land, closing: Closing) -> float:
    """Return how wide a land stands open at a cavity [mm]; 0 where it meets none."""
    ends = land_ends(land, closing.section)
    found = [float(land.gap_mm[k]) for end, k in zip(ends, (0, -1), strict=True) if at(end)]
    return max(found, default=0.0)


def at(end: object) -> bool:
    """Return whether an end of a land lies at a cavity."""
    return getattr(end, "kind", "") == "cavity"


def symptom(
    grade: str, closing: Closing, seal: Seal, flash: Flash, lands: Sequence[Land], inches: bool
) -> str:
    """Say what a grade means on this mold: where, and how much."""
    if grade == LEAKS:
        return _leaks(closing, seal, lands, inches)
    if grade == FLASH:
        return _flash(flash, inches)
    worst = max(closing.cavities, key=lambda cavity: cavity.step_mm, default=None)
    step = largest_step(closing.cavities)
    if grade == FINE_LINE:
        line = max(flash.castings, key=lambda each: each.thickness_mm)
        parts = []
        if line.thickness_mm >= HAIRLINE_MM:
            thick = length(line.thickness_mm, inches)
            parts.append(f"'{line.cavity}' carries a line {thick} thick at a parting line")
        if worst is not None and step >= STEP_SEEN_MM:
            parts.append(f"'{worst.name}' has a step of {length(step, inches)} at its parting line")
        return f"{', and '.join(parts)}. Every land seals."
    weakest = seal.weakest
    hard = (
        "" if weakest is None else f" at {times(weakest.margin)} times the resin's pressure or more"
    )
    if not closing.section.cavities:
        return f"{_every(closing)} holds{hard}."
    return f"{_every(closing)} seals{hard}, and none stands open at a cavity."


def _every(closing: Closing) -> str:
    return "the land" if len(closing.lands) == 1 else "every land"


def _leaks(closing: Closing, seal: Seal, lands: Sequence[Land], inches: bool) -> str:
    count, whole = len(lands), len(closing.lands)
    which = "the land" if whole == 1 else f"{count} of {whole} lands"
    s = "s" if count == 1 else ""
    gaping = [land for land in lands if land.largest_gap_mm >= HAIRLINE_MM]
    if gaping:
        land, k = widest_place(gaping)
        gap = f"{gap_with_error(land, closing, inches)} open {where_on(land, k, closing, inches)}"
        return f"{which} let{s} resin through, up to {gap}."
    best = max(leak.barrier_kpa for leak in seal.leaks)
    shut = "it is shut, but presses" if count == 1 else "they are shut, but press"
    return (
        f"{which} let{s} resin through: {shut} {pressure(best)} where"
        f" {pressure(seal.needed_kpa)} is needed."
    )


def _flash(flash: Flash, inches: bool) -> str:
    worst = max(flash.castings, key=lambda each: each.thickness_mm)
    thick, deep = length(worst.thickness_mm, inches), length(worst.reach_mm, inches)
    said = f"'{worst.cavity}' carries {worst.grade}, {thick} thick and {deep} deep"
    if flash.to_clean_mm is not None and flash.parting_line_mm is not None:
        clean, whole = (length(v, inches) for v in (flash.to_clean_mm, flash.parting_line_mm))
        said += f"; {clean} of {whole} of parting line need cleaning"
    return f"{said}. Every land seals."


def gap_with_error(land: Land, closing: Closing, inches: bool) -> str:
    """Return how wide a land stands open, with its error where that shows."""
    error = 0.0
    if closing.errors is not None:
        error = closing.errors.lands[closing.lands.index(land)].gap_mm
    return length_with_error(land.largest_gap_mm, error, inches)


def after_colon(text: str) -> str:
    """Return the sentence `text` to stand after a colon, with a small first letter."""
    return text[0].lower() + text[1:] if text else text
