"""Compute the studies of the gallery anew and compare them with their kept tables.

Run by hand, before and after a change that must not change an answer:

    python studies/recheck.py                     # all studies, all cases: an hour or so
    python studies/recheck.py outlines friction   # these alone
    python studies/recheck.py --every 10          # each tenth case of each
    python studies/recheck.py pull --write        # keep what came out: the change was meant

The exit status is 1 where anything differs by more than the tolerance.
"""

from __future__ import annotations

import argparse
import math
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any

from squeeze.study import Case, MemoryStore, Study, cases, load_study, rows_of, write_csv
from squeeze.study.plan.study import batches
from squeeze.study.runner.worker_pool import WorkerPool, cores

HERE = Path(__file__).parent
TOLERANCE = 1e-6
"""Allowed difference over the largest figure of a column: what another order of sums explains."""


@dataclass(frozen=True)
class Difference:
    """One entry of a table that is not what was kept.

    Attributes
    ----------
    case : int
        From 1, as in the table.
    column : str
    kept, now : object
    size : float
        Over the largest figure of the column; infinite where the two cannot be compared.
    """

    case: int
    column: str
    kept: Any
    now: Any
    size: float


def differences(
    kept: list[dict[str, Any]], now: list[dict[str, Any]], tolerance: float
) -> Iterator[Difference]:
    """Yield what differs between rows of two tables, by their case.

    Parameters
    ----------
    kept, now : list of dict
        `kept` may hold more cases.
    tolerance : float
        Allowed difference over the largest figure of a column in `kept`.
    """
    by_case = {row["case"]: row for row in kept}
    for row in now:
        old = by_case.get(row["case"], {})
        for column in row.keys() | old.keys():
            a, b = old.get(column), row.get(column)
            size = _apart(a, b, max((_size(each.get(column)) for each in kept), default=0.0))
            if size > tolerance:
                yield Difference(row["case"], column, a, b, size)


def _size(value: Any) -> float:
    """Return the size of a figure; 0 for anything else."""
    return abs(value) if isinstance(value, int | float) and math.isfinite(value) else 0.0


def _apart(a: Any, b: Any, scale: float) -> float:
    """Return how far two entries are apart, over the scale of their column."""
    if a == b:
        return 0.0
    numbers = all(isinstance(v, int | float) and not isinstance(v, bool) for v in (a, b))
    return abs(a - b) / (scale or 1.0) if numbers else math.inf


def computed(study: Study, every: int) -> MemoryStore:
    """Return a store with each `every`-th case of a study, computed now."""
    store = MemoryStore()
    chosen: list[Case] = sorted(cases(study), key=lambda case: case.number)[::every]
    store.plan(study.columns, study.keep, chosen)
    with WorkerPool(cores(), study.file.timeout_s) as pool:
        for answer in pool.answers(batches(study, chosen)):
            store.put(answer)
    return store


def recheck(folder: Path, every: int, tolerance: float, write: bool) -> bool:
    """Compare one study, print what came out, and return whether it is as kept."""
    study = load_study(folder)
    assert study.file.table is not None, f"{folder}: a study of the gallery keeps its table"
    place = folder / study.file.table
    store = computed(study, every)
    now = list(store.rows())
    found = sorted(differences(list(rows_of(place)), now, tolerance), key=lambda d: -d.size)
    print(f"{folder.name}: {len(now)} cases, {len(found)} entries differ", flush=True)
    for each in islice(found, 5):
        print(f"  case {each.case}, {each.column}: {each.kept} was kept, {each.now} came")
    if write and found:
        write_csv(store, place)
        print(f"  Wrote {place}; now run tests/study/pages.py and draw the figures.")
    return not found


def main() -> int:
    """Compare the studies that are named, or all; return the exit status."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("study", nargs="*", help="names of folders; all unless given")
    parser.add_argument("--every", type=int, default=1, help="take each N-th case")
    parser.add_argument("--tolerance", type=float, default=TOLERANCE)
    parser.add_argument("--write", action="store_true", help="keep what came out")
    given = parser.parse_args()
    if given.write and given.every != 1:
        parser.error("--write needs all cases")
    known = sorted(path.parent for path in HERE.glob("*/study.toml"))
    chosen = [folder for folder in known if not given.study or folder.name in given.study]
    if unknown := set(given.study) - {folder.name for folder in known}:
        parser.error(f"no study of that name: {', '.join(sorted(unknown))}")
    same = [recheck(each, given.every, given.tolerance, given.write) for each in chosen]
    return 0 if all(same) else 1


if __name__ == "__main__":
    sys.exit(main())
