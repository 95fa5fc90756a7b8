"""Several sections along one block; each is solved as if the whole block had it, under one layout.

Along a taper that is good to about 3 %; beside a step, and near the end of a cavity, it is not:
within one wall depth of them a station is doubtful.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from squeeze.mold import Mold, section_of, stations_of
from squeeze.mold.section.records import Section
from squeeze.solve.accuracy.usual_mesh import usual_fineness
from squeeze.solve.along.long_block import LongBlock
from squeeze.solve.along.record import wall_depth_mm

MOST_FACTORISED = 600_000
"""Unknowns of the sections times waves, of all stations together: some twenty seconds. Where a
section has more than its share, its mesh is made coarser."""

STEEP = 0.5
"""Change of an outline or cavity over the distance between stations that counts as a step."""


@dataclass(frozen=True, eq=False)
class StationBlock:
    """A station and the stretch of the block that it stands for.

    Attributes
    ----------
    at_mm : float
        Where the section was taken.
    from_mm, to_mm : float
        Up to the neighbouring stations, or the ends; between two stations the worse one counts.
    block : LongBlock
    doubts : tuple of str
        Why the answer near this station is not reliable, in plain sentences.
    """

    at_mm: float
    from_mm: float
    to_mm: float
    block: LongBlock
    doubts: tuple[str, ...]


def station_blocks(
    mold: Mold, waves: int | None = None, fineness: float = 1.0
) -> tuple[StationBlock, ...]:
    """Return a block for each station of a mold; one for the whole length where it names none.

    Parameters
    ----------
    mold : Mold
    waves : int, optional
    fineness : float

    Raises
    ------
    BadInput
        When a station's section cannot be computed as given.
    """
    stations = stations_of(mold)
    at = [place for place, _ in stations]
    most = MOST_FACTORISED / len(stations)
    blocks = [
        LongBlock(each, waves, fineness * _usual(each), most_factorised=most)
        for _, each in stations
    ]
    doubts = [
        tuple(
            _doubt(p, q, a, b, mold.length_mm)
            for p, q, a, b in _pairs(at, blocks, k)
            if _steps(p, q, a, b)
        )
        for k in range(len(at))
    ]
    return tuple(
        StationBlock(
            at[k],
            0.0 if k == 0 else at[k - 1],
            mold.length_mm if k == len(at) - 1 else at[k + 1],
            blocks[k],
            doubts[k],
        )
        for k in range(len(at))
    )


def _usual(mold: Mold) -> float:
    return usual_fineness(section_of(mold)) if mold.cut else 1.0


def _pairs(
    at: list[float], blocks: list[LongBlock], k: int
) -> list[tuple[float, float, Section, Section]]:
    """Neighbouring stations, of which one is number `k`."""
    sections = [block.section for block in blocks]
    numbers = [(i, j) for i, j in pairwise(range(len(at))) if k in (i, j)]
    return [(at[i], at[j], sections[i], sections[j]) for i, j in numbers]


def _steps(p: float, q: float, a: Section, b: Section) -> bool:
    """Whether a block changes too much between two stations to count as even there."""
    if len(a.cavities) != len(b.cavities) or len(a.cuts) != len(b.cuts):
        return True
    loops = [(a.outline, b.outline)]
    loops += [(c.loop, d.loop) for c, d in zip(a.cavities, b.cavities, strict=True)]
    moved = max(
        float(np.abs(np.subtract(x.polygon.bounds, y.polygon.bounds)).max()) for x, y in loops
    )
    return moved > STEEP * (q - p)


def _doubt(p: float, q: float, a: Section, b: Section, length_mm: float) -> str:
    depth = max(wall_depth_mm(a), wall_depth_mm(b))
    if len(a.cavities) != len(b.cavities):
        what = "a cavity ends"
    else:
        what = "a cut ends" if len(a.cuts) != len(b.cuts) else "the section steps"
    start, end = max(p - depth, 0.0), min(q + depth, length_mm)
    return (
        f"Between {p:.0f} and {q:.0f} mm {what}: from {start:.0f} to {end:.0f} mm, one wall depth"
        f" ({depth:.0f} mm) beyond on both sides, pressures are off by up to a quarter."
    )
