"""Time, memory and error of one closing, as ratios to one bare factorisation in the same run.

By hand, on a machine that does nothing else:  python tests/benchmarks/closing.py

"Bare" is one SuperLU factorisation of the section's own stiffness (all pieces, a small number on
the diagonal to make it regular) with its best ordering, MMD_AT_PLUS_A in symmetric mode: what any
program pays that solves the section once.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import time
from collections.abc import Callable
from typing import Any

import numpy as np
from scipy.sparse import csc_array, diags_array
from scipy.sparse.linalg import splu

from squeeze.mold import loads_of, mold_of, section_of
from squeeze.solve import Block
from squeeze.solve.elastic.element import elastic
from squeeze.solve.elastic.schur import factorise
from squeeze.solve.mesh.parting import parted_mesh
from squeeze.solve.mesh.triangulate import triangulate

FINENESS = {"5k": 0.85, "20k": 1.85, "80k": 3.8}
REPEATS = 7


def barrels_with(bevel_mm: float, friction: float) -> dict[str, Any]:
    """Return the square with four cavities under one cut, as in design and README."""
    return {
        "length_mm": 140,
        "rubber": {"youngs_modulus_mpa": 0.6, "poisson": 0.499},
        "block": {"shape": "square", "width_mm": 120, "bevel_mm": bevel_mm},
        "cavity": [
            {"shape": "round", "diameter_mm": 10, "centre_mm": [x, 40]} for x in (-24, -8, 8, 24)
        ],
        "cut": [{"path_mm": [[-60, 40], [60, 40]], "friction": friction}],
        "band": [{"tension_n_per_mm": 0.6}],
    }


def six_cuts():
    """Return a square with a cavity and six cuts, some crossing, with friction."""
    paths = [
        [[-60, 40], [60, 40]],
        [[0, 0], [0, 60]],
        [[0, 0], [-60, -20]],
        [[0, 0], [60, -20]],
        [[-60, -40], [60, -40]],
        [[0, 0], [0, -60]],
    ]
    return mold_of(
        {
            "length_mm": 140,
            "rubber": {"youngs_modulus_mpa": 0.6, "poisson": 0.499},
            "block": {"shape": "square", "width_mm": 120, "bevel_mm": 15},
            "cavity": [{"shape": "round", "diameter_mm": 40}],
            "cut": [{"path_mm": path, "friction": 0.3} for path in paths],
            "band": [{"tension_n_per_mm": 0.6}],
        }
    )


def best(work: Callable[[], object], repeats: int = REPEATS) -> float:
    """Return the shortest of some runs [s]."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def bare(block: Block) -> float:
    """Return the time of one bare factorisation of a block's stiffness [s]."""
    K = block.elastic.K
    regular = csc_array(K + diags_array(np.full(K.shape[0], 1e-3 * K.diagonal().mean())))
    options = {"SymmetricMode": True}
    return best(
        lambda: splu(regular, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options=options)
    )


def parts(label: str) -> None:
    """Print time and memory of one size; run in a process of its own."""
    mold = mold_of(barrels_with(3, 0.0))
    section, fineness = section_of(mold), FINENESS[label]
    block = Block(mold, fineness)
    one = bare(block)
    mesh = best(lambda: parted_mesh(section, triangulate(section, fineness)), 3)
    assembly = best(lambda: elastic(block.mesh, section.materials))
    factor = best(lambda: factorise(block.mesh, block.elastic, block.factor.rows))
    loads = loads_of(mold, section)
    first = best(lambda: _fresh(block).close(loads))
    again = best(lambda: block.close(band_tension_n_per_mm=0.5))
    press = best(lambda: block.press(band_tension_n_per_mm=0.5), 50)
    whole = assembly + factor + first
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"{label:>4} {block.elastic.K.shape[0]:>7} {len(block.contact_rows.weight):>6}"
        f" {1e3 * one:8.1f}"
        f" {1e3 * mesh:8.1f} {1e3 * assembly:8.1f} {1e3 * factor:8.1f} {1e3 * first:8.1f}"
        f" {whole / one:9.2f} {again / one:9.3f} {press / one:9.4f} {peak:8.0f}",
        flush=True,
    )


def _fresh(block: Block) -> Block:
    """Forget what earlier load cases solved."""
    block.solved_loads.forget()
    return block


def ladder() -> None:
    """Print error against time for meshes from coarse to fine, on the three pen-barrel blocks."""
    print("\nerror against a mesh four times as fine: mean pressure, gap [% of the largest]; time")
    for name, bevel in (("square, bevel 3", 3), ("bevel 25", 25)):
        mold = mold_of(barrels_with(bevel, 0.0))
        fine = Block(mold, 4.0).close()
        for fineness in (0.5, 0.7, 1.0, 1.4, 2.0):
            start = time.perf_counter()
            closing = Block(mold, fineness).close()
            spent = time.perf_counter() - start
            pairs = list(zip(closing.lands, fine.lands, strict=True))
            off = [
                100
                * max(abs(getattr(a, key) - getattr(b, key)) for a, b in pairs)
                / max(getattr(b, key) for _, b in pairs)
                for key in ("mean_pressure_kpa", "largest_gap_mm")
            ]
            unknowns = closing.trust.unknowns
            print(
                f"  {name:<16} {unknowns:>7} {off[0]:8.3f} {off[1]:8.3f} {spent:8.3f} s", flush=True
            )


def friction() -> None:
    """Print the price of friction, of many load cases, and of many cuts."""
    block = Block(mold_of(barrels_with(3, 0.0)), FINENESS["20k"])
    one = bare(block)
    smooth = best(lambda: block.press(friction=0.0), 30)
    rough = best(lambda: block.press(friction=0.3), 30)
    print(f"\nfriction 0.3 against none, one load case: {rough / smooth:.2f}")
    rough_all = best(lambda: block.close(friction=0.3))
    smooth_all = best(lambda: block.close(friction=0.0))
    print(f"the same with the rubber's displacement: {rough_all / smooth_all:.2f}")
    start = time.perf_counter()
    for tension in np.linspace(0.1, 1.0, 100):
        block.press(band_tension_n_per_mm=tension)
    print(f"100 load cases (press): {(time.perf_counter() - start) / one:.2f} bare factorisations")
    mold = six_cuts()
    big = Block(mold, 2.0)
    block = best(lambda: Block(mold, 2.0), 3)
    solve = best(lambda: big.close(), 3)
    closing = big.close()
    print(
        f"six cuts, {closing.trust.contact_places} places, {closing.trust.unknowns} unknowns:"
        f" {block:.2f} s to build, {solve:.2f} s to close ({closing.trust.outcome})"
    )


def main() -> None:
    """Print all tables."""
    print(
        "size unknowns places  bare ms  mesh ms   asm ms  fact ms close ms"
        " whole/bare  next/bare press/bare  peak MB"
    )
    for label in FINENESS:
        subprocess.run([sys.executable, __file__, label], check=True)
    ladder()
    friction()


if __name__ == "__main__":
    parts(sys.argv[1]) if len(sys.argv) > 1 else main()
