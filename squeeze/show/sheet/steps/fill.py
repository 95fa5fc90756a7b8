"""The step in which the mold is filled: resin, air, head, weight, pot."""

from __future__ import annotations

from squeeze.mold import Mold
from squeeze.show.sheet.parts import Part, Row, Unit
from squeeze.show.sheet.steps.air import caught_air
from squeeze.show.sheet.steps.amounts import grams, weigh
from squeeze.verdict.air.pockets import Air
from squeeze.verdict.pot import pot_fit
from squeeze.verdict.quantities import Quantities
from squeeze.verdict.words import pressure


def fill_parts(mold: Mold, found: Quantities, air: Air, unit: Unit) -> list[Part]:
    """Return resin, caught air, head, weight and pot.

    Parameters
    ----------
    mold : Mold
    found : Quantities
    air : Air
    unit : Unit
    """
    resin = mold.resin
    parts: list[Part] = []
    if found.cavities_cm3:
        inside = [f"{found.cavities_cm3:.0f} cm3 in the cavities"]
        inside += [f"{found.sprue_cm3:.1f} in the sprue"] if found.sprue_cm3 else []
        inside += [f"{found.vents_cm3:.1f} in vents"] if found.vents_cm3 else []
        parts.append(Row("Resin", f"{grams(found.resin.mass_g)} a filling: {', '.join(inside)}"))
        waste = resin.waste_percent if resin else 10.0
        count = f" for {found.castings} fillings" if found.castings > 1 else ""
        parts.append(Row("Weigh out", f"{weigh(found.resin_mixed)}{count} with {waste:g} % waste"))
    else:
        parts.append(Row("Resin", "none: the mold file has no cavity"))
    parts += caught_air(mold, air, unit)
    if resin is not None:
        parts.append(Row("Head", _head_of_resin(mold, unit)))
        times = [
            f"{minutes:g} min {what}"
            for minutes, what in ((resin.pot_life_min, "to pour"), (resin.demold_min, "to demold"))
            if minutes is not None
        ]
        if times:
            parts.append(Row("Time", ", ".join(times)))
    parts.append(
        Row("To lift", f"{grams(found.lifted_g)} closed and filled; cradle and bands extra")
    )
    if found.price is not None:
        parts.append(
            Row("Price", f"{found.price:.2f} for rubber and resin as far as prices are given")
        )
    parts += _pot(mold, unit)
    return parts


def _head_of_resin(mold: Mold, unit: Unit) -> str:
    resin = mold.resin
    assert resin is not None
    if resin.head_mm is None:
        return f"{pressure(resin.pressure_kpa or 0.0)} in the cavities"
    if resin.standing:
        return f"{unit.say(resin.head_mm)} above the upper end; the block stands on its start"
    return f"{unit.say(resin.head_mm)} of liquid above the section; the block lies"


def _pot(mold: Mold, unit: Unit) -> list[Part]:
    fit = pot_fit(mold)
    if fit is None:
        return []
    size = f"{unit.bare(fit.bore_mm)} x {unit.say(fit.depth_mm)}"
    own = (
        f"the block needs {unit.bare(fit.widest_mm)} x {unit.say(fit.high_mm)}, cradle and bands on"
    )
    if fit.goes_in:
        return [Row("Pot", f"{size} (bore x depth): goes in; {own}")]
    said = f"{size} (bore x depth): does NOT go in; {own}"
    if fit.bevel_mm is not None:
        said += f". With bevels of {unit.say(fit.bevel_mm)} its bore is wide enough"
    return [Row("Pot", said)]
