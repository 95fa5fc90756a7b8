"""Compare two runs of a benchmark.

    python tests/benchmarks/compare.py before.json after.json

Prints both values of each figure and their ratio. Ends with status 1 when a figure grew by more
than `--grown` (a fifth unless given), or is missing afterwards.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from table import read


def main() -> int:
    """Print the comparison; return the exit status."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("before", type=Path)
    parser.add_argument("after", type=Path)
    parser.add_argument("--grown", type=float, default=0.2, help="share that is put down to noise")
    wish = parser.parse_args()
    before, after = read(wish.before), read(wish.after)
    worse = [name for name in before if name not in after]
    print(f"{'':<58} {'before':>10} {'after':>10} {'ratio':>7}")
    for name, now in after.items():
        if name not in before:
            print(f"{name:<58} {'':>10} {now.value:10.3g} {'new':>7} {now.unit}")
            continue
        ratio = now.value / before[name].value if before[name].value else float("inf")
        print(f"{name:<58} {before[name].value:10.3g} {now.value:10.3g} {ratio:7.2f} {now.unit}")
        if ratio > 1 + wish.grown:
            worse.append(name)
    print("worse: " + "; ".join(worse) if worse else "none is worse")
    return int(bool(worse))


if __name__ == "__main__":
    sys.exit(main())
