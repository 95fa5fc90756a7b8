"""Saying no: which limit binds, and the least change that would do."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence

from squeeze.design.answer import Refusal
from squeeze.design.limits import Limits
from squeeze.design.screen import (
    FITS_NOT,
    LOOSE,
    NOT_MADE,
    OPEN,
    OVERSIZE,
    OVERSTRETCHED,
    SHUT_IN,
    TOO_LONG,
    WEAK,
)
from squeeze.design.search import Draft, Found
from squeeze.mold import Mold


def refusal_of(
    mold: Mold,
    limits: Limits,
    found: Sequence[Found],
    failed: Sequence[tuple[Draft, str]],
) -> Refusal:
    """Return why no block was found, and the least change that would do.

    Parameters
    ----------
    mold : Mold
    limits : Limits
    found : sequence of Found
        Of every kind that was searched.
    failed : sequence of (Draft, str)
        Blocks that held on the coarse mesh only.
    """
    if not limits.bands:
        return Refusal("bands", "No band is at hand.", "Name one in [[band]].")
    dropped: Counter[str] = Counter()
    needs: dict[str, float] = {}
    for each in found:
        dropped.update(each.dropped)
        for reason, value in each.needs.items():
            needs[reason] = min(value, needs.get(reason, math.inf))
    for reason in (WEAK, LOOSE, OVERSTRETCHED, TOO_LONG, FITS_NOT, OVERSIZE, OPEN, SHUT_IN):
        if dropped.get(reason) and (
            said := _say(reason, mold, limits, needs.get(reason, math.nan))
        ):
            return said
    if failed:
        return Refusal(
            "fine mesh",
            f"{len(failed)} blocks held on the coarse mesh and none of them on the fine one or"
            " between the bands.",
            "Allow more bands: raise most_bands in [design].",
        )
    what = NOT_MADE if dropped.get(NOT_MADE) else "nothing could be tried"
    return Refusal("cut", f"No block can be made: {what}.", "")


def _say(reason: str, mold: Mold, limits: Limits, need: float) -> Refusal | None:
    if reason == WEAK:
        return _weak(mold, limits, need)
    if reason == TOO_LONG and mold.pot is not None:
        said = f"The block is {mold.length_mm:g} mm long; the pot is {mold.pot.depth_mm:g} mm deep."
        return Refusal("pot", said, f"A pot {mold.length_mm:g} mm deep would do.")
    if reason == FITS_NOT and mold.pot is not None:
        said = f"No block fits a bore of {mold.pot.bore_mm:g} mm."
        return Refusal("pot", said, f"A bore of {math.ceil(need):g} mm would do.")
    if reason == OVERSIZE:
        said = "Every block is larger than [design] allows."
        return Refusal("largest block", said, f"A block of {math.ceil(need):g} mm would do.")
    if reason in (LOOSE, OVERSTRETCHED):
        return Refusal("bands", f"No block can be closed: {reason}.", _other_bands(mold, need))
    if reason == OPEN:
        said = "Every block that was tried leaves a land open, however hard the bands pull."
        allow = "" if limits.wishes.cradle else "Allow a cradle, or "
        change = f"{allow}{'m' if allow else 'M'}ove the cut, or allow more outlines."
        return Refusal("shape", said, change)
    if reason == SHUT_IN:
        return Refusal("cut", "No cut opens every model.", 'Lead a cut to each, or cut = "free".')
    return None


def _weak(mold: Mold, limits: Limits, need: float) -> Refusal:
    said = "The bands at hand pull too little to seal any block that was tried."
    if not math.isfinite(need):
        return Refusal("bands", said, "")
    most = max(kind.most for kind in limits.bands)
    if most:
        pull = need * mold.length_mm / most
        change = f"{most} bands of {_up(pull)} N each at this length would do."
    else:
        change = f"A pull of {_up(need)} N per mm of length would do."
    return Refusal("bands", said, change)


def _other_bands(mold: Mold, wrap_mm: float) -> str:
    from squeeze.verdict.bands.kinds import kinds_in_stock

    if not math.isfinite(wrap_mm):
        return ""
    names = [kind.name for kind in kinds_in_stock(wrap_mm)]
    fit = f"; of the trade sizes {', '.join(names[:4])} do" if names else ""
    return f"Bands that go {wrap_mm:.0f} mm round at 1.5 to 3 times their length would do{fit}."


def _up(value: float) -> str:
    """Return a number rounded up to two digits."""
    if value <= 0:
        return "0"
    step = 10.0 ** (math.floor(math.log10(value)) - 1)
    return f"{round(math.ceil(value / step - 1e-9) * step, 6):g}"
