"""Cradles to compare on the same cuts, from nothing to a full one, simplest first."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from squeeze.mold import dict_of, section_of
from squeeze.mold.tables.mold import Mold
from squeeze.verdict.advice.changed_mold import lengthened

BOTH = (("top", "bottom"), ("left", "right"))
BARE, OWN = "bands alone", "as in the file"
FOUR = ("top", "bottom", "left", "right")
CLAMP_SHARE = 0.5
"""A clamp pad is half as wide as the board it stands on."""


@dataclass(frozen=True)
class BoardSpec:
    """What the pieces to compare are made of.

    Attributes
    ----------
    material : str
        By its name in a mold file.
    thickness_mm : float
        Of flat boards; of a full cradle at its thinnest, a third of it.
    rise_mm : float or None
        Of round backs; a tenth of the block's width unless given.
    friction : float
        On the rubber.
    """

    material: str = "plywood"
    thickness_mm: float = 18.0
    rise_mm: float | None = None
    friction: float = 0.3


@dataclass(frozen=True, eq=False)
class CradleCandidate:
    """One cradle to compare.

    Attributes
    ----------
    name : str
    data : dict
        The mold with this cradle, as `mold_of` takes it.
    clamped : bool
        Two clamps take the place of the bands, each as hard as two strands.
    yardstick : bool
        No cradle but another block, to compare with.
    """

    name: str
    data: dict[str, Any]
    clamped: bool = False
    yardstick: bool = False


def candidates(mold: Mold, board: BoardSpec | None = None) -> Iterator[CradleCandidate]:
    """Yield the cradles to compare for a mold, simplest first; its own one comes last."""
    board = board or BoardSpec()
    bare = {key: value for key, value in dict_of(mold).items() if key not in ("cradle", "title")}
    yield CradleCandidate(BARE, bare)
    for kind, clamped in (("two boards, clamped", True), ("two flat boards", False)):
        for sides in BOTH:
            boards = [_flat(board, side) for side in sides]
            where = f"{kind}, {' and '.join(sides)}"
            yield CradleCandidate(where, bare | {"cradle": boards}, clamped)
    yield CradleCandidate(
        "four flat boards", bare | {"cradle": [_flat(board, side) for side in FOUR]}
    )
    rise = board.rise_mm or _tenth(mold)
    for sides in BOTH:
        boards = [_round(board, side, rise) for side in sides]
        name = f"two round-backed boards, {' and '.join(sides)}"
        yield CradleCandidate(name, bare | {"cradle": boards})
    boards = [_round(board, side, rise) for side in FOUR]
    yield CradleCandidate("four round-backed boards", bare | {"cradle": boards})
    yield CradleCandidate("saddle over the top", bare | {"cradle": [_saddle(board)]})
    for count in (2, 4):
        name = f"full cradle in {'two' if count == 2 else 'four'}"
        yield CradleCandidate(name, bare | {"cradle": [_full(board, count)]})
    yield CradleCandidate("round block", _round_block(mold, bare), yardstick=True)
    if mold.cradle:
        yield CradleCandidate(OWN, dict_of(mold))


def _material(board: BoardSpec) -> dict[str, Any]:
    return {"material": board.material, "friction": board.friction}


def _flat(board: BoardSpec, side: str) -> dict[str, Any]:
    flat = {"name": side, "covers": side, "seat": "flat", "thickness_mm": board.thickness_mm}
    return flat | _material(board)


def _round(board: BoardSpec, side: str, rise: float) -> dict[str, Any]:
    thick = {"thickness_mm": rise + board.thickness_mm / 4, "back": "round", "rise_mm": rise}
    return _flat(board, side) | thick


def _saddle(board: BoardSpec) -> dict[str, Any]:
    span = {"name": "saddle", "from_deg": 20.0, "to_deg": 160.0, "back": "round"}
    return span | {"thickness_mm": board.thickness_mm / 3} | _material(board)


def _full(board: BoardSpec, count: int) -> dict[str, Any]:
    full = {"name": "piece", "covers": "all", "pieces": count, "apart_mm": 6.0, "back": "round"}
    return full | {"thickness_mm": board.thickness_mm / 3} | _material(board)


def _tenth(mold: Mold) -> float:
    x0, y0, x1, y1 = section_of(mold).outline.polygon.bounds
    return round(max(x1 - x0, y1 - y0) / 10, 1)


def _round_block(mold: Mold, bare: dict[str, Any]) -> dict[str, Any]:
    """Return the mold with a round block about the present one, cuts carried on to its outside."""
    outline = section_of(mold).outline.polygon
    middle = np.array(shapely.minimum_bounding_circle(outline).centroid.coords[0])
    radius = float(shapely.minimum_bounding_radius(outline))
    moved = bare | {"block": {"shape": "round", "diameter_mm": 2 * radius}}
    for kind in ("cavity", "filler"):
        if kind in bare:
            moved[kind] = [
                e | {"centre_mm": _shifted(e.get("centre_mm"), middle)} for e in bare[kind]
            ]
    if "cut" in bare:
        paths = [lengthened(e["path_mm"], outline, 4 * radius) for e in bare["cut"]]
        moved["cut"] = [
            e | {"path_mm": [_shifted(at, middle) for at in path]}
            for e, path in zip(bare["cut"], paths, strict=True)
        ]
    if "push" in bare:
        moved["push"] = [
            e | {"at_mm": _shifted(e["at_mm"], middle)} if "at_mm" in e else e for e in bare["push"]
        ]
    return moved


def _shifted(at: Any, middle: np.ndarray) -> list[float]:
    return [float(v) for v in np.subtract(at or (0.0, 0.0), middle)]
