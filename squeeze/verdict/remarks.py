"""What to do about it, in plain sentences."""

from __future__ import annotations

from squeeze.solve.closing import Closing, Land
from squeeze.solve.outcome import Outcome
from squeeze.verdict.seal.barrier import Seal
from squeeze.verdict.words import place

MORE_BANDS = (
    "More bands never close a middle that the shape leaves open: "
    "change the outline, add a cradle, or move the cut."
)
"""True whenever bands alone act and deform the block little: without a gap to close first, twice
the tension gives twice the pressure and twice the gap, and the closed part stays the same. Bands
that follow a bulging flat press back on it, so it is not said of them."""

PRESSING_HARDER = (
    "Pressing harder in the same places never closes a middle that the shape leaves open: "
    "change the outline, add a cradle, or move the cut or the push."
)
"""The same for loads with pushes, all grown alike."""

STRAIN_LIMIT_PCT = 10.0


NOTHING = 1e-6
"""Of the highest pressure on any land: a barrier below this presses by rounding alone."""


def advice(closing: Closing, seal: Seal, inches: bool = False) -> tuple[str, ...]:
    """Return the sentences that apply to a converged closing; none for any other."""
    if not closing.outcome.has_answer:
        return ()
    return (
        *_shape(closing, seal),
        *_pried(closing),
        *_several(closing),
        *_strain(closing, inches),
    )


def open_inside(land: Land) -> bool:
    """Return whether the land stands open anywhere away from its ends.

    Its ends are the outermost 5 % of its length, at least 1 mm, at most a quarter of it.
    """
    margin = min(max(1.0, 0.05 * land.length_mm), 0.25 * land.length_mm)
    inside = (land.s_mm > margin) & (land.s_mm < land.length_mm - margin)
    return bool((land.gap_mm[inside] > 0).any())


def bands_help(closing: Closing, seal: Seal) -> bool:
    """Return whether pressing harder in the same places can stop the leaks.

    It cannot where something leaks along a way on which nothing presses at all: without an
    unloaded gap and without resin, pressures grow with the load, but nothing stays nothing.
    """
    top = max((float(land.pressure_kpa.max()) for land in closing.lands), default=0.0)
    return all(leak.barrier_kpa > NOTHING * top for leak in seal.leaks)


def _shape(closing: Closing, seal: Seal) -> list[str]:
    loads = closing.loads
    if closing.followed:
        return []
    pushed = bool(loads.pushes) or loads.all_round_mpa != 0
    if not pushed and loads.tension_n_per_mm == 0:
        return []
    unloaded_gap = any(gap != 0 for cut in closing.section.cuts for gap in cut.gap_mm)
    if unloaded_gap or loads.cavity_mpa != 0 or bands_help(closing, seal):
        return []
    return [PRESSING_HARDER if pushed else MORE_BANDS]


def _pried(closing: Closing) -> list[str]:
    if not closing.pried:
        return []
    return [
        "Resin that gets between the faces pries open places that stay closed while it is in the "
        "cavity alone: less head, or more pressure there, keeps it out."
    ]


def _several(closing: Closing) -> list[str]:
    if closing.outcome is not Outcome.NOT_UNIQUE:
        return []
    return [f"{closing.outcome.cause} Told is the one that they reach while the bands go on."]


def _strain(closing: Closing, inches: bool) -> list[str]:
    trust = closing.trust
    if trust.largest_strain_pct <= STRAIN_LIMIT_PCT:
        return []
    x, y = (place(v, inches) for v in trust.strain_at_mm)
    return [
        f"The rubber is strained by {trust.largest_strain_pct:.0f} % at "
        f"x = {x}, y = {y}; over 10 % a linear calculation is only a rough guide there."
    ]
