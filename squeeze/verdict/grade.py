"""The grade of a closing: one of a few words, the worst of seal, flash and fit."""

from __future__ import annotations

from squeeze.solve.closing import Closing
from squeeze.solve.outcome import Outcome
from squeeze.verdict.casting.distortion import largest_step
from squeeze.verdict.casting.flash import FINE_MM, HAIRLINE_MM, Flash
from squeeze.verdict.seal.barrier import Seal

CLEAN, FINE_LINE, FLASH = "Clean", "Fine line", "Flash"
LEAKS, APART, SHUT_IN, NO_ANSWER = "Leaks", "Comes apart", "Cannot be opened", "No answer"

GRADES = (CLEAN, FINE_LINE, FLASH, LEAKS, APART, SHUT_IN, NO_ANSWER)
"""From the best to the worst."""

GOOD = (CLEAN, FINE_LINE)
"""Grades with which nothing has to be mended."""

VERBS = {
    CLEAN: "is clean",
    FINE_LINE: "leaves a fine line",
    FLASH: "flashes",
    LEAKS: "leaks",
    APART: "comes apart",
    SHUT_IN: "cannot be opened",
    NO_ANSWER: "has no answer",
}
"""What a mold of each grade does."""

STEP_SEEN_MM = 0.05
"""A step across a parting line from which on it shows as a line on the casting; a judgement."""


GAPES = 0.05
"""Faces that stand apart by so much of the block's least side have come apart; a judgement. No
model of a closed block says anything about them."""


def gapes(closing: Closing) -> bool:
    """Return whether faces stand so far apart that the block cannot be called closed."""
    x0, y0, x1, y1 = closing.section.outline.polygon.bounds
    widest = max((land.largest_gap_mm for land in closing.lands), default=0.0)
    return widest > GAPES * min(x1 - x0, y1 - y0)


STEP_FELT_MM = 0.2
"""A step that a thumb feels and that has to be sanded off; a judgement."""


def grade_of(closing: Closing, seal: Seal, flash: Flash) -> str:
    """Return the grade of a closing.

    Parameters
    ----------
    closing : Closing
    seal : Seal
        Its barriers and leaks.
    flash : Flash
        Of its castings. Flash from 0.05 mm on is graded as such; a thinner one, or a step at a
        parting line of 0.05 mm and more, as a fine line.
    """
    if seal.unreached or seal.locked:
        return SHUT_IN
    if closing.outcome is Outcome.PIECE_NOT_HELD:
        return APART
    if not closing.outcome.has_answer:
        return NO_ANSWER
    if gapes(closing):
        return APART
    if seal.leaks:
        return LEAKS
    if flash.thickness_mm >= FINE_MM:
        return FLASH
    step = largest_step(closing.cavities)
    return FINE_LINE if flash.thickness_mm >= HAIRLINE_MM or step >= STEP_SEEN_MM else CLEAN
