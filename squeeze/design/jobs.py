"""What is computed elsewhere, by worker processes: coarse blocks and certificates, kept in a store.

A job is a case of a study whose answer is computed by a function of this room. Its identity is a
hash of what it is given and of the code that computes it, so a search that is started again finds
in the store what was finished.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import AbstractContextManager, nullcontext
from dataclasses import asdict, dataclass
from functools import cache
from hashlib import sha256
from importlib.resources import files
from typing import Any

from squeeze.design.blocks.limits import BandAtHand, Limits
from squeeze.design.certified.certify import certify
from squeeze.design.search.given_up import UNSOLVED, Unfit
from squeeze.design.search.screen import LINES, Linear, Screened, screen
from squeeze.mold import Mold, dict_of, mold_of
from squeeze.mold.tables.design import DesignTable
from squeeze.study import CaseAnswer, CaseState, Store
from squeeze.study.plan.numerics import numerics, trees
from squeeze.study.records import Batch, Case, Data
from squeeze.study.runner.run import BatchSolver
from squeeze.study.runner.solve_batch import BlockCache, solve_batch

TIMEOUT_S = 900.0
"""A job that takes longer is given up [s]."""


@dataclass(frozen=True)
class Job:
    """Something to compute.

    Attributes
    ----------
    compute : callable
    data : dict
        What it is given; plain data.
    words : str
    """

    compute: Callable[[Data], Data]
    data: Data
    words: str

    @property
    def id(self) -> str:
        """Hash of what its answer depends on."""
        given = json.dumps([self.compute.__name__, self.data], sort_keys=True)
        return sha256(f"{numerics()}\n{_own_code()}\n{given}".encode()).hexdigest()


@cache
def _own_code() -> str:
    digest = sha256()
    for tree in trees(files("squeeze").joinpath("design"), "design"):
        digest.update(tree.encode())
    return digest.hexdigest()


def screen_job(data: Data, limits: Limits, words: str) -> Job:
    """Return the job of screening a block on a coarse mesh.

    Parameters
    ----------
    data : dict
        A whole mold.
    limits : Limits
    words : str
        What the kind of block is called.
    """
    given = {
        "mold": plain(data),
        "wishes": plain(limits.wishes.model_dump(exclude_unset=True)),
        "bands": [plain(asdict(kind)) for kind in limits.bands],
    }
    return Job(screen_here, given, words)


def screen_here(data: Data) -> Data:
    """Screen a block: what a worker does.

    `data` has the tables ``mold`` and ``wishes``, and the kinds of ``bands`` at hand.
    """
    bands = tuple(BandAtHand(**kind) for kind in data["bands"])
    wishes = DesignTable.model_validate(data["wishes"])
    limits = Limits(wishes, bands, data["mold"]["length_mm"], has_own_cuts=False)
    try:
        return {"screened": asdict(screen(data["mold"], limits))}
    except Unfit as unfit:
        needs = unfit.needs if math.isfinite(unfit.needs) else None
        return {"unfit": [unfit.reason, needs, unfit.is_computed]}


def screened_of(answer: CaseAnswer) -> Screened | Unfit:
    """Return what a coarse mesh says of a block, from the answer."""
    if answer.state is not CaseState.DONE:
        return Unfit(UNSOLVED, is_computed=True)
    if "unfit" in answer.measures:
        reason, needs, is_computed = answer.measures["unfit"]
        return Unfit(reason, math.nan if needs is None else needs, is_computed)
    data = dict(answer.measures["screened"])
    for name in LINES:
        line = data[name]
        data[name] = Linear(tuple(line["at"]), tuple(line["values"]))
    data["bands"] = tuple((BandAtHand(**kind), most) for kind, most in data["bands"])
    return Screened(**data)


def certify_job(mold: Mold, wishes: DesignTable, words: str) -> Job:
    """Return the job of certifying a block.

    Parameters
    ----------
    mold : Mold
    wishes : DesignTable
    words : str
        What the kind of block is called.
    """
    given = {"mold": plain(dict_of(mold)), "wishes": plain(wishes.model_dump(exclude_unset=True))}
    return Job(certify_here, given, words)


def certify_here(data: Data) -> Data:
    """Certify a block: what a worker does.

    `data` has the tables ``mold`` and ``wishes``.
    """
    wishes = DesignTable.model_validate(data["wishes"])
    return {"figures": asdict(certify(mold_of(data["mold"]), wishes))}


def how_cut(mold: Mold) -> Data:
    """Return the keys that free cuts share: those of the file's first cut, if it has one."""
    keys = ("friction", "faces", "bow_mm")
    first = dict_of(mold).get("cut", [{}])
    return {key: first[0][key] for key in keys if first and key in first[0]}


def plain(data: Any) -> Any:
    """Return data as JSON gives it back."""
    return json.loads(json.dumps(data))


class InProcess:
    """Computes in this process, one job after the other."""

    capacity = 1

    def answers(self, batches: Iterable[Batch]) -> Iterator[CaseAnswer]:
        """Yield the answers."""
        for batch in batches:
            yield from solve_batch(batch, BlockCache())


def solver_of(workers: int | None, scheduler: str | None) -> AbstractContextManager[Any]:
    """Return who computes: processes of this machine, a cluster, or with 0 workers this process.

    `workers` None takes a process for each core. `scheduler` is the address of the cluster's Dask
    scheduler; with one, `workers` does not count.
    """
    if scheduler is not None:
        from squeeze.study.runner.dask_cluster import DaskCluster

        return DaskCluster(scheduler, TIMEOUT_S)
    if workers == 0:
        return nullcontext(InProcess())
    from squeeze.study.runner.worker_pool import WorkerPool, cores

    return WorkerPool(workers or cores(), TIMEOUT_S)


def run_jobs(
    jobs: Sequence[Job], store: Store, solver: BatchSolver | InProcess
) -> Iterator[tuple[Job, CaseAnswer]]:
    """Yield jobs with their answers: first those in the store, then the others as they come."""
    by_id = {job.id: job for job in jobs}
    known = {answer.id: answer for answer in store.answers() if answer.id in by_id}
    for identity, answer in known.items():
        yield by_id[identity], answer
    left = [job for identity, job in by_id.items() if identity not in known]
    batches = (Batch(((job.id, job.data),), job.id, (), compute=job.compute) for job in left)
    for answer in solver.answers(batches):
        store.put(answer)
        yield by_id[answer.id], answer


def write_down(jobs: Sequence[Job], store: Store) -> None:
    """Put the jobs down in the store, so that it can say what it holds."""
    cases = (Case(j.id, k, {"job": j.words}, {}, j.id) for k, j in enumerate(jobs))
    store.plan(("job",), (), cases)
