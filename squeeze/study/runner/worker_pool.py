"""Worker processes on this machine: they may crash or hang, the study goes on.

Each runs in an interpreter of its own, so that what kills it kills nothing else. It gets one
batch at a time and answers case by case; when it dies or a case takes too long, the case it was at
is known.
"""

from __future__ import annotations

import os
import pickle
import queue
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

from squeeze import ONE_THREAD
from squeeze.mold.errors import SqueezeError
from squeeze.study.records import Batch, CaseAnswer, CaseState

TRIES = 3
"""A case at which this many workers died is named as failed."""

START_S = 120.0
"""A worker that is not ready after this time is given up [s]."""

STARTS = 5
"""So many workers that end before they are ready, one after the other, end the study."""

ROOT = Path(__file__).resolve().parents[3]


class NoWorkers(SqueezeError, OSError):
    """No worker answers: none started here, or none is reached on a cluster."""


class Worker:
    """One process, and what it has to do.

    Parameters
    ----------
    events : queue.Queue
        Takes pairs (worker, message); None as message and `over` set when the process has ended.
    """

    def __init__(self, events: queue.Queue[Any]):
        self.log = tempfile.TemporaryFile()
        self.process = subprocess.Popen(
            [sys.executable, "-c", "from squeeze.study.runner.worker_process import main; main()"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=self.log,
            env=_environment(),
            start_new_session=True,
        )
        self.ready = self.over = False
        self.left: deque[tuple[str, Any]] = deque()
        self.batch: Batch | None = None
        self.since = time.monotonic()
        threading.Thread(target=self._listen, args=(events,), daemon=True).start()

    def _listen(self, events: queue.Queue[Any]) -> None:
        assert self.process.stdout is not None
        while True:
            try:
                message = pickle.load(self.process.stdout)
            except (EOFError, OSError, ValueError, pickle.UnpicklingError):
                self.process.stdout.close()
                events.put((self, END))
                return
            events.put((self, message))

    def give(self, batch: Batch) -> None:
        """Hand over a batch; a dead worker is noticed by its end, not here."""
        self.batch, self.left, self.since = batch, deque(batch.cases), time.monotonic()
        try:
            assert self.process.stdin is not None
            pickle.dump(batch, self.process.stdin)
            self.process.stdin.flush()
        except OSError:
            pass

    def deadline(self, timeout_s: float) -> float | None:
        """Return when the case at hand, or the start, has taken too long; None when idle.

        A case may take `timeout_s` [s].
        """
        if not self.ready:
            return self.since + START_S
        return self.since + timeout_s if self.left else None

    def kill(self) -> None:
        """End the process at once and wait for it."""
        self.process.kill()
        self.process.wait()
        for stream in (self.process.stdin, self.log):
            try:
                if stream is not None:
                    stream.close()
            except OSError:
                pass

    def why(self) -> str:
        """Say how the process ended, with the last line it wrote."""
        code = self.process.wait()
        self.log.seek(0)
        lines = self.log.read()[-2000:].decode(errors="replace").strip().splitlines()
        last = f": {lines[-1][:200]}" if lines else ""
        return f"its worker ended by {_ending(code)}{last}"


END, LATE, READY = "end", "late", "ready"


def _environment() -> dict[str, str]:
    """Return the environment of a worker, which finds the modules that this process finds."""
    known = (str(ROOT), os.environ.get("PYTHONPATH"), *sys.path)
    path = os.pathsep.join(dict.fromkeys(p for p in known if p))
    return os.environ | ONE_THREAD | {"PYTHONPATH": path}


def _ending(code: int) -> str:
    if code >= 0:
        return f"itself, status {code}"
    try:
        return signal.Signals(-code).name
    except ValueError:
        return f"signal {-code}"


def cores() -> int:
    """Return how many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


class WorkerPool:
    """Workers on this machine; a context manager that leaves no process behind.

    Parameters
    ----------
    workers : int
        How many processes at most.
    timeout_s : float
        A case that takes longer is given up [s].
    """

    def __init__(self, workers: int, timeout_s: float):
        self.capacity, self.timeout_s = workers, timeout_s
        self.events: queue.Queue[Any] = queue.Queue()
        self.workers: list[Worker] = []
        self.again: deque[Batch] = deque()
        self.deaths: dict[str, int] = {}
        self.failed_starts = 0

    def __enter__(self) -> WorkerPool:
        return self

    def __exit__(self, *_: object) -> None:
        for worker in self.workers:
            worker.kill()
        self.workers.clear()

    def answers(self, batches: Iterable[Batch]) -> Iterator[CaseAnswer]:
        """Yield the answers to all cases of the batches, in the order in which they come."""
        source = iter(batches)
        while self._hand_out(source):
            worker, message = self._next_event()
            if worker not in self.workers:
                continue  # a late word of a worker that was given up
            if message == END:
                yield from self._ended(worker)
            elif message == READY:
                worker.ready, worker.since = True, time.monotonic()
                self.failed_starts = 0
            elif message == LATE:
                yield self._late(worker)
            elif message is None:
                worker.batch = None
            else:
                worker.left.popleft()
                worker.since = time.monotonic()
                self.deaths.pop(message.id, None)
                yield message

    def _hand_out(self, source: Iterator[Batch]) -> bool:
        """Give each idle worker a batch; return whether anyone has anything to do."""
        while True:
            idle = next((w for w in self.workers if w.batch is None), None)
            if idle is None and len(self.workers) >= self.capacity:
                return True
            batch = self.again.popleft() if self.again else next(source, None)
            if batch is None:
                return any(w.batch is not None for w in self.workers)
            if idle is None:
                idle = Worker(self.events)
                self.workers.append(idle)
            idle.give(batch)

    def _next_event(self) -> tuple[Worker, Any]:
        """Wait for a message, or for the first case whose time is over."""
        limits = [(at, k) for k, w in enumerate(self.workers) if (at := w.deadline(self.timeout_s))]
        at, k = min(limits, default=(time.monotonic() + START_S, -1))
        try:
            return self.events.get(timeout=max(0.0, at - time.monotonic()))
        except queue.Empty:
            worker = self.workers[k]
            return worker, LATE if worker.ready else END

    def _dismiss(self, worker: Worker) -> tuple[str, Any, Batch] | None:
        """Part with a worker; return the case it was at and what is left of its batch."""
        self.workers.remove(worker)
        worker.kill()
        if worker.batch is None or not worker.left:
            return None
        identity, mold = worker.left.popleft()
        return identity, mold, replace(worker.batch, cases=tuple(worker.left))

    def _ended(self, worker: Worker) -> Iterator[CaseAnswer]:
        worker.process.kill()
        why = worker.why()
        if not worker.ready:
            self._never_began(worker, why)
            return
        at = self._dismiss(worker)
        if at is None:
            return
        identity, mold, rest = at
        self._again(rest)
        self.deaths[identity] = self.deaths.get(identity, 0) + 1
        if self.deaths[identity] < TRIES:
            self._again(replace(rest, cases=((identity, mold),)))
        else:
            yield CaseAnswer(identity, CaseState.FAILED, error=f"{why}, {TRIES} times")

    def _never_began(self, worker: Worker, why: str) -> None:
        """Take back the batch of a worker that ended before it was ready."""
        batch = worker.batch
        self._dismiss(worker)
        self.failed_starts += 1
        if self.failed_starts >= STARTS or worker.process.returncode >= 0:
            raise NoWorkers(f"no worker process can be started: {why}")
        if batch is not None:
            self._again(batch)

    def _late(self, worker: Worker) -> CaseAnswer:
        at = self._dismiss(worker)
        assert at is not None  # only a worker that is at a case can be late
        identity, _, rest = at
        self._again(rest)
        return CaseAnswer(
            identity, CaseState.FAILED, error=f"took longer than {self.timeout_s:g} s"
        )

    def _again(self, batch: Batch) -> None:
        if batch.cases:
            self.again.appendleft(batch)
