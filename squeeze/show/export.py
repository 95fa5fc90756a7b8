"""Results as JSON and as a VTU file for a viewer of finite-element fields."""

from __future__ import annotations

import json
import math
from dataclasses import asdict
from os import PathLike
from typing import Any

import meshio
import numpy as np
from numpy.typing import NDArray

from squeeze import __version__
from squeeze.mold import Mold
from squeeze.solve.closing import Closing
from squeeze.solve.field import CavityChange, Field
from squeeze.solve.land import Land
from squeeze.verdict import LandVerdict, Verdict, WorstPlace
from squeeze.verdict.figures import bare, errors_of_figures, figures_of, of_kind

Array = NDArray[np.float64]

ARRAYS = ("s_mm", "x_mm", "y_mm", "pressure_kpa", "gap_mm", "slip_mm")


def as_json(
    closing: Closing, verdict: Verdict, mold: Mold | None = None, whole: bool = True
) -> dict:
    """Return everything that a closing and its verdict hold, but the field, as plain data.

    Parameters
    ----------
    closing : Closing
    verdict : Verdict
        On this closing and this mold.
    mold : Mold, optional
        For the mass and the reach of the flash.
    whole : bool
        With the figures of all lands together and their errors, which take as long as the rest.

    Returns
    -------
    dict
        Numbers are exact; what is not finite (a solve without an answer) becomes None.
    """
    more = (
        {
            "figures": figures_of(closing, mold, verdict.seal, verdict.flash).as_data(),
            "errors": errors_json(closing, mold),
        }
        if whole
        else {}
    )
    said = {
        "squeeze": __version__,
        "title": closing.title,
        "lands": [
            _land(land, "cut") | _verdict_of(word)
            for land, word in zip(closing.lands, verdict.lands, strict=True)
        ],
        "seats": [_land(seat, "cradle") for seat in closing.seats],
        "joints": [_land(joint, "cradle") for joint in closing.joints],
        "cavities": [_cavity(cavity) for cavity in closing.cavities],
        "bands": {
            "tension_n_per_mm": closing.loads.tension_n_per_mm,
            "wrap_mm": closing.wrap.wrap_mm if closing.wrap else None,
        },
        "verdict": _verdict(verdict),
        "trust": _trust(closing),
        "seconds": {name: getattr(closing.seconds, name) for name in _SECONDS},
    }
    return finite_or_none(said | more)


_SECONDS = ("mesh", "assemble", "factor", "contact", "total")


def as_text(
    closing: Closing, verdict: Verdict, more: dict | None = None, mold: Mold | None = None
) -> str:
    """Return `as_json` as text, with `more` keys beside."""
    said = as_json(closing, verdict, mold) | finite_or_none(more or {})
    return json.dumps(said, indent=1, ensure_ascii=False, allow_nan=False)


def _land(land: Land, owner: str) -> dict:
    head = {owner: land.cut, "land": land.land, "length_mm": land.length_mm}
    arrays = {name: getattr(land, name).tolist() for name in ARRAYS}
    figures = {name: bare(each.take([land])) for name, each in _OF_A_LAND.items()}
    return head | arrays | figures


_OF_A_LAND = {name: each for name, each in of_kind("lands").items() if not each.over_several}


def _verdict_of(word: LandVerdict) -> dict:
    return {"seals": word.seals, "name": word.name}


def _cavity(cavity: CavityChange) -> dict:
    names = ("name", "area_mm2", "area_change_pct", "largest_shift_mm", "step_mm")
    return {name: getattr(cavity, name) for name in names}


def _verdict(verdict: Verdict) -> dict:
    return {
        "seals": verdict.seals,
        "grade": verdict.grade,
        "say": verdict.say,
        "do": verdict.do,
        "sure": verdict.head.sure,
        "good": verdict.head.good,
        "causes": [asdict(cause) for cause in verdict.head.causes],
        "worst": _worst(verdict.worst),
        "needed_kpa": verdict.needed_kpa,
        "yardstick": verdict.yardstick,
        "advice": list(verdict.advice),
    }


