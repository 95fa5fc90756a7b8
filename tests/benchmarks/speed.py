"""The whole table of speed in one run: commands, load cases, growth, waves.

    python tests/benchmarks/speed.py --json after.json
    python tests/benchmarks/speed.py commands growth

Processor time (user and system), for the machine may do other things as well. A "factor" is one
bare factorisation of the same section's stiffness, see `closing`; commands are in seconds from the
start of the process. Run it twice and `compare.py` the runs to see what the machine adds.
"""

from __future__ import annotations

import argparse
import math
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import along
import closing
from table import Table

from squeeze import Block, LongBlock, mold_of
from squeeze.mold import loads_of
from squeeze.verdict.uncertainty import scaled

STUDIES = Path(__file__).resolve().parents[2] / "studies"
BARRELS = str(STUDIES / "barrels" / "barrels.toml")
COMMANDS = {
    "--help": (("--help",), 0.15),
    "close, small deformation": (("close", BARRELS, "--small"), None),
    "close": (("close", BARRELS), 1.0),
    "close --figure": (("close", BARRELS, "--figure", "figure.png"), 1.5),
    "close --advise": (("close", BARRELS, "--advise"), 4.0),
    "cradle": (("cradle", BARRELS), 3.0),
}


def spent(work: Callable[[], Any], times: int = 3) -> float:
    """Return the least processor time of some runs [s]."""
    found = []
    for _ in range(times):
        start = time.process_time()
        work()
        found.append(time.process_time() - start)
    return min(found)


def child(words: tuple[str, ...], folder: str) -> float:
    """Return the processor time of one command from the start of its process [s]."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(
        [sys.executable, "-m", "squeeze", *words], cwd=folder, stdout=subprocess.DEVNULL, check=True
    )
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def commands(table: Table) -> None:
    """Measure the commands on the barrels."""
    with tempfile.TemporaryDirectory() as folder:
        for name, (words, goal) in COMMANDS.items():
            table.add(f"squeeze {name}", min(child(words, folder) for _ in range(2)), "s", goal)


def cases(table: Table) -> None:
    """Measure one closing, and further load cases on the same factor."""
    for name, bevel, friction, goal in (
        ("closed", 35, 0.0, 2.5),
        ("partly open", 3, 0.0, 4.0),
        ("stick and slip", 35, 0.3, 6.0),
    ):
        mold = mold_of(closing.barrels_with(bevel, friction))
        block = Block(mold, closing.FINENESS["20k"])
        one = closing.bare(block)
        whole = spent(lambda m=mold: Block(m, closing.FINENESS["20k"]).close())
        table.add(f"file to answer, {name}", whole / one, "factors", goal)
    pulls = [0.1 + 0.04 * k for k in range(20)]

    def bands() -> None:
        for pull in pulls:
            block.close(band_tension_n_per_mm=pull)

    table.add("further pull of the bands", spent(bands) / one / len(pulls), "factors", 0.1)
    pushed = closing.barrels_with(3, 0.0) | {
        "band": [],
        "push": [
            {"at_mm": [60, 0], "width_mm": 30, "force_n_per_mm": 0.5},
            {"at_mm": [-60, 0], "width_mm": 30, "force_n_per_mm": 0.5},
        ],
    }
    block = Block(mold_of(pushed), closing.FINENESS["20k"])
    one = closing.bare(block)
    loads = loads_of(block.mold, block.section)

    def pushes() -> None:
        for pull in pulls:
            block.close(scaled(loads, pull))

    table.add("further size of the pushes", spent(pushes) / one / len(pulls), "factors", 0.1)


def many(count: int, friction: float = 0.0) -> dict[str, Any]:
    """Return a mold with `count` cavities in rows of 8, a cut through each row."""
    rows = count // 8
    y = [50.0 * (k - (rows - 1) / 2) for k in range(rows)]
    return {
        "length_mm": 300,
        "rubber": {"shore_a": 20},
        "block": {
            "shape": "rectangle",
            "width_mm": 400,
            "height_mm": max(50.0 * rows, 60),
            "bevel_mm": 20,
        },
        "cavity": [
            {"shape": "round", "diameter_mm": 12, "centre_mm": [40.0 * k - 140, row]}
            for row in y
            for k in range(8)
        ],
        "cut": [{"path_mm": [[-205, row], [205, row]], "friction": friction} for row in y],
        "band": [{"tension_n_per_mm": 0.6}],
    }


def growth(table: Table) -> None:
    """Measure blocks with more and more cavities."""
    took = {}
    for count in (16, 32, 64):
        mold = mold_of(many(count))
        took[count] = spent(lambda m=mold: Block(m), 2)
        table.add(f"build with {count} cavities", took[count], "s", 3.0 if count == 64 else None)
    table.add("exponent from 16 to 64 cavities", math.log(took[64] / took[16], 4), "", 1.15)
    block = Block(mold_of(many(64, 0.3)))
    table.add(
        "close 64 cavities, friction 0.3", spent(lambda: block.close(check=False), 1), "s", 60
    )


def waves(table: Table) -> None:
    """Measure the set-up of 16 waves along the length."""
    for name, outline in along.BLOCKS.items():
        long = LongBlock(along.mold_of(outline), along.WAVES, 1.0)
        one = along.least(along.bare(long))
        setting_up = along.least(lambda long=long: along.set_up(long, 1), 3)
        table.add(f"set-up of {along.WAVES} waves, {name}", setting_up / one, "factors", 32)


PARTS = {"commands": commands, "cases": cases, "growth": growth, "waves": waves}


def main() -> None:
    """Measure what is asked for, or all."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("parts", nargs="*", metavar="PART", help=", ".join(PARTS))
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the table")
    wish = parser.parse_args()
    table = Table()
    for part in wish.parts or PARTS:
        PARTS[part](table)
    if wish.json:
        table.write(wish.json)


if __name__ == "__main__":
    main()
