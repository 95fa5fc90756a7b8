"""The same batches on a Dask cluster. Each of its workers runs a process of ours beside it.

So a case that crashes or hangs is named there as it is here, and takes no Dask worker with it. The
store is written by the submitting side alone.
"""

from __future__ import annotations

import threading
from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import islice
from typing import Any

from squeeze.study.plan.numerics import numerics
from squeeze.study.records import Batch, CaseAnswer, CaseState
from squeeze.study.runner.worker_pool import NoWorkers, WorkerPool
from squeeze.study.table import NeedsExtra

SHORTER = 8
"""Cases in a batch on a cluster: what is lost when one of its machines goes."""

AHEAD = 3
"""Batches under way for each thread of the cluster; no more are held in memory."""

OTHER = "workers of the cluster have another version of squeeze; install the same one there"

REACH_S = 20
"""Time to reach the scheduler and find a worker there [s]."""


class DaskCluster:
    """The workers of a Dask scheduler; a context manager.

    Parameters
    ----------
    address : str
        Of the scheduler, e.g. ``tcp://192.168.1.20:8786``.
    timeout_s : float
        A case that takes longer is given up [s].

    Raises
    ------
    NeedsExtra
        When Dask is not installed.
    NoWorkers
        When the scheduler cannot be reached or has no worker.
    """

    def __init__(self, address: str, timeout_s: float):
        try:
            from distributed import Client
        except ImportError:
            raise NeedsExtra("a cluster needs Dask: pip install 'squeeze-mold[cluster]'") from None
        self.timeout_s = timeout_s
        try:
            self.client: Any = Client(address, timeout=REACH_S)
        except (OSError, ValueError) as error:
            raise NoWorkers(f"{address}: no Dask scheduler answers there: {error}") from None
        try:
            self.client.wait_for_workers(1, timeout=REACH_S)
            _check_versions(self.client.run(numerics))
        except (OSError, ImportError) as error:
            self.client.close()
            raise NoWorkers(f"{address}: {error}") from None
        self.capacity = max(1, sum(self.client.nthreads().values()))

    def __enter__(self) -> DaskCluster:
        return self

    def __exit__(self, *_: object) -> None:
        self.client.close()

    def answers(self, batches: Iterable[Batch]) -> Iterator[CaseAnswer]:
        """Yield the answers to all cases of the batches, in the order in which they come."""
        from distributed import as_completed

        source = _shorter(batches)
        asked: dict[Any, Batch] = {}
        flow = as_completed()

        def submit(parts: Iterable[Batch]) -> None:
            for part in parts:
                future = self.client.submit(compute, part, self.timeout_s, numerics(), pure=False)
                asked[future] = part
                flow.add(future)

        submit(islice(source, AHEAD * self.capacity))
        for future in flow:
            part = asked.pop(future)
            if future.status == "finished":
                yield from future.result()
            elif len(part.cases) == 1:
                yield CaseAnswer(part.cases[0][0], CaseState.FAILED, error=_reason(future))
            else:  # find out which of its cases it was
                submit(replace(part, cases=(case,)) for case in part.cases)
            future.release()
            submit(islice(source, 1))


def _check_versions(found: dict[str, str]) -> None:
    """Check that the workers, by address, have the numerics that the store's answers are of."""
    other = [worker for worker, version in found.items() if version != numerics()]
    if other:
        raise NoWorkers(f"{OTHER}: {', '.join(other[:3])}")


def _reason(future: Any) -> str:
    error = future.exception() if future.status == "error" else None
    return f"{type(error).__name__}: {error}" if error else f"the cluster {future.status} it"


def _shorter(batches: Iterable[Batch]) -> Iterator[Batch]:
    for batch in batches:
        for k in range(0, len(batch.cases), SHORTER):
            part = batch.cases[k : k + SHORTER]
            yield replace(batch, cases=part)


_own = threading.local()


def compute(batch: Batch, timeout_s: float, version: str) -> list[CaseAnswer]:
    """Return the answers to a batch: what runs on the cluster.

    Parameters
    ----------
    batch : Batch
    timeout_s : float
        For one case.
    version : str
        Of the numerics of the one that asks.

    Raises
    ------
    RuntimeError
        When the program there has other numerics than the one that asks.
    """
    if numerics() != version:
        raise RuntimeError(OTHER)
    pool = getattr(_own, "pool", None)
    if pool is None or pool.timeout_s != timeout_s:
        pool = _own.pool = WorkerPool(1, timeout_s)
    return list(pool.answers([batch]))
