"""Running a study: what is missing is computed, each answer is kept as soon as it is there."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import chain, islice
from typing import Protocol

from squeeze.study.plan.study import Study, batches, cases
from squeeze.study.records import Batch, Case, CaseAnswer, CaseState
from squeeze.study.runner.progress import OnProgress, RunClock, Workload
from squeeze.study.runner.worker_pool import WorkerPool, cores
from squeeze.study.store.contract import CaseCounts, Store


class BatchSolver(Protocol):
    """Whoever computes batches: processes of this machine, or a cluster."""

    capacity: int

    def __enter__(self) -> BatchSolver: ...

    def __exit__(self, *_: object) -> None: ...

    def answers(self, batches: Iterable[Batch]) -> Iterator[CaseAnswer]:
        """Yield the answers to all cases of the batches, in the order in which they come."""
        ...


def run(
    study: Study,
    store: Store,
    *,
    workers: int | None = None,
    scheduler: str | None = None,
    retry_failed: bool = False,
    on_progress: OnProgress | None = None,
) -> CaseCounts:
    """Compute the cases of a study that have no answer in the store yet.

    Parameters
    ----------
    study : Study
    store : Store
    workers : int, optional
        Processes on this machine; as many as it has cores unless given.
    scheduler : str, optional
        Address of a Dask scheduler, whose workers compute instead.
    retry_failed : bool
        Whether cases that failed or were refused are tried again.
    on_progress : callable, optional
        Called with a `RunProgress` before the first case and after each.

    Returns
    -------
    CaseCounts
        How the study stands afterwards.

    Raises
    ------
    NoWorkers
        When no worker can be started or reached.
    """
    if retry_failed:
        store.forget(CaseState.FAILED, CaseState.REFUSED)
    workload = write_plan(study, store)
    if workload.waiting:
        with _solver(study, workers, scheduler) as solver:
            _work(study, store, solver, workload, on_progress)
    return store.count()


def write_plan(study: Study, store: Store) -> Workload:
    """Put the plan down in the store and return what there is to do."""
    found = {"planned": 0, "waiting": 0, "sections": 0}
    last: list[str] = [""]

    def seen() -> Iterator[Case]:
        for case in cases(study):
            found["planned"] += 1
            if store.state(case.id) is None:
                found["waiting"] += 1
                found["sections"] += case.section != last[0]
                last[0] = case.section
            yield case

    store.plan(study.columns, study.keep, seen())
    return Workload(**found)


def copy_answers(source: Store, target: Store) -> None:
    """Put every answer of one store into another."""
    for answer in source.answers():
        target.put(answer)


def _solver(study: Study, workers: int | None, scheduler: str | None) -> BatchSolver:
    if scheduler is None:
        return WorkerPool(workers or cores(), study.file.timeout_s)
    from squeeze.study.runner.dask_cluster import DaskCluster

    return DaskCluster(scheduler, study.file.timeout_s)


def _work(
    study: Study,
    store: Store,
    solver: BatchSolver,
    workload: Workload,
    on_progress: OnProgress | None,
) -> None:
    clock = RunClock(workload, solver.capacity, store.seconds())
    say = on_progress or (lambda progress: None)
    say(clock.progress())
    waiting = _waiting(study, store)
    first = islice(waiting, 1)
    if clock.cost is None:  # time one case on its own, to estimate the rest
        for answer in solver.answers(batches(study, first)):
            store.put(answer)
            say(clock.progress(answer))
    for answer in solver.answers(batches(study, chain(first, waiting))):
        store.put(answer)
        say(clock.progress(answer))


def _waiting(study: Study, store: Store) -> Iterator[Case]:
    """Yield the cases without an answer, each once; one that is no mold is refused here."""
    handed: set[str] = set()
    for case in cases(study):
        if case.id in handed or store.state(case.id) is not None:
            continue
        if case.fault is not None:
            store.put(CaseAnswer(case.id, CaseState.REFUSED, error=case.fault))
            continue
        handed.add(case.id)
        yield case
