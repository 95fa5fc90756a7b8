"""Cost of large deformation: tangents, and CPU time over one bare factorisation in the same run.

By hand, on a machine that does nothing else:  python tests/benchmarks/large.py

The pen-barrel square at a quarter of its pull, at its pull, and at twice as much; slippery and with
friction. The goals are for slippery faces.
"""

from __future__ import annotations

import time
from pathlib import Path

from closing import bare

from squeeze import Block, load

DEMO = Path(__file__).parents[2] / "studies" / "barrels" / "barrels.toml"
PULL_N_PER_MM = 0.58
GOALS = {0.25: (6, 25), 1.0: (12, 50), 2.0: (20, 80)}
REPEATS = 3


def main() -> None:
    """Print the table."""
    block = Block(load(DEMO))
    one = bare(block)
    print(f"{2 * len(block.mesh.points)} unknowns; one bare factorisation {1e3 * one:.1f} ms")
    print(
        f"{'pull':>5} {'friction':>8} {'tangents':>8} {'goal':>5} {'bare':>6} {'goal':>5} {'s':>6}"
    )
    for friction in (0.0, 0.3):
        for share, (tangents, factors) in GOALS.items():
            spent = []
            for _ in range(REPEATS):
                begun = time.process_time()
                closing = block.close(
                    band_tension_n_per_mm=share * PULL_N_PER_MM,
                    friction=friction,
                    deformation="large",
                )
                spent.append(time.process_time() - begun)
            goals = (str(tangents), str(factors)) if not friction else ("", "")
            print(
                f"{share:5.2f} {friction:8.1f} {closing.deformation.tangents:8d} {goals[0]:>5}"
                f" {min(spent) / one:6.1f} {goals[1]:>5} {min(spent):6.2f}"
            )


if __name__ == "__main__":
    main()
