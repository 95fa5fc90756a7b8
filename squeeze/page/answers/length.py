"""The length of the block on the page: bands at their places, pressure between them."""

from __future__ import annotations

import json
import math
from collections import OrderedDict
from typing import Any

import numpy as np
from numpy.typing import NDArray

from squeeze.mold import Mold, dict_of, mold_of
from squeeze.mold.progress import Progress
from squeeze.page.answers.closed import mold_in
from squeeze.page.answers.remarks import in_units
from squeeze.page.answers.tables import plain_table
from squeeze.show.text.bands import bands_table, ripples
from squeeze.solve import AlongClosing, LandMap
from squeeze.verdict.bands.barriers_along import SealAlong, resin_along_kpa
from squeeze.verdict.bands.given import factorised, given_layout
from squeeze.verdict.bands.layout import BandLayout
from squeeze.verdict.bands.layout_words import say_given
from squeeze.verdict.bands.plan import plan_bands
from squeeze.verdict.bands.sentences import say_plan, say_table
from squeeze.verdict.place import land_name
from squeeze.verdict.seal.barrier import MARGIN

KEPT = 2

_blocks: OrderedDict[str, Any] = OrderedDict()


def length_answer(asked: dict[str, Any], progress: Progress) -> dict[str, Any]:
    """Return what the mold's bands do over its length: the worst station's lands as maps.

    `asked` has the ``mold``; with ``inches`` true the sentences are in inches.
    """
    mold, inches = mold_in(asked), asked.get("inches") is True
    blocks = _factorised(mold, progress)
    progress("Closing the cuts over the length")
    layout = given_layout(mold, blocks)
    named = any(band.strands or band.tension_n_per_mm for band in mold.band)
    says = say_given(layout, inches) if named else ["The mold has no bands yet: add some."]
    at = blocks[layout.worst].at_mm if len(blocks) > 1 else None
    doubts = [doubt for block in blocks for doubt in block.doubts]
    return {
        "say": says,
        "holds": layout.holds_well,
        "margin": _finite(layout.margin),
        "asked": MARGIN,
        "station_mm": at,
        "doubts": in_units(doubts, inches),
    } | _closing(layout.closings[layout.worst], layout.holds[layout.worst])


def bands(asked: dict[str, Any], progress: Progress) -> dict[str, Any]:
    """Return how many bands the cuts need and where, as `squeeze bands` says it.

    `asked` has the ``mold``; with ``stock`` true the trade sizes are tried, with ``inches`` true
    the sentences are in inches.
    """
    mold, inches = mold_in(asked), asked.get("inches") is True
    plan = plan_bands(mold, asked.get("stock") is True, progress=progress)
    said = say_plan(plan, inches)
    found: dict[str, Any] = {
        "say": said.say,
        "lines": list(said.lines),
        "remarks": list(said.remarks),
        "holds": plan.holds,
    }
    if not plan.nothing_cut and plan.shown is not None:
        found["table"] = plain_table(bands_table(plan, inches), say_table(plan))
    if plan.best is not None and plan.best.kind is not None and not plan.unreached:
        found["mold"] = dict_of(_with_bands(mold, plan.best))
    return found


def _factorised(mold: Mold, progress: Progress) -> Any:
    bare = {key: value for key, value in dict_of(mold).items() if key not in ("title", "band")}
    key = json.dumps(bare)
    if key not in _blocks:
        _blocks[key] = factorised(mold_of(bare), progress)
    _blocks.move_to_end(key)
    while len(_blocks) > KEPT:
        _blocks.popitem(last=False)
    return _blocks[key]


def _closing(closing: AlongClosing, hold: SealAlong) -> dict[str, Any]:
    worst = None
    if hold.land >= 0 and math.isfinite(hold.margin):
        worst = {"land": hold.land, "s_mm": hold.s_mm, "z_mm": hold.z_mm}
    return {
        "solved": closing.outcome.has_answer,
        "length_mm": closing.length_mm,
        "bands": [
            {"at_mm": band.at_mm, "width_mm": band.width_mm, "tension_n": band.tension_n}
            for band in closing.bands
        ],
        "smeared_n_per_mm": closing.smeared_n_per_mm,
        "needed_kpa": float(MARGIN * resin_along_kpa(closing).max()),
        "lands": [_land(closing, land, k) for k, land in enumerate(closing.lands)],
        "worst": worst,
    }


def _land(closing: AlongClosing, land: LandMap, number: int) -> dict[str, Any]:
    return {
        "name": f"{land.cut}: {land_name(land, closing.section)}" if land.cut else "",
        "length_mm": land.length_mm,
        "s_mm": _rounded(land.s_mm, 2),
        "z_mm": _rounded(land.z_mm, 2),
        "is_cut": land.is_cut.tolist(),
        "pressure_kpa": _rounded(land.pressure_kpa.T, 2),
        "gap_mm": _rounded(land.gap_mm.T, 4),
        "ripple": {where: _finite(value) for where, value in ripples(closing, land).items()},
    }


def _with_bands(mold: Mold, best: BandLayout) -> Mold:
    """Return the mold with the bands that were found."""
    assert best.kind is not None  # only a mold's own layout has none
    band = best.kind.band.model_dump(exclude_unset=True)
    band = {key: value for key, value in band.items() if key not in ("count", "at_mm")}
    places = [round(z, 1) for z in best.at_mm]
    return mold_of(dict_of(mold) | {"band": [band | {"at_mm": places}]})


def _rounded(values: NDArray[np.float64], digits: int) -> list[Any]:
    whole = np.where(np.isfinite(values), values, 0.0)
    return np.round(whole, digits).tolist()


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None
