"""Whether resin can get through: barriers on the lands, and the paths that have none.

A barrier is an unbroken stretch of a land that presses hard enough. Resin leaks along a path of
parts of lands without a barrier from a cavity to the outside or to another cavity.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from squeeze.mold.forces.loads import Loads
from squeeze.mold.section.records import Section
from squeeze.mold.tables.loads import RESIN_DENSITY_G_CM3
from squeeze.solve.closing import Closing, Pressing
from squeeze.verdict.seal.land_graph import LandPart, Node, parts_of
from squeeze.verdict.seal.leak import Leak, carrying, ends, leak_paths, leaks_of

Array = NDArray[np.float64]

MARGIN = 2.0
"""How many times the resin's pressure a barrier has to press."""

BARRIER_MM = 1.0
"""Shortest stretch that counts as a barrier [mm]; a judgement, not a published value."""

YARDSTICK_KPA = RESIN_DENSITY_G_CM3 * 9.80665 * 0.1
"""Pressure under 100 mm of resin [kPa]: hydrostatics, density x g x height."""


@dataclass(frozen=True)
class Barrier:
    """The weakest barrier: the one that gives first when the resin's pressure rises.

    Attributes
    ----------
    start, end : str
        What it keeps apart.
    land : int
        Number of the land that it stands on.
    place : int
        Number of the place of that land in its middle.
    pressure_kpa : float
        What it presses all along, at least [kPa]; 0 when there is none.
    margin : float
        That over the resin's pressure.
    """

    start: str
    end: str
    land: int
    place: int
    pressure_kpa: float
    margin: float


@dataclass(frozen=True)
class Seal:
    """Whether and where a closing holds resin.

    Attributes
    ----------
    seals : bool
        There is an answer, a cut opens every cavity to the outside, and there is no leak.
    unreached : tuple of str
        Names of the cavities that no land runs into: what is cast there cannot be taken out.
    locked : tuple of str
        Names of the cavities from which the cuts lead nowhere outside: the block cannot be opened
        there, since the cuts end in rubber.
    needed_kpa : float
        What a barrier has to press: `MARGIN` times the resin's pressure [kPa].
    leaks : tuple of Leak
        One for each two things that a path joins; paths that share no part count separately.
    weakest : Barrier or None
        None when no land leads from a cavity to anything.
    barrier_kpa : tuple of float
        By land: the weakest of the barriers on its parts [kPa]; NaN without an answer.
    leaky : tuple of bool
        By land: whether a leak runs along it.
    sealed_share : tuple of float
        By land: the share of its length that presses as hard as a barrier has to; NaN without an
        answer.
    fed : tuple of bool
        By land: whether any path leads to it from a cavity, however tight.
    """

    seals: bool
    unreached: tuple[str, ...]
    locked: tuple[str, ...]
    needed_kpa: float
    leaks: tuple[Leak, ...]
    weakest: Barrier | None
    barrier_kpa: tuple[float, ...]
    leaky: tuple[bool, ...]
    sealed_share: tuple[float, ...]
    fed: tuple[bool, ...]


def resin_kpa(loads: Loads) -> float:
    """Return the resin's pressure [kPa]; the yardstick when no resin is given."""
    return loads.cavity_mpa * 1000.0 if loads.cavity_mpa > 0 else YARDSTICK_KPA


def seal_of(closing: Closing | Pressing, parts: Sequence[LandPart] | None = None) -> Seal:
    """Return whether a closing holds resin at `MARGIN` times its pressure; its faces will do.

    `parts` are those of its lands, where they are known already.
    """
    parts = parts_of(closing.lands, closing.section) if parts is None else parts
    resin = resin_kpa(closing.loads)
    strength = [strength_kpa(part) for part in parts]
    needed = MARGIN * resin
    open_paths = leak_paths(parts, [k for k, p in enumerate(strength) if _gives(p, needed)])
    leaks = tuple(leak for path in open_paths for leak in leaks_of(parts, strength, path))
    leaky = {parts[k].land for path in open_paths for k in carrying(parts, path)}
    count = range(len(closing.lands))
    solved = closing.outcome.has_answer
    unreached = unreached_of(parts, closing.section)
    locked = locked_of(parts, closing.section)
    return Seal(
        seals=solved and not leaks and not unreached and not locked,
        unreached=unreached,
        locked=locked,
        needed_kpa=needed,
        leaks=leaks,
        weakest=weakest_of(parts, strength, resin),
        barrier_kpa=tuple(
            min(p for p, part in zip(strength, parts, strict=True) if part.land == k)
            if solved
            else math.nan
            for k in count
        ),
        leaky=tuple(k in leaky for k in count),
        sealed_share=tuple(
            sum(runs_over(land.s_mm.tolist(), land.pressure_kpa.tolist(), needed)) / land.length_mm
            if solved
            else math.nan
            for land in closing.lands
        ),
        fed=fed_of(parts, len(closing.lands)),
    )


def unreached_of(parts: Sequence[LandPart], section: Section) -> tuple[str, ...]:
    """Return the names of the cavities that no land runs into, in the order of the cavities."""
    reached = {node.name for part in parts for node in ends(part) if node.kind == "cavity"}
    return tuple(cavity.name for cavity in section.cavities if cavity.name not in reached)


