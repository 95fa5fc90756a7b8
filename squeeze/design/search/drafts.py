"""What the search of a family finds: blocks with bands on them, and why others were given up."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, field
from typing import Any

import numpy as np


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

    def give_up(self, reason: str, needs: float = math.nan) -> None:
        """Count a block given up for a `reason`; it `needs` so much of it [unit of the limit]."""
        self.dropped[reason] += 1
        self.need(reason, needs)

    def need(self, reason: str, value: float) -> None:
        """Keep the least `value` that would do for a `reason` [unit of what binds]."""
        if math.isfinite(value):
            self.needs[reason] = min(value, self.needs.get(reason, math.inf))


def dominates(a: tuple[float, ...], b: tuple[float, ...]) -> bool:
    """Return whether costs `a` are as good as `b` in each [own unit], and better in one."""
    return all(x <= y for x, y in zip(a, b, strict=True)) and a != b


def front(items: list[Any]) -> list[Any]:
    """Return the items that none of the others beats in everything; of equal ones the first."""
    if not items:
        return []
    costs = np.array([item.costs() for item in items])
    _, first = np.unique(costs, axis=0, return_index=True)
    kept = []
    for k in sorted(int(each) for each in first):
        as_good = np.all(costs <= costs[k], axis=1)
        if not np.any(as_good & np.any(costs < costs[k], axis=1)):
            kept.append(items[k])
    return kept
