"""Close random molds and check each answer: certified, or refused in words.

    python tests/fuzz/run.py --seconds 120 --seed 1 --workers 2
    python tests/fuzz/run.py --molds 1000
    python tests/fuzz/run.py --replay FAILED.toml

A mold follows from the seed and its number. One that fails is written as a mold file, with what
went wrong as a remark. OPENBLAS_CORETYPE in the environment chooses the kernel of linear algebra.
Needs a system with resource limits (Linux, macOS).
"""

from __future__ import annotations

import argparse
import math
import multiprocessing
import os
import resource
import sys
import tempfile
import time
from collections import Counter
from concurrent.futures import FIRST_COMPLETED, Future, wait
from dataclasses import dataclass, field
from itertools import count
from pathlib import Path

# one thread a worker: more only wait for each other; before numpy is loaded
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("MPLBACKEND", "Agg")

import molds
import tomli_w
from pebble import ProcessExpired, ProcessPool

WALL_S = 1800  # of waiting for one mold, however busy the machine is
SHARES = {"files": 0.12, "bands": 0.03, "cradle": 0.02, "advise": 0.02}


def prepare() -> None:
    """Set up a worker; four times the memory that a mold may take cannot be reserved.

    A factorisation reserves a multiple of what it then writes to.
    """
    import doors

    resource.setrlimit(resource.RLIMIT_DATA, (4 * doors.MEMORY, resource.RLIM_INFINITY))


def work(seed: int, number: int, folder: str):
    """Make a mold and send it through its doors; return the report."""
    import doors

    path = Path(folder) / f"{number}.toml"
    path.write_bytes(tomli_w.dumps(molds.mold(seed, number)).encode("utf-8", "replace"))
    dice = molds.Dice(seed, number, 1)
    chosen = tuple(door for door, share in SHARES.items() if dice.chance(share))
    return replayed(path, ("close", *chosen), doors)


def replayed(path: Path, chosen: tuple[str, ...], doors):
    """Send a mold file through doors, in a folder of its own."""
    before = Path.cwd()
    with tempfile.TemporaryDirectory() as own:
        os.chdir(own)
        try:
            return doors.try_mold(path, chosen, path.with_suffix(".log"))
        finally:
            os.chdir(before)


def kernel() -> str:
    """Return the kernels of linear algebra that a worker runs."""
    import doors  # noqa: F401, loads what is asked about
    from threadpoolctl import threadpool_info

    return ", ".join(sorted({pool.get("architecture", "?") for pool in threadpool_info()}))


@dataclass
class Tally:
    """Counts over all molds."""

    folder: Path
    seed: int
    kernel: str
    outcomes: Counter = field(default_factory=Counter)
    doors: Counter = field(default_factory=Counter)
    failed: list[int] = field(default_factory=list)
    slowest: tuple[float, int] = (0.0, -1)
    memory: tuple[int, int] = (0, -1)

    def add(self, number: int, report) -> None:
        """Count a report; keep the mold if it failed."""
        self.outcomes[report.outcome or "wrong"] += 1
        self.doors.update(report.doors)
        self.slowest = max(self.slowest, (report.cpu_s, number))
        self.memory = max(self.memory, (report.memory, number))
        if report.faults:
            self.keep(number, report.faults)
        else:
            (self.folder / f"{number}.toml").unlink()

    def died(self, number: int, how: str) -> None:
        """Count a mold whose worker ended before it had an answer."""
        log = self.folder / f"{number}.log"
        said = log.read_text(encoding="utf-8") if log.exists() else ""
        log.unlink(missing_ok=True)
        self.outcomes["ended by a limit"] += 1
        self.keep(number, [f"{how} in {said}"])

    def keep(self, number: int, faults: list[str]) -> None:
        """Leave the mold file there, with what is wrong as a remark."""
        self.failed.append(number)
        path = self.folder / f"{number}.toml"
        remark = "\n".join([f"seed {self.seed}, number {number}, kernel {self.kernel}", *faults])
        lines = "".join(f"# {line}\n" for line in remark.splitlines())
        path.write_text(lines + path.read_text(encoding="utf-8"), encoding="utf-8")
        print(f"{number}: {faults[0].strip().splitlines()[-1][:200]}", flush=True)

    def tell(self, seconds: float) -> None:
        """Print the counts."""
        total = sum(self.outcomes.values())
        print(f"{total} molds of seed {self.seed} in {seconds:.0f} s; kernel {self.kernel}")
        for name, many in self.outcomes.most_common():
            print(f"  {many:6d}  {name}")
        print("  doors: " + ", ".join(f"{name} {many}" for name, many in self.doors.items()))
        print(f"  slowest: {self.slowest[0]:.1f} s of processor time (number {self.slowest[1]})")
        print(f"  most memory: {self.memory[0] / 1e6:.0f} MB (number {self.memory[1]})")
        if self.failed:
            print(f"{len(self.failed)} FAILED: kept in {self.folder}")


def hunt(wish: argparse.Namespace, folder: Path) -> Tally:
    """Try molds until the time or their number is used up."""
    start = time.monotonic()
    numbers = count(wish.first)
    last = math.inf if wish.molds is None else wish.first + wish.molds
    waiting: dict[Future, int] = {}
    with ProcessPool(
        wish.workers,
        max_tasks=200,
        initializer=prepare,
        context=multiprocessing.get_context("spawn"),
    ) as pool:
        tally = Tally(folder, wish.seed, pool.schedule(kernel).result())
        number = next(numbers)
        while True:
            while (
                len(waiting) < wish.workers
                and number < last
                and time.monotonic() - start < wish.seconds
            ):
                task = pool.schedule(work, (wish.seed, number, str(folder)), timeout=WALL_S)
                waiting[task] = number
                number = next(numbers)
            if not waiting:
                return tally
            for task in wait(waiting, return_when=FIRST_COMPLETED).done:
                _count(tally, waiting.pop(task), task)
            total = sum(tally.outcomes.values())
            if total % 100 == 0:
                print(f"{total} molds, {len(tally.failed)} failed", flush=True)


def _count(tally: Tally, number: int, task: Future) -> None:
    try:
        tally.add(number, task.result())
    except (ProcessExpired, TimeoutError) as end:
        tally.died(number, f"{type(end).__name__}: {end}")


def main() -> int:
    """Read the command line; return 1 when a mold failed."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seconds", type=float, default=math.inf)
    parser.add_argument("--molds", type=int)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--first", type=int, default=0, help="number of the first mold")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--replay", type=Path, help="a mold file that failed")
    wish = parser.parse_args()
    if wish.replay:
        import doors

        report = replayed(wish.replay.resolve(), doors.DOORS, doors)
        print(report.outcome, *report.faults, sep="\n")
        return int(bool(report.faults))
    if wish.molds is None and math.isinf(wish.seconds):
        wish.molds = 100
    start = time.monotonic()
    tally = hunt(wish, Path(tempfile.mkdtemp(prefix="squeeze-fuzz-")))
    tally.tell(time.monotonic() - start)
    if not tally.failed:
        tally.folder.rmdir()
    return int(bool(tally.failed))


if __name__ == "__main__":
    sys.exit(main())