def locked_of(parts: Sequence[LandPart], section: Section) -> tuple[str, ...]:
    """Return the names of the cavities that lands run into and none of them leads outside.

    A path along the cuts may pass through other cavities.
    """
    free = {node for part in parts for node in ends(part) if node.kind == "outside"}
    grown = True
    while grown:
        more = {n for part in parts if free.intersection(ends(part)) for n in ends(part)}
        grown = not more <= free
        free |= more
    reached = {n.name for part in parts for n in ends(part) if n.kind == "cavity"}
    opened = {node.name for node in free if node.kind == "cavity"}
    return tuple(c.name for c in section.cavities if c.name in reached - opened)


def fed_of(parts: Sequence[LandPart], count: int) -> tuple[bool, ...]:
    """Return, by land, whether a path leads to it from a cavity; without cavities, true for all.

    `count` is the number of lands.
    """
    reached = {node for part in parts for node in ends(part) if node.kind == "cavity"}
    if not reached:
        return (True,) * count
    grown = True
    while grown:
        more = {
            node
            for part in parts
            for node in ends(part)
            if node.kind != "outside" and any(end in reached for end in ends(part))
        }
        grown = not more <= reached
        reached |= more
    lands = {part.land for part in parts if any(end in reached for end in ends(part))}
    return tuple(k in lands for k in range(count))


def runs_over(
    s_mm: Sequence[float], pressure_kpa: Sequence[float], needed_kpa: float
) -> list[float]:
    """Return the lengths of all unbroken stretches at `needed_kpa` or more [mm].

    Between the places `s_mm` the pressure `pressure_kpa` is linear. Lands have a few dozen places:
    plain numbers are quicker there than arrays.

    Examples
    --------
    >>> runs_over([0.0, 10.0, 20.0], [0.0, 4.0, 0.0], 2.0)
    [10.0]
    """
    found: list[float] = []
    begin: float | None = None
    over = [p - needed_kpa for p in pressure_kpa]
    for (s, a), (t, b) in pairwise(zip(s_mm, over, strict=True)):
        if a >= 0 and b >= 0:
            begin = s if begin is None else begin
        elif a > 0 > b:
            found.append(s + (t - s) * a / (a - b) - (s if begin is None else begin))
            begin = None
        else:
            if begin is not None:
                found.append(s - begin)
            begin = s + (t - s) * a / (a - b) if a < 0 < b else None
    return found if begin is None else [*found, s_mm[-1] - begin]


def strength_kpa(part: LandPart) -> float:
    """Return the highest pressure that some stretch of a part holds all along [kPa].

    The stretch is 1 mm long, or half of a part that is shorter than 2 mm.
    """
    s, p = part.s_mm.tolist(), part.pressure_kpa.tolist()
    wanted = min(BARRIER_MM, part.length_mm / 2)
    low, high = 0.0, float(part.pressure_kpa.max(initial=0.0))
    if not high > 0:
        return 0.0
    for _ in range(40):
        middle = 0.5 * (low + high)
        if max(runs_over(s, p, middle), default=0.0) >= wanted:
            low = middle
        else:
            high = middle
    return low


def _gives(strength: float, needed: float) -> bool:
    """Whether a part is open, to the tolerance of the search for its strength."""
    return strength < needed * (1 - 1e-9)


def weakest_of(
    parts: Sequence[LandPart], strength: Sequence[float], resin: float
) -> Barrier | None:
    """Return the weakest barrier between any two of cavities and outside.

    Parts are opened from the weakest on; the one that first joins two of them is the barrier.

    `strength` of each part and the pressure of the `resin` are in [kPa].
    """
    joined: dict[Node, set[Node]] = {}
    for part in parts:
        for node in ends(part):
            joined.setdefault(node, {node})
    for k in np.argsort(strength, kind="stable"):
        a, b = (joined[node] for node in ends(parts[k]))
        if a is b:
            continue
        pair = [node for side in (a, b) for node in side if node.terminal]
        if len(pair) == 2:
            start, end = sorted(pair, key=lambda n: n.kind != "cavity")
            p = float(strength[k])
            return Barrier(start.text, end.text, parts[k].land, _place(parts[k], p), p, p / resin)
        a |= b
        for node in b:
            joined[node] = a
    return None


def _place(part: LandPart, strength: float) -> int:
    """Return the place nearest to the middle of the longest stretch that presses so hard."""
    holds = part.pressure_kpa >= strength
    if strength <= 0 or not holds.any():
        return part.places.start + int(np.argmax(part.pressure_kpa))
    edge = np.flatnonzero(np.diff(np.concatenate([[0], holds.astype(int), [0]])))
    runs = list(zip(edge[::2], edge[1::2] - 1, strict=True))
    a, b = max(runs, key=lambda run: part.s_mm[run[1]] - part.s_mm[run[0]])
    middle = 0.5 * (part.s_mm[a] + part.s_mm[b])
    return part.places.start + int(np.argmin(np.abs(part.s_mm - middle)))
