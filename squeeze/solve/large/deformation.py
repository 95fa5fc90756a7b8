"""Whether a block is computed at large deformation, and its closing there."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

from squeeze.mold.errors import BadInput, Fault
from squeeze.mold.forces.loads import Loads
from squeeze.mold.progress import Progress
from squeeze.solve.bands.wrap import friction_shares
from squeeze.solve.closing import Closing, Deformation
from squeeze.solve.factorised_section import FactorisedSection
from squeeze.solve.large.carried import Beginning
from squeeze.solve.large.change import STANDS, estimated_change, largest_change
from squeeze.solve.large.closing import large_closing
from squeeze.solve.large.equilibrium import deform
from squeeze.solve.large.faces.pairing import pairing
from squeeze.solve.large.reference import LargeCase, PullOf, ReferenceModel
from squeeze.solve.linear_solution import LinearSolution, LoadCase
from squeeze.solve.outcome import Outcome

DEFORMATIONS = ("small", "large", "auto")
PULL_STEP = 1e-4
"""Step of the central difference of the bands' pull, over their length."""


def check_deformation(asked: str) -> None:
    """Refuse the word `asked` where it names no theory.

    Raises
    ------
    BadInput
        When it is not one of `DEFORMATIONS`.
    """
    if asked not in DEFORMATIONS:
        allowed = ", ".join(map(repr, DEFORMATIONS))
        raise BadInput([Fault("deformation", f"{asked!r} given; allowed is {allowed}")])


def is_deformed(asked: str, case: LoadCase) -> bool:
    """Whether large deformation is looked at; "auto" has nothing to compare without a cut.

    `asked` is one of `DEFORMATIONS`. A case without loads does not deform.
    """
    wanted = asked == "large" or (asked == "auto" and len(case.rows.weight) > 0)
    return wanted and case.loads != Loads()


def deformed_closing(
    model: FactorisedSection,
    reference: ReferenceModel,
    solution: LinearSolution,
    small: Closing,
    asked: str,
    begin: Beginning,
    left_over: float,
    most_tangents: int,
    progress: Progress,
) -> Closing:
    """Return the closing at large deformation, or the small one where it stands.

    Parameters
    ----------
    model : FactorisedSection
    reference : ReferenceModel
    solution : LinearSolution
    small : Closing
        Of that solution.
    asked : str
        One of `DEFORMATIONS`. With "auto" the small closing stands where the estimated change is
        below `STANDS`.
    begin : Beginning
    left_over : float
        Residual and gap error at which Newton's method stops, in times the usual ones.
    most_tangents : int
        After which it is given up.
    progress : Progress
    """
    case = solution.case
    loads, points = case.loads, model.mesh.points
    large = LargeCase(
        loads,
        band_pull(loads),
        friction_shares(points, case.path, loads) if loads.grips else (),
        case.rows.friction,
        pairing(model.mesh, case.section.seams),
    )
    change = float("nan")
    if asked == "auto" and small.outcome is Outcome.CONVERGED:
        change = estimated_change(model, reference, large, solution, small)
        if change < STANDS:
            return replace(small, deformation=Deformation(change=change))
    deformed = deform(
        reference,
        large,
        progress=partial(progress, "as it deforms"),
        start=begin.reached,
        is_on_path=begin.is_on_path,
        left_over=left_over,
        guesses=begin.guesses,
        most_tangents=most_tangents,
    )
    how = Deformation(
        is_large=deformed.outcome.has_answer,
        change=change,
        outcome=deformed.outcome,
        share=deformed.share,
        tangents=deformed.steps,
        small=small,
        reached=deformed.iterate,
    )
    if not how.is_large:
        return replace(small, deformation=replace(how, small=None, reached=None))
    closing = large_closing(small, reference, case.section, case.rows, deformed, how)
    if small.outcome.has_answer:
        change = largest_change(small.lands + small.seats, closing.lands + closing.seats)
    return replace(closing, deformation=replace(how, change=change))


def band_pull(loads: Loads) -> PullOf:
    """Return the bands' pull [N/mm] and its derivative by their length, from that length [mm]."""

    def pull(length: float) -> tuple[float, float]:
        step = PULL_STEP * length
        more, less = (loads.pull_n_per_mm(length + part) for part in (step, -step))
        return loads.pull_n_per_mm(length), (more - less) / (2 * step)

    return pull
