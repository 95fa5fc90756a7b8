"""Saying no: which limit binds, and the least change that would do."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from squeeze.design.answer import Refusal
from squeeze.design.blocks.limits import Limits
from squeeze.design.search.drafts import Draft, Found
from squeeze.design.search.given_up import (
    APART,
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
from squeeze.design.words.sentences import bands_words, name_of
from squeeze.mold import Mold, dict_of, mold_of, section_of
from squeeze.mold.forces.band_sizes import SIZES
from squeeze.mold.tables.design import DesignTable
from squeeze.verdict.pot import with_bands_mm


def relaxed(mold: Mold, found: Sequence[Found]) -> dict[str, Mold]:
    """Return molds with one limit lifted, by the reason for which blocks were given up.

    What is found for one of them shows by how much the limit would have to give.
    """
    reasons = {reason for each in found for reason, count in each.dropped.items() if count}
    wishes = (mold.design or DesignTable()).model_dump(exclude_unset=True)
    free = {k: v for k, v in wishes.items() if k not in ("most_width_mm", "most_height_mm")}
    lifted: dict[str, dict[str, Any]] = {
        FITS_NOT: {"pot": None},
        TOO_LONG: {"pot": {"bore_mm": mold.pot.bore_mm, "depth_mm": mold.length_mm}}
        if mold.pot
        else {},
        OVERSIZE: {"design": free},
        LOOSE: {"design": wishes | {"band_stock": list(SIZES)}},
    }
    lifted[OVERSTRETCHED] = lifted[APART] = lifted[WEAK] = lifted[LOOSE]
    return {
        reason: mold_of(dict_of(mold) | change)
        for reason, change in lifted.items()
        if reason in reasons
    }


def refusal_of(
    mold: Mold,
    limits: Limits,
    found: Sequence[Found],
    failed: Sequence[tuple[Draft, str]],
    lifted: Mapping[str, Sequence[Draft]],
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
    lifted : mapping of str to sequence of Draft
        Blocks that hold once a limit is lifted, by the reason that it is.
    """
    if not limits.bands:
        return Refusal("bands", "No band is at hand.", "Name one in [[band]].")
    dropped: Counter[str] = Counter()
    pulls = [each.needs[WEAK] for each in found if WEAK in each.needs]
    for each in found:
        dropped.update(each.dropped)
    if pulls:
        return _weak(mold, limits, min(pulls), lifted.get(WEAK, ()))
    for reason in (APART, LOOSE, OVERSTRETCHED, TOO_LONG, FITS_NOT, OVERSIZE):
        if dropped[reason] and lifted.get(reason):
            return _lifted(reason, mold, lifted[reason])
    if failed:
        return Refusal(
            "fine mesh",
            f"{len(failed)} blocks held on the coarse mesh and none of them on the fine one or"
            " between the bands.",
            "Allow more bands: raise most_bands in [design].",
        )
    for reason in (OPEN, SHUT_IN, APART, LOOSE, OVERSTRETCHED, TOO_LONG, FITS_NOT, OVERSIZE):
        if dropped[reason]:
            return _bare(reason, limits)
    what = NOT_MADE if dropped[NOT_MADE] else "nothing could be tried"
    return Refusal("cut", f"No block can be made: {what}.", "")


def _lifted(reason: str, mold: Mold, drafts: Sequence[Draft]) -> Refusal:
    """Return the refusal where one limit, lifted, lets blocks hold."""
    molds = [mold_of(draft.data) for draft in drafts]
    if reason in (APART, LOOSE, OVERSTRETCHED):
        said = f"Round every block that holds the models, {reason}."
        return Refusal("bands", said, _other_bands(drafts))
    if reason == TOO_LONG:
        depth = mold.pot.depth_mm if mold.pot else 0.0
        said = f"The block is {mold.length_mm:g} mm long and the pot {depth:g} mm deep."
        return Refusal("pot", said, f"A pot {mold.length_mm:g} mm deep would do.")
    if reason == FITS_NOT:
        bore = mold.pot.bore_mm if mold.pot else 0.0
        least = min(with_bands_mm(each) for each in molds)
        said = f"No block that seals goes into a bore of {bore:g} mm."
        return Refusal("pot", said, f"A bore of {math.ceil(least - 1e-6)} mm would do.")
    wide, high = min((_size(each) for each in molds), key=lambda size: size[0] * size[1])
    said = "No block that seals is as small as [design] allows."
    return Refusal("largest block", said, f"One of {wide:.0f} x {high:.0f} mm would do.")


def _other_bands(drafts: Sequence[Draft]) -> str:
    lightest = mold_of(min(drafts, key=lambda draft: draft.rubber_g).data)
    return f"{bands_words(lightest).capitalize()} would do: {name_of(lightest)}."


def least_change(reason: str, drafts: Sequence[Draft]) -> list[Draft]:
    """Return blocks that hold once a limit is lifted, by how much it has to give.

    The figure is the one that the refusal names for the `reason`: the bore, the size, the rubber.
    """

    def gives(draft: Draft) -> float:
        if reason == FITS_NOT:
            return with_bands_mm(mold_of(draft.data))
        if reason == OVERSIZE:
            wide, high = _size(mold_of(draft.data))
            return wide * high
        return draft.rubber_g

    return sorted(drafts, key=gives)


def _size(mold: Mold) -> tuple[float, float]:
    x0, y0, x1, y1 = section_of(mold).outline.polygon.bounds
    return float(x1 - x0), float(y1 - y0)


def _bare(reason: str, limits: Limits) -> Refusal:
    """Return the refusal where lifting the limit alone does not do."""
    if reason == OPEN:
        said = "Every block that was tried leaves a land open, however hard the bands pull."
        start = "M" if limits.wishes.cradle else "Allow a cradle, or m"
        return Refusal("shape", said, f"{start}ove the cut, or allow more outlines.")
    if reason == SHUT_IN:
        return Refusal("cut", "No cut opens every model.", 'Lead a cut to each, or cut = "free".')
    limit = "bands" if reason in (APART, LOOSE, OVERSTRETCHED) else "pot"
    limit = "largest block" if reason == OVERSIZE else limit
    return Refusal(limit, f"Every block that was tried is given up: {reason}.", "")


def _weak(mold: Mold, limits: Limits, need: float, lifted: Sequence[Draft]) -> Refusal:
    said = "The bands at hand pull too little to seal any block that was tried."
    if lifted:
        return Refusal("bands", said, _other_bands(lifted))
    if not math.isfinite(need):
        return Refusal("bands", said, "")
    most = max(kind.most for kind in limits.bands)
    if most:
        pull = need * mold.length_mm / most
        change = f"{most} bands of {_up(pull)} N each at this length would do."
    else:
        change = f"A pull of {_up(need)} N per mm of length would do."
    return Refusal("bands", said, change)


def _up(value: float) -> str:
    """Return a number rounded up to two digits."""
    if value <= 0:
        return "0"
    step = 10.0 ** (math.floor(math.log10(value)) - 1)
    return f"{round(math.ceil(value / step - 1e-9) * step, 6):g}"
