"""A block that just misses: the same with as many bands as its margin asks for."""

from __future__ import annotations

import math
from dataclasses import replace

from squeeze.design.blocks.limits import Limits
from squeeze.design.certified.choose import Certified
from squeeze.design.search.drafts import Draft
from squeeze.design.search.given_up import Unfit
from squeeze.design.search.screen import bands_for
from squeeze.mold import section_of, wrap_mm

TO_SPARE = 1.03
"""The margin grows a little less than the number of bands."""


def with_more_bands(block: Certified, limits: Limits) -> Draft | None:
    """Return a block with as many bands as its margin asks for.

    Parameters
    ----------
    block : Certified
        One whose margin is less than the wishes ask for.
    limits : Limits

    Returns
    -------
    Draft or None
        None where there are not so many bands, or where no band would help.
    """
    table = block.draft.data["band"][0]
    places = table.get("at_mm")
    if not places or block.figures.margin <= 0:
        return None
    times = limits.wishes.least_margin / block.figures.margin
    count = max(len(places) + 1, math.ceil(TO_SPARE * times * len(places)))
    try:
        known = bands_for(wrap_mm(section_of(block.mold)), limits)
    except Unfit:
        return None
    bare = {key: value for key, value in table.items() if key != "at_mm"}
    kind, most = next(((k, n) for k, n in known if k.table == bare), (None, 0))
    if kind is None or count > most:
        return None
    data = block.draft.data | {"band": [kind.on_block(count, limits.length_mm)]}
    steps = block.draft.steps + count - len(places)
    return replace(block.draft, data=data, bands=count, steps=steps)
