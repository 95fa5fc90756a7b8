"""Progress of a run: what there is to do, what is finished, how long the rest takes."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

from squeeze.study.records import CaseAnswer, CaseState


@dataclass(frozen=True)
class Workload:
    """What there is to do before a run.

    Attributes
    ----------
    planned, waiting : int
        Cases in all, and those without an answer.
    sections : int
        Meshes and factors that the waiting ones need, when neighbours share them.
    """

    planned: int
    waiting: int
    sections: int


@dataclass(frozen=True)
class RunProgress:
    """How a run stands.

    Attributes
    ----------
    workload : Workload
    finished, failed : int
        Of this run: answers, and those of them that are none.
    elapsed_s, left_s : float
        Time since the start; expected time to the end [s], NaN while unknown.
    workers : int
    """

    workload: Workload
    finished: int
    failed: int
    elapsed_s: float
    left_s: float
    workers: int


OnProgress = Callable[[RunProgress], None]


class RunClock:
    """Estimates how long the rest of a run takes.

    Parameters
    ----------
    workload : Workload
    capacity : int
        How many cases are solved at once.
    cost : (float, float) or None
        Mean time for a factor and for a solve, from earlier runs [s].
    """

    def __init__(self, workload: Workload, capacity: int, cost: tuple[float, float] | None):
        self.workload, self.capacity, self.cost = workload, capacity, cost
        self.start = time.monotonic()
        self.finished = self.failed = 0

    def progress(self, answer: CaseAnswer | None = None) -> RunProgress:
        """Return how the run stands, after one more answer."""
        if answer is not None:
            self._note(answer)
        elapsed = time.monotonic() - self.start
        return RunProgress(
            self.workload,
            self.finished,
            self.failed,
            elapsed,
            self._left_s(elapsed),
            self.capacity,
        )

    def _note(self, answer: CaseAnswer) -> None:
        self.finished += 1
        self.failed += answer.state is not CaseState.DONE
        if self.cost is None and answer.state is CaseState.DONE:
            self.cost = answer.factor_s, answer.solve_s

    def _left_s(self, elapsed: float) -> float:
        if self.cost is None:
            return float("nan")
        workload, (made, solved) = self.workload, self.cost
        whole = (workload.sections * made + workload.waiting * solved) / self.capacity
        done = self.finished / workload.waiting
        expected = whole * (1 - done)
        measured = elapsed * (1 / done - 1) if done else expected
        return (1 - done) * expected + done * measured  # trust the watch more, the longer it ran
