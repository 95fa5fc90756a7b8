"""Searching one family: a few places on a grid, then an optimiser on what varies continuously.

The optimiser is COBYQA (T. M. Ragonneau, Z. Zhang, 2023), a derivative-free trust-region method
for constraints that only a computation tells. It makes rubber and pull small together, while the
bands at hand have to reach the margin with slack bands. It draws nothing at random, so the same
family gives the same blocks.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import product
from typing import Any

import numpy as np
from scipy.optimize import Bounds, NonlinearConstraint, minimize

from squeeze.design.family import Family, Point, least_wrap_mm, same_block, shared_band, walls
from squeeze.design.limits import Limits
from squeeze.design.screen import (
    OPEN,
    SLACK,
    WEAK,
    Screened,
    Unfit,
    kind_pull,
    needed_margin,
    screen,
)
from squeeze.design.work import steps_of
from squeeze.mold import Mold, mold_of
from squeeze.verdict.grade import STEP_SEEN_MM

COARSE_STEP_MM, STEP_MM = 0.1, 1.0
"""Sizes while the optimiser runs, and of what is poured."""

GRID_WALLS = (0.0, 0.25, 0.7)
GRID = {"aspect": (0.2, 0.6, 1.0), "corner": (0.15, 0.55, 0.95)}
FEW = {"aspect": (0.2, 0.7), "corner": (0.3, 0.8)}
"""Where the grid looks, over the range of each; where both vary, at the few."""

TRIES = 9
"""Computations that the optimiser may ask for."""

PULL_WEIGHT = 0.08
"""How much all the pull at hand counts against all the rubber of the first block."""

MOST_KEPT = 14
"""Blocks that a family hands on at most."""


@dataclass(frozen=True)
class Draft:
    """A block with bands on it, as the coarse mesh sees it.

    Attributes
    ----------
    data : dict
        The whole mold.
    kind : str
        Its family.
    rubber_g, pull : float
    steps, bands : int
    margin, flash_mm, shift_mm : float
        In the worst variation.
    is_clean : bool
    """

    data: dict[str, Any]
    kind: str
    rubber_g: float
    pull: float
    steps: int
    bands: int
    margin: float
    flash_mm: float
    shift_mm: float
    is_clean: bool

    def costs(self) -> tuple[float, ...]:
        """Return what drafts are compared by, each the less the better."""
        return (
            self.rubber_g,
            float(self.steps),
            float(self.bands),
            -self.margin,
            self.flash_mm,
            self.shift_mm,
        )


@dataclass
class Found:
    """What the search of a family found.

    Attributes
    ----------
    kind : str
    tried : int
        Blocks that were computed.
    drafts : list of Draft
    dropped : Counter
        How many blocks were given up, by the reason.
    needs : dict
        Of some reasons the least that would do: bore, size, pull [N/mm].
    open_shapes, held_shapes : list of (float, float)
        Of the blocks that a land stays open in, and of those that hold: bevel or radius [mm], and
        height over width.
    """

    kind: str
    tried: int = 0
    drafts: list[Draft] = field(default_factory=list)
    dropped: Counter[str] = field(default_factory=Counter)
    needs: dict[str, float] = field(default_factory=dict)
    open_shapes: list[tuple[float, float]] = field(default_factory=list)
    held_shapes: list[tuple[float, float]] = field(default_factory=list)

    def need(self, reason: str, value: float) -> None:
        """Keep the least of what would do."""
        if math.isfinite(value):
            self.needs[reason] = min(value, self.needs.get(reason, math.inf))


class Search:
    """The search of one family; what it has computed it does not compute again."""

    def __init__(self, family: Family, base: Mold, limits: Limits):
        self.family, self.base, self.limits = family, base, limits
        self.found = Found(family.words)
        self.needed = needed_margin(limits)
        self.wrap_mm = least_wrap_mm(limits)
        self.least_wall, self.most_wall = walls(limits, family.points)
        self._known: dict[str, Screened | Unfit] = {}

    def run(self) -> Found:
        """Search the family."""
        starts = list(self._grid())
        held = [(at, got) for at, got in starts if self._holds(got)]
        if held:
            at = min(held, key=lambda pair: self._cost(pair[1]))[0]
        elif starts:
            at = max(starts, key=lambda pair: pair[1].smooth(SLACK * pair[1].most_pull))[0]
        else:
            return self.found
        self._improve(at)
        return self.found

    def _grid(self) -> Iterator[tuple[Point, Screened]]:
        """Yield the places of the grid that have an answer, from the least wall on.

        A larger wall takes more rubber, so it is tried only where the smaller one did not hold; one
        more is for the sake of the margin.
        """
        names = [name for name in self.family.varied if name in GRID]
        grid = GRID if len(names) < 2 else FEW
        for shares in product(*(grid[name] for name in names)):
            held = 0
            for wall in GRID_WALLS:
                size = self.least_wall + wall * (self.most_wall - self.least_wall)
                at = Point(size, **dict(zip(names, shares, strict=True)))
                got = self.screened(at, STEP_MM)
                if got is None:
                    continue
                yield at, got
                held += self._holds(got)
                if held and wall > 0:
                    break

    def screened(self, at: Point, step_mm: float) -> Screened | None:
        """Return what the coarse mesh says at a place; None where the block is given up."""
        try:
            data = self.family.data(self.base, at, self.wrap_mm, step_mm)
        except ValueError:  # a shape that these figures do not make
            self.found.dropped["the cut or the outline cannot be made"] += 1
            return None
        data["band"] = shared_band(self.limits.bands)
        key = same_block(data)
        fresh = key not in self._known
        if fresh:
            try:
                self._known[key] = screen(data, self.limits)
                self.found.tried += 1
            except Unfit as unfit:
                self._known[key] = unfit
                self.found.dropped[unfit.reason] += 1
                self.found.need(unfit.reason, unfit.needs)
        got = self._known[key]
        if isinstance(got, Unfit):
            return None
        if fresh:
            self._keep(data, got, step_mm)
        return got

    def _holds(self, got: Screened) -> bool:
        return got.worst_margin(got.most_pull) >= self.needed

    def _keep(self, data: dict[str, Any], got: Screened, step_mm: float) -> None:
        """Keep the block with the bands that make it hold, or note why none do."""
        if not self._holds(got):
            top = got.worst_margin(got.most_pull)
            shape = top <= 0.05 * self.needed or got.smooth(got.most_pull) <= 0
            self.found.dropped[OPEN if shape else WEAK] += 1
            if shape:
                self.found.open_shapes.append(_shape_of(data))
            else:
                self.found.need(WEAK, got.margin.pull_for(self.needed) / SLACK)
            return
        self.found.held_shapes.append(_shape_of(data))
        if step_mm >= STEP_MM:  # what lies between is no size of a box
            self.found.drafts += self._with_bands(data, got)

    def _with_bands(self, data: dict[str, Any], got: Screened) -> Iterator[Draft]:
        """Yield the block with each kind of band: the fewest that hold, more, and the most."""
        length = self.limits.length_mm
        for kind, most in got.bands:
            count = self._fewest(kind, most, got)
            if count is None:
                continue
            clean = [
                n
                for n in range(count, most + 1)
                if got.is_clean(kind_pull(kind, n, got.wrap_mm, length))
            ]
            top = max(clean, default=count)
            for n in dict.fromkeys((count, count + 1, (count + top + 1) // 2, top)):
                if n > most:
                    continue
                pull = kind_pull(kind, n, got.wrap_mm, length)
                whole = data | {"band": [kind.on_block(n, length)]}
                yield Draft(
                    data=whole,
                    kind=self.family.words,
                    rubber_g=got.rubber_g,
                    pull=pull,
                    steps=steps_of(mold_of(whole)),
                    bands=n,
                    margin=got.worst_margin(pull),
                    flash_mm=got.worst("flash_mm", pull),
                    shift_mm=got.worst("shift_mm", pull),
                    is_clean=got.is_clean(pull),
                )

    def _fewest(self, kind: Any, most: int, got: Screened) -> int | None:
        start = min(got.least_bands, most) if kind.most else 1
        for n in range(start, most + 1):
            pull = kind_pull(kind, n, got.wrap_mm, self.limits.length_mm)
            if got.worst_margin(pull) >= self.needed:
                return n
        return None

    def _cost(self, got: Screened) -> float:
        """Return rubber and pull together, as a smooth figure."""
        first = self._first_rubber_g
        pull = min(got.smooth.pull_for(self.needed) / SLACK, 3 * got.most_pull)
        return got.rubber_g / first + PULL_WEIGHT * max(pull, 0.0) / got.most_pull

    @property
    def _first_rubber_g(self) -> float:
        first = next((g for g in self._known.values() if isinstance(g, Screened)), None)
        return first.rubber_g if first else 1.0

    def _improve(self, start: Point) -> None:
        """Let the optimiser look about the best place of the grid."""
        names = ("wall_mm", *self.family.varied)
        scale = {"wall_mm": (self.least_wall, self.most_wall)}

        def place(x: Iterable[float]) -> Point:
            given = {}
            for name, value in zip(names, np.clip(list(x), 0.0, 1.0), strict=True):
                low, high = scale.get(name, (0.0, 1.0))
                given[name] = float(low + value * (high - low))
            return Point(**given)

        worst = 10.0
        asked: dict[tuple[float, ...], Screened | None] = {}

        def at(x: Any) -> Screened | None:
            key = tuple(float(v) for v in x)
            if key not in asked:
                asked[key] = self.screened(place(key), COARSE_STEP_MM)
            return asked[key]

        def cost(x: Any) -> float:
            got = at(x)
            return worst if got is None else self._cost(got)

        def spare(x: Any) -> list[float]:
            got = at(x)
            if got is None:
                return [-1.0, -1.0]
            top = got.most_pull
            margin = got.smooth(SLACK * top) / self.needed - 1.0
            pull = min(max(got.smooth.pull_for(self.needed) / SLACK, 0.0), top)
            step = 1.0 - got.worst("step_mm", pull) / (0.9 * STEP_SEEN_MM)
            return [float(np.clip(margin, -1.0, 1.0)), float(np.clip(step, -1.0, 1.0))]

        first = []
        for name in names:
            low, high = scale.get(name, (0.0, 1.0))
            first.append((getattr(start, name) - low) / (high - low))
        done = minimize(
            cost,
            np.clip(first, 0.02, 0.98),
            method="COBYQA",
            bounds=Bounds(0.0, 1.0),
            constraints=[NonlinearConstraint(spare, 0.0, np.inf)],
            options={"maxfev": TRIES, "initial_tr_radius": 0.2, "final_tr_radius": 0.02},
        )
        self.screened(place(done.x), STEP_MM)  # with sizes that a box can be built to


def _shape_of(data: dict[str, Any]) -> tuple[float, float]:
    """Return bevel or radius [mm], and height over width, of a block."""
    block = data["block"]
    corner = float(block.get("bevel_mm", block.get("round_mm", 0.0)))
    wide = block.get("width_mm", block.get("diameter_mm"))
    return corner, float(block.get("height_mm", wide) / wide)


def dominates(a: tuple[float, ...], b: tuple[float, ...]) -> bool:
    """Return whether `a` is as good as `b` in everything and better in something."""
    return all(x <= y for x, y in zip(a, b, strict=True)) and a != b


def front(items: list[Any]) -> list[Any]:
    """Return the items that none of the others beats in everything; of equal ones the first."""
    kept: list[Any] = []
    costs = [item.costs() for item in items]
    for k, own in enumerate(costs):
        if any(dominates(other, own) for other in costs) or own in costs[:k]:
            continue
        kept.append(items[k])
    return kept


def search_family(family: Family, base: Mold, limits: Limits) -> Found:
    """Search a family; of its blocks those are kept that no other of it beats in everything."""
    found = Search(family, base, limits).run()
    kept = sorted(front(found.drafts), key=lambda draft: (not draft.is_clean, draft.costs()))
    found.drafts = kept[:MOST_KEPT]
    return found