def _worst(worst: WorstPlace | None) -> dict:
    names = ("x_mm", "y_mm", "land", "gap_mm", "pressure_kpa", "cut", "words")
    return {name: getattr(worst, name) if worst else None for name in names}


def _trust(closing: Closing) -> dict:
    trust = closing.trust
    names = (
        "force_balance",
        "complementarity",
        "largest_strain_pct",
        "unknowns",
        "contact_places",
        "contact_steps",
    )
    found = {name: getattr(trust, name) for name in names}
    return found | {"outcome": str(trust.outcome), "strain_at_mm": list(trust.strain_at_mm)}


def errors_json(closing: Closing, mold: Mold | None = None) -> dict | None:
    """Return how far the figures are off as plain data; None where nobody looked.

    Under "figures" stands the error of each figure of the JSON's own "figures" that is a number.
    """
    errors = closing.errors
    if errors is None:
        return None
    names = (
        "pressure_pct",
        "gap_mm",
        "worst_at_mm",
        "strain_pct",
        "strain_is_settled",
    )
    more = ("is_enough", "fineness", "coarser_fineness")
    return {name: getattr(errors, name) for name in (*names, *more)} | {
        "figures": errors_of_figures(closing, mold),
        "lands": [asdict(land) for land in errors.lands],
        "seats": [asdict(seat) for seat in errors.seats],
        "cavities": [asdict(cavity) for cavity in errors.cavities],
    }


def finite_or_none(value: Any) -> Any:
    """Return `value` as plain data; what is not finite is None, as JSON has no word for it."""
    if isinstance(value, dict):
        return {key: finite_or_none(each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [finite_or_none(each) for each in value]
    if isinstance(value, np.generic):
        return finite_or_none(value.item())
    if isinstance(value, np.ndarray):
        return finite_or_none(value.tolist())
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value


def write_vtu(closing: Closing, path: str | PathLike[str]) -> None:
    """Write the field as a VTU file of six-node triangles, whatever the ending of `path`.

    Notes
    -----
    At the nodes: displacement [mm], pressure [MPa], stress [MPa] (xx, yy, xy). Nodes are split
    along the cuts, so the means over the triangles round a node never mix two sides of a cut.
    In the triangles: body, largest strain [%].
    """
    field = closing.field
    flat = np.zeros(len(field.points_mm))
    stress = at_nodes(field, field.stress_mpa)
    mesh = meshio.Mesh(
        np.column_stack([field.points_mm, flat]),
        [("triangle6", field.triangles)],
        point_data={
            "displacement_mm": np.column_stack([field.displacement_mm, flat]),
            "pressure_mpa": at_nodes(field, field.pressure_mpa[:, :, None])[:, 0],
            "stress_xx_mpa": stress[:, 0],
            "stress_yy_mpa": stress[:, 1],
            "stress_xy_mpa": stress[:, 2],
        },
        cell_data={"body": [field.body], "strain_pct": [field.strain_pct]},
    )
    mesh.write(path, file_format="vtu")


def at_nodes(field: Field, corners: Array) -> Array:
    """Return `corners` (m, 3, k) as node values (n, k): means, mid-side nodes of their ends."""
    total = np.zeros((len(field.points_mm), corners.shape[2]))
    count = np.zeros(len(field.points_mm))
    nodes = field.triangles[:, :3]
    np.add.at(total, nodes, corners)
    np.add.at(count, nodes, 1.0)
    value = total / np.maximum(count, 1.0)[:, None]
    for side, (a, b) in enumerate(((0, 1), (1, 2), (2, 0)), start=3):
        ends = field.triangles[:, [a, b]]
        value[field.triangles[:, side]] = 0.5 * (value[ends[:, 0]] + value[ends[:, 1]])
    return value
