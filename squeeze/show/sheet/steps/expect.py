"""The step after the work: grade, flash, castings, and how sure that is."""

from __future__ import annotations

from squeeze.show.sheet.parts import Part, Row, Unit
from squeeze.show.sheet.picture import closing_picture
from squeeze.solve.closing import Closing
from squeeze.verdict import Verdict
from squeeze.verdict.casting.flash import HAIRLINE_MM
from squeeze.verdict.figures import times
from squeeze.verdict.grade import SHUT_IN
from squeeze.verdict.uncertainty import Uncertainty, say_variations
from squeeze.verdict.words import length


def expect_parts(
    closing: Closing, verdict: Verdict, varied: Uncertainty | None, unit: Unit
) -> list[Part]:
    """Return the closing as a picture, grade, flash, castings, and how sure they are.

    Parameters
    ----------
    closing : Closing
    verdict : Verdict
    varied : Uncertainty or None
    unit : Unit
    """
    inches = unit.inches
    parts: list[Part] = [closing_picture(closing), Row("Grade", verdict.head.grade)]
    if not closing.outcome.has_answer or verdict.head.grade == SHUT_IN:
        return parts
    if closing.loads.cavity_mpa == 0:
        parts.append(Row("Counted on", verdict.yardstick))
    flash = verdict.flash
    if flash.lines:
        parts.append(Row("Flash", _flash(verdict, inches)))
    parts += _first(closing, verdict, unit)
    if verdict.cavities:
        worst = max(verdict.cavities, key=lambda cavity: cavity.largest_shift_mm)
        parts.append(
            Row(
                "Castings",
                f"off by {length(worst.largest_shift_mm, inches)} at most ({worst.name}: width"
                f" {_signed(worst.width_change_mm, inches)}, height"
                f" {_signed(worst.height_change_mm, inches)}); step at the parting line"
                f" {length(max(c.step_mm for c in verdict.cavities), inches)}",
            )
        )
    if varied is not None:
        parts.append(Row("How sure", say_variations(varied)))
    return parts


def _signed(mm: float, inches: bool) -> str:
    said = length(abs(mm), inches)
    return said if mm == 0 or said.startswith("under") else f"{'-' if mm < 0 else '+'}{said}"


def _flash(verdict: Verdict, inches: bool) -> str:
    flash = verdict.flash
    if flash.thickness_mm == 0:
        return "clean: no cut stands open at a cavity"
    if flash.thickness_mm < HAIRLINE_MM:
        return f"clean: a film of {length(flash.thickness_mm, inches)} at most"
    mass = "" if flash.mass_g is None else f", {flash.mass_g:.2f} g in all"
    thick, reach = length(flash.thickness_mm, inches), length(flash.reach_mm, inches)
    return f"{flash.grade}: {thick} thick, runs {reach} in{mass}"


def _first(closing: Closing, verdict: Verdict, unit: Unit) -> list[Part]:
    """Return where flash comes first: at the widest gap, or at the barrier that gives first."""
    lines = [line for line in verdict.flash.lines if line.thickness_mm >= HAIRLINE_MM]
    if lines:
        line = max(lines, key=lambda each: each.thickness_mm)
        return [Row("Flash first", f"at '{line.cavity}', along land {line.land + 1}")]
    weakest = verdict.seal.weakest
    if weakest is None:
        return []
    land = closing.lands[weakest.land]
    x0, y0, _, _ = closing.section.outline.polygon.bounds
    left, below = (
        unit.bare(float(v[weakest.place]) - edge) for v, edge in ((land.x_mm, x0), (land.y_mm, y0))
    )
    return [
        Row(
            "Flash first",
            f"land {weakest.land + 1}, {left} from left, {below} from below: it presses"
            f" {times(weakest.margin)} times as hard as the resin; {times(2.0)} are needed",
        )
    ]
