"""What limits the answer of a plan of bands, in plain sentences."""

from __future__ import annotations

import numpy as np

from squeeze.mold.tables.loads import RESIN_DENSITY_G_CM3
from squeeze.solve.along.record import AlongClosing
from squeeze.verdict.bands.barriers_along import resin_along_kpa
from squeeze.verdict.bands.layout_words import say_count
from squeeze.verdict.bands.plan import BandPlan
from squeeze.verdict.remarks import STRAIN_LIMIT_PCT
from squeeze.verdict.seal.barrier import YARDSTICK_KPA
from squeeze.verdict.words import length, pressure


def plan_remarks(plan: BandPlan, inches: bool) -> list[str]:
    """Return what limits the answer, a sentence each; lengths in inches when asked."""
    shown = plan.shown
    found = [doubt for stretch in plan.stretches for doubt in stretch.doubts]
    if shown is not None:
        found += [*_ends(shown.closings[0], inches), *_yardstick(shown.closings[0])]
    if plan.stretches and not plan.nothing_cut:
        waves = min(stretch.block.count for stretch in plan.stretches)
        found.append(_lip(plan.mold.length_mm / waves, inches))
    if any(stretch.block.is_coarse for stretch in plan.stretches):
        found.append("This block is large: the mesh here is coarser than that of squeeze close.")
    if plan.strain_pct > STRAIN_LIMIT_PCT:
        found.append(
            f"The rubber is strained by {plan.strain_pct:.0f} % under these bands; over 10 % a"
            " linear calculation is only a rough guide, and the castings are squashed."
        )
    found += _left_out(plan)
    if any(cut.coefficient for cut in plan.mold.cut):
        found.append(
            "Friction between the faces is that of one section under the bands' mean pull."
        )
    return list(dict.fromkeys(found))


def _left_out(plan: BandPlan) -> list[str]:
    """Say what was not tried because the work allowed was used up."""
    left = [
        f"more than {say_count(each.stopped_at)} of {each.kind.name}"
        for each in plan.tried
        if each.stopped_at is not None
    ]
    left += [kind.name for kind in plan.untried]
    if not left:
        return []
    return [
        f"Not tried, because this block takes long to compute: {', '.join(left)}. Name one kind of"
        " band in the mold file to have it tried first."
    ]


NEAR_LIP_MM = 2.0
"""Nearer than this to the outside pressures are less sure; deeper in they are good to 5 %."""


def _lip(cell_mm: float, inches: bool) -> str:
    """Say what the pressures along the block are means of, and how good they are at the lip.

    Against four times as many waves, taken together four at a time, they are off by up to 6 % of
    the largest right at the lip, and by 3 % from 4 mm on.
    """
    return (
        f"Pressures are means over {length(cell_mm, inches)} along the block. Within"
        f" {length(NEAR_LIP_MM, inches)} of the outside they are good to a tenth of the largest"
        " there, deeper in to 5 %."
    )


def _ends(closing: AlongClosing, inches: bool) -> list[str]:
    ends = closing.ends
    if not ends.doubtful_mm:
        return []
    return [
        f"A last band lies {length(ends.overhang_mm, inches)} from an end, over half a pitch:"
        f" within {length(ends.doubtful_mm, inches)} of the end the pressure may be off by a"
        " quarter, and a round block may open."
    ]


def _yardstick(closing: AlongClosing) -> list[str]:
    asked = "A land holds where it presses twice as hard as "
    if not closing.resin_kpa.any():
        resin = (
            f"100 mm of resin of {RESIN_DENSITY_G_CM3:g} g/cm3, {pressure(YARDSTICK_KPA)}; the file"
            " gives no resin."
        )
    elif np.ptp(closing.resin_kpa) > 1e-9:
        low, high = resin_along_kpa(closing)[[-1, 0]]
        resin = f"the resin, {pressure(high)} at the foot to {pressure(low)} at the top."
    else:
        resin = f"the resin, {pressure(float(closing.resin_kpa[0]))}."
    return [asked + resin]
