"""Remarks on a closing, in plain sentences."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from squeeze.solve.closing import Closing
from squeeze.solve.land import Land
from squeeze.solve.outcome import Outcome
from squeeze.verdict.seal.barrier import Seal
from squeeze.verdict.words import length, place, pressure, reached

MORE_BANDS = (
    "More bands never close a middle that the shape leaves open: "
    "change the outline, add a cradle, or move the cut."
)
"""True whenever bands alone act and deform the block little: without a gap to close first, twice
the tension gives twice the pressure and twice the gap, and the closed part stays the same. At large
deformation the gap levels off and falls again, so it is not said there."""

PRESSING_HARDER = (
    "Pressing harder in the same places never closes a middle that the shape leaves open: "
    "change the outline, add a cradle, or move the cut or the push."
)
"""The same for loads with pushes, all grown alike."""

STRAIN_LIMIT_PCT = 10.0
"""Largest strain that small-strain theory is good for (common practice)."""

LARGE_LIMIT_PCT = 100.0
"""Stretch up to which the neo-Hookean law is good for (L. R. G. Treloar, Trans. Faraday Soc. 40
(1944) 59: it strays by 29 % at four times the length); a judgement."""


NOTABLE = 0.02
"""Change by large deformation that deserves a remark."""

NOTHING = 1e-6
"""Share of the highest pressure on any land below which a barrier presses by rounding alone."""


def closing_remarks(closing: Closing, seal: Seal, inches: bool = False) -> tuple[str, ...]:
    """Return the sentences that apply to a converged closing; none for any other."""
    if not closing.outcome.has_answer:
        return ()
    return (
        *deformation_lines(closing, inches),
        *_shape(closing, seal),
        *_pried(closing),
        *filter(None, [several_states(closing)]),
        *_strain(closing, inches),
    )


def deformation_lines(closing: Closing, inches: bool = False) -> tuple[str, ...]:
    """Say what small strain gives, or that the answer is not confirmed."""
    how = closing.deformation
    if how.is_large and how.small is not None and how.small.outcome.has_answer:
        if not how.change >= NOTABLE:
            return ()
        said = _told_apart(how.small, closing, inches)
        if said is None:
            return ()
        return (
            f"Small-strain theory gives {said}. It does not hold here: the block deforms too much.",
        )
    if how.outcome is None or how.is_large:
        return ()
    return (
        "This is the answer of small-strain theory. It is not confirmed: at large deformation the"
        f" calculation {reached(how.share)}. {how.outcome.cause}",
    )


def _told_apart(small: Closing, large: Closing, inches: bool) -> str | None:
    """Return the first figure that reads differently in two closings, gaps before pressures."""
    figures: list[tuple[str, Callable[[Closing], str]]] = [
        ("a least pressure", lambda each: pressure(_least(each))),
        ("a mean pressure", lambda each: pressure(_mean(each))),
        ("a highest pressure", lambda each: pressure(_most(each))),
    ]
    if max(_widest(small), _widest(large)) > 0.005:
        figures.insert(0, ("a widest gap", lambda each: length(_widest(each), inches)))
    for what, words in figures:
        if words(small) != words(large):
            return f"{what} of {words(small)}, not {words(large)}"
    return None


def _widest(closing: Closing) -> float:
    return max((land.largest_gap_mm for land in closing.lands), default=0.0)


def _least(closing: Closing) -> float:
    return min((land.least_pressure_kpa for land in closing.lands), default=0.0)


def _mean(closing: Closing) -> float:
    force = sum(land.force_n_per_mm for land in closing.lands)
    return 1000.0 * force / (sum(land.length_mm for land in closing.lands) or 1.0)


def _most(closing: Closing) -> float:
    return max((float(land.pressure_kpa.max()) for land in closing.lands), default=0.0)


def open_inside(land: Land) -> bool:
    """Return whether the land stands open anywhere away from its ends.

    Its ends are the outermost 5 % of its length, at least 1 mm, at most a quarter of it.
    """
    margin = min(max(1.0, 0.05 * land.length_mm), 0.25 * land.length_mm)
    inside = (land.s_mm > margin) & (land.s_mm < land.length_mm - margin)
    return bool((land.gap_mm[inside] > 0).any())


def bands_help(closing: Closing, seal: Seal) -> bool:
    """Return whether pressing harder in the same places can stop the leaks.

    It cannot where a leak runs along a path on which nothing presses: without an unloaded gap and
    without resin pressures grow in proportion to the load, and zero stays zero.
    """
    top = max((float(land.pressure_kpa.max()) for land in closing.lands), default=0.0)
    return all(leak.barrier_kpa > NOTHING * top for leak in seal.leaks)


def _shape(closing: Closing, seal: Seal) -> list[str]:
    loads = closing.loads
    if closing.deformation.is_large:
        return []
    if not loads.is_pushed and loads.tension_n_per_mm == 0:
        return []
    unloaded_gap = any(
        any(cut.gap_mm) or cut.bow_mm or any(cut.film_mm) for cut in closing.section.cuts
    )
    if unloaded_gap or loads.cavity_mpa != 0 or bands_help(closing, seal):
        return []
    return [PRESSING_HARDER if loads.is_pushed else MORE_BANDS]


def _pried(closing: Closing) -> list[str]:
    if not closing.pried:
        return []
    return [
        "Resin between the faces pries open places that would stay closed without it: less head, "
        "or more pressure there, keeps it out."
    ]


def several_states(closing: Closing) -> str:
    """Say how far other states of friction differ from the one that the figures are of.

    Empty where there is one state only.
    """
    if closing.outcome is not Outcome.NOT_UNIQUE:
        return ""
    gap, kpa = states_apart(closing)
    by = f"by up to {length(gap)} in gaps and {pressure(kpa)} in pressures" if kpa or gap else ""
    others = f" Others that were found differ {by}." if by else ""
    return (
        f"{closing.outcome.cause} The figures are for the state they reach as the bands go"
        f" on.{others}"
    )


def states_apart(closing: Closing) -> tuple[float, float]:
    """Return how far other states are from that of the answer: gaps [mm], pressures [kPa]."""
    gaps, pressures = [0.0], [0.0]
    for land, found in zip(closing.lands, closing.ranges, strict=False):
        gaps.append(float(np.abs(found.gap_mm - land.gap_mm).max()))
        pressures.append(float(np.abs(found.pressure_kpa - land.pressure_kpa).max()))
    return max(gaps), max(pressures)


def _strain(closing: Closing, inches: bool) -> list[str]:
    trust = closing.trust
    is_large = closing.deformation.is_large
    if trust.largest_strain_pct <= (LARGE_LIMIT_PCT if is_large else STRAIN_LIMIT_PCT):
        return []
    limit = (
        "rubber stiffens over 100 %, which this calculation leaves out."
        if is_large
        else "over 10 % a linear calculation is only a rough guide."
    )
    x, y = (place(v, inches) for v in trust.strain_at_mm)
    return [
        f"The rubber is strained by {trust.largest_strain_pct:.0f} % at x = {x}, y = {y}; {limit}"
    ]
