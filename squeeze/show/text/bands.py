"""The plan of bands as a table on the terminal, and as plain data."""

from __future__ import annotations

import json
import math
from typing import Any

import numpy as np
from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from squeeze import __version__
from squeeze.show.text.cells import cell
from squeeze.solve import AlongClosing, LandMap, PitchRule
from squeeze.verdict.bands.barriers_along import SealAlong
from squeeze.verdict.bands.layout import BandLayout, is_enough
from squeeze.verdict.bands.plan import BandPlan, KindResult
from squeeze.verdict.bands.sentences import PlanWords
from squeeze.verdict.figures import BY_NAME
from squeeze.verdict.place import land_ends, land_name

OVER_THE_LENGTH = (
    "length_mm",
    "closed_share",
    "mean_pressure_kpa",
    "least_pressure_kpa",
    "evenness",
    "largest_gap_mm",
)
"""Figures of a land over the block's length: the same ones, over its area."""


def bands_table(plan: BandPlan, inches: bool = False) -> Table:
    """Return the table of lands, every station's, of the layout that a plan shows."""
    unit = "in" if inches else "mm"
    made = Table(box=SIMPLE_HEAD, pad_edge=False)
    made.add_column("land", overflow="fold")
    heads = (
        "mean\npsi" if inches else "mean\nkPa",
        "closed\n%",
        f"gap\n{unit}",
        "cavity\nripple",
        "middle\nripple",
    )
    for head in (*heads, "outside\nripple", "margin\ntimes"):
        made.add_column(head, justify="right", no_wrap=True)
    made.add_column("holds\n", no_wrap=True)
    layout = plan.shown
    if layout is None:
        return made
    several = len(plan.stretches) > 1
    rows = zip(plan.stretches, layout.closings, layout.holds, layout.slack, strict=True)
    for stretch, closing, hold, slack in rows:
        station = f"{stretch.at_mm:.0f} mm: " if several else ""
        for number, land in enumerate(closing.lands):
            name = Text(
                f"{station}{number + 1}  {_cut(closing, land)}{land_name(land, closing.section)}"
            )
            margins = hold.by_land[number], slack.by_land[number]
            made.add_row(name, *_figures(closing, land, margins, inches))
    return made


def _cut(closing: AlongClosing, land: LandMap) -> str:
    return f"{land.cut}: " if len(closing.section.cuts) > 1 else ""


def _figures(
    closing: AlongClosing, land: LandMap, margins: tuple[float, float], inches: bool
) -> list[str]:
    shown = (BY_NAME[name] for name in ("mean_pressure_kpa", "closed_share", "largest_gap_mm"))
    return [
        *(cell(each, each.take([land]), inches) for each in shown),
        *(_ripple(value) for value in ripples(closing, land).values()),
        "-" if math.isinf(margins[0]) else f"{margins[0]:.1f}",
        "yes" if all(map(is_enough, margins)) else "no",
    ]


def _ripple(value: float) -> str:
    return "-" if math.isnan(value) else f"{value:.2f}"


def ripples(closing: AlongClosing, land: LandMap) -> dict[str, float]:
    """Return least over mean along the block at cavity, middle and outside; NaN without one."""
    ripple = land.ripple()
    found = {"cavity": math.nan, "middle": float(ripple[len(ripple) // 2]), "outside": math.nan}
    for end, value in zip(land_ends(land, closing.section), (ripple[0], ripple[-1]), strict=True):
        if end.kind in found:
            found[end.kind] = float(np.fmin(found[end.kind], value))
    return found


def bands_json(plan: BandPlan, said: PlanWords) -> str:
    """Return a plan as JSON; what is not a finite number becomes null."""
    best = plan.best
    data = {
        "squeeze": __version__,
        "title": plan.mold.title,
        "length_mm": plan.mold.length_mm,
        "bands": {
            "count": None if best is None else len(best.at_mm),
            "at_mm": None if best is None else list(best.at_mm),
            "kind": None if best is None or best.kind is None else best.kind.name,
            "tension_n": None if best is None or best.kind is None else best.kind.pull_n,
            "nothing_cut": plan.nothing_cut,
            "shape_leaves_open": plan.shape_leaves_open,
        },
        "verdict": {
            "holds": plan.holds,
            "say": said.say,
            "grade": plan.head.grade if plan.head else None,
            "do": plan.head.do if plan.head else None,
        },
        "lines": list(said.lines),
        "remarks": list(said.remarks),
        "even": _layout(plan.even),
        "less": _layout(plan.less),
        "more": _layout(plan.more),
        "given": _layout(plan.given),
        "tried": [_tried(each) for each in plan.tried],
        "untried": [kind.name for kind in plan.untried],
        "rules": [_rule(rule) for rule in plan.rules],
        "stations": _stations(plan),
    }
    return json.dumps(_finite(data), indent=1, ensure_ascii=False) + "\n"


def _stations(plan: BandPlan) -> list[dict[str, Any]]:
    layout = plan.shown
    if layout is None:
        return []
    rows = zip(plan.stretches, layout.closings, layout.holds, strict=True)
    return [
        {
            "at_mm": stretch.at_mm,
            "from_mm": stretch.from_mm,
            "to_mm": stretch.to_mm,
            "doubts": list(stretch.doubts),
            "margin": hold.margin,
            "outcome": str(closing.outcome),
            "force_balance": closing.force_balance,
            "complementarity": closing.complementarity,
            "resin_kpa": closing.resin_kpa.tolist(),
            "lands": [
                _land(closing, land, hold.by_land[k]) for k, land in enumerate(closing.lands)
            ],
        }
        for stretch, closing, hold in rows
    ]


def _land(closing: AlongClosing, land: LandMap, margin: float) -> dict[str, Any]:
    arrays = ("s_mm", "x_mm", "y_mm", "z_mm", "is_cut", "pressure_kpa", "gap_mm")
    return (
        {"cut": land.cut, "land": land.land, "margin": margin, "ripple": ripples(closing, land)}
        | {name: BY_NAME[name].take([land]) for name in OVER_THE_LENGTH}
        | {name: getattr(land, name).tolist() for name in arrays}
    )


def _layout(layout: BandLayout | None) -> dict[str, Any] | None:
    if layout is None:
        return None
    return {
        "at_mm": list(layout.at_mm),
        "margin": layout.margin,
        "slack_margin": layout.slack_margin,
        "holds": layout.holds_well,
        "outcome": str(layout.outcome),
        "worst": _worst(layout.holds[layout.worst]),
    }


def _worst(hold: SealAlong) -> dict[str, Any]:
    names = ("land", "s_mm", "z_mm", "pressure_kpa", "start", "end")
    return {name: getattr(hold, name) for name in names}


def _tried(tried: KindResult) -> dict[str, Any]:
    return {
        "kind": tried.kind.name,
        "tension_n": tried.kind.pull_n,
        "width_mm": tried.kind.width_mm,
        "stretch": tried.kind.stretch,
        "count": None if tried.found is None else len(tried.found.at_mm),
        "at_most": tried.most,
        "margin_at_most": tried.limit.margin,
        "stopped_at": tried.stopped_at,
    }


def _rule(rule: PitchRule) -> dict[str, Any]:
    names = ("pitch_mm", "cavity", "middle", "outside")
    widest = {f"{where}_up_to_mm": rule.widest_mm(where) for where in names[1:]}
    return {name: getattr(rule, name).tolist() for name in names} | widest


def _finite(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _finite(each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [_finite(each) for each in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value
