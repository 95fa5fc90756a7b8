"""The same chunks on a Dask cluster. Each of its workers runs a process of ours beside it.

So a case that crashes or hangs is named there as it is here, and takes no Dask worker with it. The
store is written by the submitting side alone.
"""

from __future__ import annotations

import threading
from collections.abc import Iterable, Iterator
from itertools import islice
from typing import Any

from squeeze.study.crew import Crew, NoWorkers
from squeeze.study.numerics import numerics
from squeeze.study.read import NeedsExtra
from squeeze.study.records import Answer, Chunk, State

SHORTER = 8
"""Cases in a chunk on a cluster: what is lost when one of its machines goes."""

AHEAD = 3
"""Chunks under way for each thread of the cluster; no more are held in memory."""

OTHER = "workers of the cluster have another version of squeeze; install the same one there"

REACH_S = 20
"""Time to reach the scheduler and find a worker there [s]."""


class Cluster:
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
        self.most = max(1, sum(self.client.nthreads().values()))

    def __enter__(self) -> Cluster:
        return self

    def __exit__(self, *_: object) -> None:
        self.client.close()

    def answers(self, chunks: Iterable[Chunk]) -> Iterator[Answer]:
        """Yield the answers to all cases of the chunks, in the order in which they come."""
        from distributed import as_completed

        source = _shorter(chunks)
        asked: dict[Any, Chunk] = {}
        flow = as_completed()

        def submit(parts: Iterable[Chunk]) -> None:
            for part in parts:
                future = self.client.submit(compute, part, self.timeout_s, numerics(), pure=False)
                asked[future] = part
                flow.add(future)

        submit(islice(source, AHEAD * self.most))
        for future in flow:
            part = asked.pop(future)
            if future.status == "finished":
                yield from future.result()
            elif len(part.cases) == 1:
                yield Answer(part.cases[0][0], State.FAILED, error=_reason(future))
            else:  # find out which of its cases it was
                submit(
                    Chunk((case,), part.section, part.keep, part.fineness) for case in part.cases
                )
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


def _shorter(chunks: Iterable[Chunk]) -> Iterator[Chunk]:
    for chunk in chunks:
        for k in range(0, len(chunk.cases), SHORTER):
            part = chunk.cases[k : k + SHORTER]
            yield Chunk(part, chunk.section, chunk.keep, chunk.fineness)


_own = threading.local()


def compute(chunk: Chunk, timeout_s: float, version: str) -> list[Answer]:
    """Return the answers to a chunk: what runs on the cluster.

    Raises
    ------
    RuntimeError
        When the program there has other numerics than the one that asks.
    """
    if numerics() != version:
        raise RuntimeError(OTHER)
    crew = getattr(_own, "crew", None)
    if crew is None or crew.timeout_s != timeout_s:
        crew = _own.crew = Crew(1, timeout_s)
    return list(crew.answers([chunk]))
