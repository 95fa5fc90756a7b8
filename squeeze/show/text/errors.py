"""How far the figures are off, in sentences."""

from __future__ import annotations

from collections.abc import Iterator

from squeeze.solve.closing import Closing
from squeeze.verdict.casting.flash import HAIRLINE_MM
from squeeze.verdict.words import length, place, pressure


def error_lines(closing: Closing, inches: bool = False) -> tuple[str, ...]:
    """Return what the mesh leaves open, a sentence each; none where nobody looked.

    Parameters
    ----------
    closing : Closing
    inches : bool
        Give lengths in inches.
    """
    return tuple(_lines(closing, inches))


def missed_lines(closing: Closing, inches: bool = False) -> tuple[str, ...]:
    """Return the one sentence that must not be missed: that the mesh is too coarse here."""
    errors = closing.errors
    if closing.deformation.finer is not None:
        return (
            "How far these figures are off is not known: on a finer mesh the deformed block did"
            " not settle.",
        )
    if errors is None or errors.is_enough:
        return ()
    gaps = f", gaps by {length(errors.gap_mm, inches)}" if errors.gap_mm >= HAIRLINE_MM else ""
    return (
        f"The mesh is not fine enough for the accuracy asked for: pressures may be off by"
        f" {errors.pressure_pct:.2g} % of the highest{gaps}.",
    )


def _lines(closing: Closing, inches: bool) -> Iterator[str]:
    errors = closing.errors
    if errors is None:
        return
    if closing.lands and errors.worst_at_mm is not None:
        x, y = (place(value, inches) for value in errors.worst_at_mm)
        yield (
            f"Error of the mesh: pressures up to {errors.pressure_pct:.2g} % of the highest (at x"
            f" {x}, y {y}), gaps {_at_most(errors.gap_mm, inches)}."
        )
        lip = max((land.lip_kpa for land in errors.lands), default=0.0)
        inner = max((land.pressure_kpa for land in errors.lands), default=0.0)
        if closing.deformation.is_large and lip > 2 * inner:
            yield (
                f"At the lips of the cuts it is up to {pressure(lip)}: an edge that slides presses"
                " without limit."
            )
    if not errors.strain_is_settled:
        x, y = (place(value, inches) for value in closing.trust.strain_at_mm)
        yield (
            f"The largest strain still changes with every finer mesh (at x {x}, y {y}): a sharp"
            " corner, or a band that turns there."
        )


def _at_most(mm: float, inches: bool) -> str:
    """Return a bound in words: ``under 0.01 mm`` or ``up to 0.04 mm``."""
    text = length(mm, inches)
    return text if text.startswith("under") else f"up to {text}"
