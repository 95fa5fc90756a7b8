"""Running a study: what is missing is computed, each answer is kept as soon as it is there."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import chain, islice
from typing import Protocol

from squeeze.study.crew import Crew, cores
from squeeze.study.plan import Study, cases, chunks
from squeeze.study.records import Answer, Case, Chunk, State
from squeeze.study.store import Count, Store


class Workforce(Protocol):
    """Whoever computes chunks: processes of this machine, or a cluster."""

    most: int

    def __enter__(self) -> Workforce: ...

    def __exit__(self, *_: object) -> None: ...

    def answers(self, chunks: Iterable[Chunk]) -> Iterator[Answer]:
        """Yield the answers to all cases of the chunks, in the order in which they come."""
        ...


@dataclass(frozen=True)
class Load:
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
class Progress:
    """How a run stands.

    Attributes
    ----------
    load : Load
    finished, failed : int
        Of this run: answers, and those of them that are none.
    elapsed_s, left_s : float
        Time since the start; expected time to the end [s], NaN while unknown.
    workers : int
    """

    load: Load
    finished: int
    failed: int
    elapsed_s: float
    left_s: float
    workers: int


Tell = Callable[[Progress], None]


def run(
    study: Study,
    store: Store,
    *,
    workers: int | None = None,
    scheduler: str | None = None,
    retry_failed: bool = False,
    tell: Tell | None = None,
) -> Count:
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
    tell : callable, optional
        Called with the `Progress` before the first case, after one has been timed, and after each.

    Returns
    -------
    Count
        How the study stands afterwards.

    Raises
    ------
    NoWorkers
        When no worker can be started or reached.
    """
    if retry_failed:
        store.forget(State.FAILED, State.REFUSED)
    load = planned(study, store)
    if load.waiting:
        with _workforce(study, workers, scheduler) as force:
            _work(study, store, force, load, tell)
    return store.count()


def planned(study: Study, store: Store) -> Load:
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

    store.plan(study.columns, study.file.keep, seen())
    return Load(**found)


def copied(source: Store, target: Store) -> None:
    """Put every answer of one store into another."""
    for answer in source.answers():
        target.put(answer)


def _workforce(study: Study, workers: int | None, scheduler: str | None) -> Workforce:
    if scheduler is None:
        return Crew(workers or cores(), study.file.timeout_s)
    from squeeze.study.cluster import Cluster

    return Cluster(scheduler, study.file.timeout_s)


def _work(study: Study, store: Store, force: Workforce, load: Load, tell: Tell | None) -> None:
    clock = Clock(load, force, store.seconds())
    say = tell or (lambda progress: None)
    say(clock.progress())
    waiting = _waiting(study, store)
    first = islice(waiting, 1)
    if clock.cost is None:  # time one case on its own, so that the rest can be foretold
        for answer in force.answers(chunks(study, first)):
            store.put(answer)
            say(clock.progress(answer))
    for answer in force.answers(chunks(study, chain(first, waiting))):
        store.put(answer)
        say(clock.progress(answer))


def _waiting(study: Study, store: Store) -> Iterator[Case]:
    """Yield the cases without an answer, each once; what is no mold is refused on the way."""
    handed: set[str] = set()
    for case in cases(study):
        if case.id in handed or store.state(case.id) is not None:
            continue
        if case.fault is not None:
            store.put(Answer(case.id, State.REFUSED, error=case.fault))
            continue
        handed.add(case.id)
        yield case


class Clock:
    """Foretells how long the rest of a run takes.

    Parameters
    ----------
    load : Load
    force : Workforce
    cost : (float, float) or None
        Mean time for a factor and for a solve, from earlier runs [s].
    """

    def __init__(self, load: Load, force: Workforce, cost: tuple[float, float] | None):
        self.load, self.force, self.cost = load, force, cost
        self.start = time.monotonic()
        self.finished = self.failed = 0
        self.work_s = 0.0

    def progress(self, answer: Answer | None = None) -> Progress:
        """Return how the run stands, after one more answer."""
        if answer is not None:
            self._note(answer)
        elapsed = time.monotonic() - self.start
        return Progress(
            self.load, self.finished, self.failed, elapsed, self._left_s(elapsed), self.force.most
        )

    def _note(self, answer: Answer) -> None:
        self.finished += 1
        self.failed += answer.state is not State.DONE
        self.work_s += answer.factor_s + answer.solve_s
        if self.cost is None and answer.state is State.DONE:
            self.cost = answer.factor_s, answer.solve_s

    def _left_s(self, elapsed: float) -> float:
        if self.cost is None:
            return float("nan")
        load, (made, solved) = self.load, self.cost
        whole = (load.sections * made + load.waiting * solved) / self.force.most
        done = self.finished / load.waiting
        foretold = whole * (1 - done)
        measured = elapsed * (1 / done - 1) if done else foretold
        return (1 - done) * foretold + done * measured  # trust the watch more, the longer it ran
