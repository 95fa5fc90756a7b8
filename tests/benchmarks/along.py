"""What a block over its length costs, in plane-strain factorisations of the same section.

    python tests/benchmarks/along.py [fineness]

The yardstick is one bare factorisation of the section's own pinned stiffness, on one core. Set-up:
16 waves with everything that a layout needs. Layout: one further layout of bands, contact and all.
Figures are processor time, least of several; two workers at a time are told in wall time, which
needs a quiet machine. Set OPENBLAS_NUM_THREADS=1.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from typing import Any

import numpy as np
from scipy.sparse import csc_array
from scipy.sparse.linalg import splu

import squeeze
from squeeze.solve.along.compliance import seam_rows
from squeeze.solve.along.loads import BandAt, even_places
from squeeze.solve.along.long_block import LongBlock
from squeeze.solve.along.wave import bordered, compliances
from squeeze.solve.elastic.dissection import dissection
from squeeze.solve.elastic.rigid import pins
from squeeze.solve.elastic.schur import _unknowns
from squeeze.solve.elastic.wave_element import wave_elements

WAVES = 16
BLOCKS = {
    "round": {"shape": "round", "diameter_mm": 120},
    "square": {"shape": "square", "width_mm": 120, "bevel_mm": 10},
}


def mold_of(block: dict[str, Any]) -> squeeze.mold.Mold:
    """Return a block 160 mm long with a central cavity and a cut from side to side."""
    return squeeze.mold_of(
        {
            "length_mm": 160,
            "rubber": {"shore_a": 20},
            "block": block,
            "cavity": [{"shape": "round", "diameter_mm": 40}],
            "cut": [{"path_mm": [[-60, 0], [60, 0]]}],
        }
    )


def least(
    action: Callable[[], Any], times: int = 9, clock: Callable[[], float] = time.process_time
) -> float:
    """Return the least time of several runs [s]; short ones are run in a row."""
    action()
    start = clock()
    action()
    row = max(1, int(0.02 / max(clock() - start, 1e-4)))
    spent = []
    for _ in range(times):
        start = clock()
        for _ in range(row):
            action()
        spent.append((clock() - start) / row)
    return min(spent)


def bare(long: LongBlock) -> Callable[[], Any]:
    """Return the bare factorisation of the section."""
    block = long.block
    order = _unknowns(dissection(block.mesh.points, block.mesh.triangles))
    order = order[~np.isin(order, pins(block.mesh))]
    K = csc_array(block.elastic.K[order][:, order])
    options = {"SymmetricMode": True}
    return lambda: splu(K, permc_spec="NATURAL", diag_pivot_thresh=0.0, options=options)


def set_up(long: LongBlock, workers: int) -> None:
    """Integrate, order, and factorise for every wave but the even one."""
    block = long.block
    elements = wave_elements(block.mesh, block.section.materials)
    unit = np.column_stack([long.band.f, long.resin.f])
    rows = seam_rows(block, long.cut_extent.held, unit)
    list(compliances(bordered(block.mesh, elements, rows), long.numbers[1 : WAVES + 1], workers))


def tell(name: str, outline: dict[str, Any], fineness: float) -> None:
    """Print the figures of one block."""
    long = LongBlock(mold_of(outline), WAVES, fineness)
    one = least(bare(long))
    print(f"{name}: {2 * len(long.block.mesh.points)} unknowns, bare factor {1e3 * one:.2f} ms")
    spent = least(lambda: set_up(long, 1))
    print(f"  set-up of {WAVES} waves: {spent / one:.1f} factors")
    alone, paired = (least(lambda w=w: set_up(long, w), 5, time.perf_counter) for w in (1, 2))
    print(f"  two at a time: {paired / alone:.2f} of the wall time of one at a time")
    for count in (1, 2, 4, 8):
        bands = [BandAt(z, 10.0, 6.0) for z in even_places(count, 160.0)]
        closing = long.close(bands)
        spent = least(lambda b=bands: long.close(b))
        print(
            f"  layout of {count} bands: {spent / one:.2f} factors,"
            f" {closing.steps} steps, {closing.products} products"
        )


def main() -> None:
    """Print the figures of both blocks."""
    fineness = float(sys.argv[1]) if len(sys.argv) > 1 else 1.0
    for name, outline in BLOCKS.items():
        tell(name, outline, fineness)


if __name__ == "__main__":
    main()
