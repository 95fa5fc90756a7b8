"""What a study costs beyond its bare solves: overhead, sharing of sections, memory.

    python tests/benchmarks/study.py [overhead] [sharing] [memory]

Bare = mesh, factor, close and verdict of each case in this process, one after the other, with one
thread of linear algebra: set OMP_NUM_THREADS=1 and OPENBLAS_NUM_THREADS=1.
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from squeeze.mold import mold_of
from squeeze.solve import Block
from squeeze.study import RunProgress, SqliteStore, Study, cases, load_study, run
from squeeze.study.runner.solve_batch import close_case
from squeeze.verdict import judge

BARRELS = Path(__file__).resolve().parents[2] / "studies" / "barrels" / "barrels.toml"
HEAD = f'mold = "{BARRELS.as_posix()}"\n'
BEVELS = HEAD + '[vary]\n"block.bevel_mm" = {{ from = 1.0, to = 40.0, count = {n} }}\n'
BANDS = HEAD + '[vary]\n"band.count" = {{ from = 1, to = {n} }}\n'
COARSE = (
    HEAD
    + 'fineness = 0.5\n[vary]\n"block.bevel_mm" = {{ from = 1.0, to = 40.0, count = {n} }}\n'
    + '"band.count" = {{ from = 1, to = 20 }}\n'
)


@contextmanager
def study(text: str, **counts: int) -> Iterator[tuple[Study, SqliteStore]]:
    """Yield a study and an empty store for it."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "study.toml"
        path.write_text(text.format(**counts))
        with closing(SqliteStore(path.with_suffix(".sqlite"))) as store:
            yield load_study(path), store


def overhead(n: int = 60) -> None:
    """Tell cases per second with 1 and 2 workers against the sum of bare solve times."""
    with study(BEVELS, n=n) as (made, _):
        bare = _bare(made)
    print(f"{n} cases on {n} sections; bare {bare:.1f} s, {n / bare:.2f} cases per second")
    for workers in (1, 2):
        with study(BEVELS, n=n) as (made, store):
            start = time.perf_counter()
            run(made, store, workers=workers)
            wall = time.perf_counter() - start
        print(
            f"  {workers} workers: {wall:.1f} s, {n / wall:.2f} cases per second,"
            f" overhead {100 * (wall * workers / bare - 1):+.0f} % of the bare time"
        )


def _bare(made: Study) -> float:
    every = list(cases(made))
    _solve(every[0].mold)  # what is loaded on first use is not counted
    start = time.perf_counter()
    for case in every:
        _solve(case.mold)
    return time.perf_counter() - start


def _solve(data: dict) -> None:
    mold = mold_of(data)
    judge(close_case(Block(mold), mold), mold=mold)


def sharing(n: int = 100) -> None:
    """Time a sweep over bands on one section against three factorisations (mesh and factor)."""
    with study(BANDS, n=n) as (made, store):
        mold = mold_of(next(cases(made)).mold)
        Block(mold)
        start = time.perf_counter()
        for _ in range(3):
            Block(mold)
        three = time.perf_counter() - start
        told: list[float] = []
        run(made, store, workers=1, on_progress=lambda p: told.append(time.perf_counter()))
    wall = told[-1] - told[1]  # from the first answer on: without the start of the process
    print(f"{n} numbers of bands on one section: {wall:.2f} s; three factorisations {three:.2f} s")
    print(f"  {wall / three:.1f} times three factorisations, {1000 * wall / (n - 1):.1f} ms a case")


def memory() -> None:
    """Tell the memory of the runner and its workers after 100 and after 2,000 cases."""
    with study(COARSE, n=100) as (made, store):
        seen: dict[int, tuple[float, float]] = {}

        def tell(progress: RunProgress) -> None:
            if progress.finished in (100, 500, 1000, 2000):
                seen[progress.finished] = (
                    _megabytes(os.getpid()),
                    sum(map(_megabytes, _workers())),
                )

        run(made, store, workers=2, on_progress=tell)
    for finished, (runner, workers) in seen.items():
        print(
            f"after {finished:5d} cases: runner {runner:.0f} MB, workers together {workers:.0f} MB"
        )


def _megabytes(pid: int) -> float:
    for line in Path(f"/proc/{pid}/status").read_text().splitlines():
        if line.startswith("VmRSS"):
            return int(line.split()[1]) / 1024
    return 0.0


def _workers() -> list[int]:
    found = []
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                parent = (entry / "stat").read_text().rsplit(")", 1)[1].split()[1]
            except OSError:
                continue
            if int(parent) == os.getpid():
                found.append(int(entry.name))
    return found


if __name__ == "__main__":
    for name in sys.argv[1:] or ("overhead", "sharing", "memory"):
        {"overhead": overhead, "sharing": sharing, "memory": memory}[name]()
