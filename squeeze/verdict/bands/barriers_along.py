"""Whether a block holds resin over its whole length: barriers over the parting plane.

Resin may run along a land, from land to land where they meet, and along the block. It gets through
where a path leads from a cavity to the outside, or to another cavity, without a place that presses
hard enough. The pressure that bars the worst path, over the resin's there, is the block's margin.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import cast

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import grey_opening
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from squeeze.solve.along.record import AlongClosing, LandMap
from squeeze.solve.land import Land
from squeeze.verdict.seal.barrier import BARRIER_MM, YARDSTICK_KPA
from squeeze.verdict.seal.land_graph import LandPart, Node, parts_of

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

LEAST_KPA = 0.01
"""What resin is taken to press with at least, so that a head of nothing has a margin, too [kPa]."""

_MOST_STEPS = 240


@dataclass(frozen=True)
class SealAlong:
    """How well a block holds resin over its length.

    Attributes
    ----------
    margin : float
        Pressure that bars the worst path, over the resin's there; infinite where no path leads
        anywhere, 0 without an answer.
    by_land : tuple of float
        The same for each land alone, from its start to its end.
    land : int
        Number of the land on which the worst path is barred; -1 = none.
    s_mm, z_mm : float
        Where that is: along the land, along the block.
    pressure_kpa : float
        Pressure there.
    start, end : str
        What the worst path joins, in words.
    """

    margin: float
    by_land: tuple[float, ...]
    land: int = -1
    s_mm: float = 0.0
    z_mm: float = 0.0
    pressure_kpa: float = 0.0
    start: str = ""
    end: str = ""


@dataclass(frozen=True, eq=False)
class _LandSheet:
    """A part of a land over the length: s (n,), barrier of 1 mm over resin (n, m)."""

    part: LandPart
    s_mm: Array
    ratio: Array


def resin_along_kpa(closing: AlongClosing) -> Array:
    """Return what lands are held against along the block (M,); without resin the yardstick."""
    if not closing.resin_kpa.any():
        return np.full(len(closing.resin_kpa), YARDSTICK_KPA)
    return np.maximum(closing.resin_kpa, LEAST_KPA)


def seal_along(closing: AlongClosing, from_mm: float = 0.0, to_mm: float = np.inf) -> SealAlong:
    """Return how well a block holds resin between two places along it.

    Parameters
    ----------
    closing : AlongClosing
    from_mm, to_mm : float
        Beyond them the block counts as tight; the place next to each still counts.
    """
    nothing = SealAlong(np.inf, (np.inf,) * len(closing.lands))
    if not closing.outcome.has_answer:
        return SealAlong(0.0, (0.0,) * len(closing.lands))
    if not closing.lands:
        return nothing
    z = closing.lands[0].z_mm
    here = _places(z, from_mm, to_mm)
    resin = resin_along_kpa(closing)
    parts = parts_of(cast("Sequence[Land]", closing.lands), closing.section)
    sheets = [_sheet(closing.lands[part.land], part, resin, here) for part in parts]
    by_land = tuple(
        min(
            (_weakest([sheet], alone=True).ratio for sheet in sheets if sheet.part.land == k),
            default=np.inf,
        )
        for k in range(len(closing.lands))
    )
    weakest = _weakest(sheets, alone=False)
    if weakest.sheet < 0:
        return SealAlong(weakest.ratio, by_land)
    sheet, j = sheets[weakest.sheet], weakest.at[1]
    return SealAlong(
        margin=weakest.ratio,
        by_land=by_land,
        land=sheet.part.land,
        s_mm=float(sheet.s_mm[weakest.at[0]]),
        z_mm=float(z[here][j]),
        pressure_kpa=weakest.ratio * float(resin[here][j]),
        start=weakest.ends[0],
        end=weakest.ends[1],
    )


def _places(z: Array, from_mm: float, to_mm: float) -> slice:
    first = max(0, int(np.searchsorted(z, from_mm)) - 1) if from_mm > 0 else 0
    last = min(len(z), int(np.searchsorted(z, to_mm)) + 1)
    return slice(first, max(last, first + 1))


def _sheet(land: LandMap, part: LandPart, resin: Array, here: slice) -> _LandSheet:
    wanted = min(BARRIER_MM, part.length_mm / 2)
    n = int(np.clip(np.ceil(2 * part.length_mm / wanted - 1e-9), 4, _MOST_STEPS)) + 1
    s = np.linspace(part.s_mm[0], part.s_mm[-1], n)
    k = np.clip(np.searchsorted(part.s_mm, s) - 1, 0, len(part.s_mm) - 2)
    t = ((s - part.s_mm[k]) / (part.s_mm[k + 1] - part.s_mm[k]))[:, None]
    p = np.asarray(part.pressure_kpa)[:, here]
    ratio = ((1 - t) * p[k] + t * p[k + 1]) / resin[here]
    barred = grey_opening(ratio, size=(3, 1), mode="constant", cval=-np.inf)
    barred[:, ~land.is_cut[here]] = np.inf
    return _LandSheet(part, s, barred)


@dataclass(frozen=True)
class _Weakest:
    """The least barrier: over the resin, its sheet (-1 = none), place on it, what it parts."""

    ratio: float
    sheet: int = -1
    at: tuple[int, int] = (0, 0)
    ends: tuple[str, str] = ("", "")


def _weakest(sheets: Sequence[_LandSheet], alone: bool) -> _Weakest:
    """Return the least barrier on any path between two different terminals.

    `alone` takes both ends of the one sheet as terminals, whatever they are.
    """
    graph = _place_graph(sheets, alone)
    heaviest = graph.value[graph.edges].max(axis=1)
    levels = np.unique(heaviest[np.isfinite(heaviest)])
    low, high = 0, len(levels)
    while low < high:
        middle = (low + high) // 2
        part = _connected_parts(graph, heaviest <= levels[middle])
        if len(np.unique(part[graph.terminals])) < len(graph.terminals):
            high = middle
        else:
            low = middle + 1
    if low == len(levels):
        return _Weakest(np.inf)
    part = _connected_parts(graph, heaviest <= levels[low])
    number, count = np.unique(part[graph.terminals], return_counts=True)
    path = part == number[np.argmax(count)]
    on = np.flatnonzero(path & (graph.value == levels[low]))
    sheet, i, j = graph.where[on[len(on) // 2]]
    ends = [name for name, point in zip(graph.names, graph.terminals, strict=True) if path[point]]
    return _Weakest(max(float(levels[low]), 0.0), int(sheet), (int(i), int(j)), (ends[0], ends[1]))


def _connected_parts(graph: _PlaceGraph, kept: NDArray[np.bool_]) -> Whole:
    """Return the number of the part that each point belongs to when some edges are kept."""
    n, edges = len(graph.value), graph.edges[kept]
    pairs = (np.ones(len(edges), bool), (edges[:, 0], edges[:, 1]))
    return connected_components(coo_array(pairs, shape=(n, n)), directed=False)[1]


@dataclass(frozen=True, eq=False)
class _PlaceGraph:
    """All sheets as one graph; `where` is (sheet, s, z) of each point."""

    value: Array
    edges: Whole
    terminals: Whole
    names: tuple[str, ...]
    where: Whole


def _place_graph(sheets: Sequence[_LandSheet], alone: bool) -> _PlaceGraph:
    """Hang all sheets together where their lands meet."""
    values, edges, where, first = [], [], [], 0
    shared: dict[tuple[Node | int, int], list[int]] = {}
    for number, sheet in enumerate(sheets):
        n, m = sheet.ratio.shape
        grid = first + np.arange(n * m).reshape(n, m)
        values.append(sheet.ratio.ravel())
        where.append(np.column_stack([np.full(n * m, number), *np.divmod(np.arange(n * m), m)]))
        edges += [
            np.column_stack([a.ravel(), b.ravel()])
            for a, b in (
                (grid[1:], grid[:-1]),
                (grid[:, 1:], grid[:, :-1]),
                (grid[1:, 1:], grid[:-1, :-1]),
                (grid[1:, :-1], grid[:-1, 1:]),
            )
        ]
        for key, node, row in ((0, sheet.part.start, grid[0]), (1, sheet.part.end, grid[-1])):
            terminal = alone or node.terminal
            for j, point in enumerate(row):
                name = key if alone else node
                shared.setdefault((name, -1 if terminal else j), []).append(int(point))
        first += n * m
    terminals, names = [], []
    for (name, j), points in shared.items():
        values.append(np.array([-np.inf]))
        where.append(np.full((1, 3), -1))
        edges.append(np.column_stack([np.full(len(points), first), points]))
        if j < 0:
            terminals.append(first)
            names.append(name.text if isinstance(name, Node) else "")
        first += 1
    ends = np.array(terminals, np.int64)
    return _PlaceGraph(
        np.concatenate(values), np.vstack(edges), ends, tuple(names), np.vstack(where)
    )
