"""The head of an answer.

Every answer on how a mold closes begins with it: in the terminal, on the page, the figure and the
sheet, in the JSON, in the plan of bands and the comparison of cradles.
"""

from __future__ import annotations

from dataclasses import replace

from squeeze.mold.faces import FACES
from squeeze.mold.forces.bands import band_notes
from squeeze.mold.forces.loads import wrap_mm
from squeeze.mold.tables.mold import Mold
from squeeze.solve.closing import Closing
from squeeze.verdict.casting.distortion import largest_step
from squeeze.verdict.casting.flash import HAIRLINE_MM, Flash
from squeeze.verdict.cause import causes_of, pot_cause
from squeeze.verdict.grade import (
    APART,
    FLASH,
    GOOD,
    LEAKS,
    NO_ANSWER,
    SHUT_IN,
    STEP_FELT_MM,
    grade_of,
)
from squeeze.verdict.head.certainty import with_variations
from squeeze.verdict.head.record import Head
from squeeze.verdict.head.symptom import after_colon, symptom, troubled_lands
from squeeze.verdict.head.unusable import say_apart, say_shut_in
from squeeze.verdict.remarks import several_states, states_apart
from squeeze.verdict.seal.barrier import Seal
from squeeze.verdict.uncertainty import Uncertainty
from squeeze.verdict.words import in_inches, reached

NOTHING_TO_MEND = "There is nothing to mend."


def head_of(
    closing: Closing,
    seal: Seal,
    flash: Flash,
    mold: Mold | None = None,
    varied: Uncertainty | None = None,
    inches: bool = False,
) -> Head:
    """Return the head of an answer.

    Parameters
    ----------
    closing : Closing
    seal : Seal
        Its barriers and leaks.
    flash : Flash
        Of its castings.
    mold : Mold, optional
        For its bands, its pot and the paths of its cuts, which the advice names.
    varied : Uncertainty, optional
        How the figures vary; without it the head does not say how sure the grade is.
    inches : bool
        Give lengths in inches.
    """
    grade = grade_of(closing, seal, flash)
    lands = troubled_lands(grade, closing, seal)
    looked = grade in (LEAKS, FLASH, APART)
    causes = causes_of(closing, seal, lands, mold, inches) if looked else ()
    pot, brief = pot_cause(closing, mold), ""
    if grade == SHUT_IN:
        say, do = say_shut_in(closing, seal, mold, inches)
    elif grade == APART:
        say, do = say_apart(closing, causes, inches)
    elif grade == NO_ANSWER:
        say, do = closing.outcome.cause, closing.outcome.remedy
    elif not closing.lands:
        say, do = "no cut has rubber on both sides, so there is nothing to close.", ""
    else:
        brief = symptom(grade, closing, seal, flash, lands, inches)
        say = f"{after_colon(causes[0].why)} So {brief}" if causes else brief
        do = causes[0].do if causes else _mend(grade, closing, mold)
    whole = f"{grade}: {say}"
    brief = f"{grade}: {brief or say}"
    if pot:
        whole, do = f"{whole} {pot[0].why}", f"{pot[0].do}{'' if grade in GOOD else f' {do}'}"
    doubt = " ".join(filter(None, (_unconfirmed(closing), _other_states(closing))))
    good = grade in GOOD and not pot and not doubt
    if good and largest_step(closing.cavities) >= STEP_FELT_MM:
        good, do = False, f"The faces slide on each other: {_held(closing)}."
    head = Head(grade, whole, brief, do, doubt, (*causes, *pot), good)
    if varied is None or grade in (SHUT_IN, APART, NO_ANSWER):
        return head
    return with_variations(head, varied, inches)


def said_in_inches(head: Head) -> Head:
    """Return a head whose sentences tell lengths in inches and pressures in psi."""
    causes = tuple(
        replace(cause, why=in_inches(cause.why), do=in_inches(cause.do)) for cause in head.causes
    )
    converted = {name: in_inches(getattr(head, name)) for name in ("say", "brief", "do", "sure")}
    return replace(head, causes=causes, **converted)


def _mend(grade: str, closing: Closing, mold: Mold | None) -> str:
    """Say what to do where no cause stands out: of good grades, to mind bands of a poor stretch."""
    if grade in GOOD:
        notes = [] if mold is None else band_notes(mold, wrap_mm(closing.section))
        return " ".join(notes) or NOTHING_TO_MEND
    return "Change the outline, add a cradle, or move the cut; --advise tries each."


def _held(closing: Closing) -> str:
    """Say what keeps faces from sliding; they are not asked to grip where they are clean."""
    slippery = any(cut.friction < FACES["clean"].low for cut in closing.section.cuts)
    return "give the cut a key, or faces that grip" if slippery else "give the cut a key"


def _unconfirmed(closing: Closing) -> str:
    """Say that the answer at large deformation is missing; empty where it is not needed."""
    how = closing.deformation
    if how.outcome is None or how.is_large or not closing.outcome.has_answer:
        return ""
    return (
        f"Not sure: at large deformation the calculation {reached(how.share)}. {how.outcome.cause}"
    )


STATES_APART = 0.05
"""Share of the largest pressure by which other states of friction differ before the head says so; a
judgement. Gaps count from `HAIRLINE_MM` on."""


def _other_states(closing: Closing) -> str:
    """Say that the faces can rest otherwise, where that shows; else nothing."""
    gap_mm, kpa = states_apart(closing)
    top = max((float(land.pressure_kpa.max()) for land in closing.lands), default=0.0)
    return several_states(closing) if gap_mm >= HAIRLINE_MM or kpa > STATES_APART * top else ""
