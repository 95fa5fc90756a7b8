"""From the models to the block: search every kind, compute the best in full, name a few."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import Any

from squeeze.design.answer import Design, DesignAnswer, DesignFigures
from squeeze.design.blocks.limits import Limits, limits_of
from squeeze.design.blocks.work import weight_of
from squeeze.design.certified.choose import Certified, chosen, is_like_one, order_of, to_certify
from squeeze.design.certified.more_bands import with_more_bands
from squeeze.design.jobs import (
    Job,
    certify_job,
    run_jobs,
    screen_job,
    screened_of,
    solver_of,
    write_down,
)
from squeeze.design.lifted import families_of, holds, lifted_blocks
from squeeze.design.models.read import check_models, has_block
from squeeze.design.search.drafts import Draft
from squeeze.design.search.given_up import Unfit
from squeeze.design.search.screen import Screened
from squeeze.design.search.search import Search
from squeeze.design.words.refusal import refusal_of
from squeeze.design.words.sentences import dropped_of, name_of, remarks_of, say_best, say_design
from squeeze.mold import Mold, dict_of, mold_of
from squeeze.mold.progress import Progress, silent
from squeeze.mold.tables.design import DesignTable
from squeeze.study import CaseAnswer, CaseState, MemoryStore, Store

FIRST, MORE, ROUNDS = 6, 3, 4
"""Blocks that are computed in full at first; more in each further round while too few hold."""

AS_LONG = 15
"""A block that is computed in full takes as long as so many on the coarse mesh."""

OWN = "the block of the file"

FEW = 3
"""Fewer blocks than this are no choice, and more are computed in full."""


def design_blocks(
    mold: Mold,
    wishes: DesignTable | dict[str, Any] | None = None,
    *,
    workers: int | None = None,
    scheduler: str | None = None,
    store: Store | None = None,
    progress: Progress = silent,
    on_best: Callable[[Design], None] | None = None,
) -> DesignAnswer:
    """Return blocks to pour about the models of a mold: a few different ones, the best first.

    Every kind of outline, arrangement and cradle that the wishes allow is searched on a coarse
    mesh at small deformation; the best are computed as `squeeze.close` does, in twelve variations
    of rubber, friction and pull, and along the block's length with its bands where they are.

    Parameters
    ----------
    mold : Mold
        Its cavities, its cuts if they are to be kept, rubber, resin, pot, and the bands at hand.
        What block, cradle, fillers and pushes it has does not matter; its block is compared.
    wishes : DesignTable or dict, optional
        Instead of the mold's own table ``[design]``; keys as there.
    workers : int, optional
        Processes on this machine; as many as it has cores unless given, 0 for none besides this.
    scheduler : str, optional
        Address of a Dask scheduler, whose workers compute instead.
    store : Store, optional
        Keeps what was computed, so that a search that was stopped goes on from there.
    progress : Progress
        Called with how far the search is and the best so far, in words, and the share done.
    on_best : callable, optional
        Called with a `Design` whenever a better one has been computed in full.

    Returns
    -------
    DesignAnswer
        The same for the same input. ``refusal`` says what binds where there is no block.

    Raises
    ------
    BadInput
        When there is no model, or a wish is not one that the file may hold.
    NoWorkers
        When no worker can be started or reached.

    Examples
    --------
    The lightest blocks about four barrels, round ones only::

        mold = squeeze.load("studies/barrels/barrels.toml")
        answer = squeeze.design_blocks(mold, {"outlines": ["round"]})
        print(answer.designs[0].say)
    """
    check_models(mold)
    asked = _asked(mold, wishes)
    design = _DesignRun(asked, store or MemoryStore(), progress, on_best)
    try:
        with solver_of(workers, scheduler) as solver:
            design.run(solver)
    except KeyboardInterrupt:
        return design.answer(is_complete=False)
    return design.answer(is_complete=True)


def _asked(mold: Mold, wishes: DesignTable | dict[str, Any] | None) -> Mold:
    """Return the mold with the wishes in it."""
    if wishes is None:
        return mold
    given = wishes if isinstance(wishes, dict) else wishes.model_dump(exclude_unset=True)
    return mold_of(dict_of(mold) | {"design": given})


class _DesignRun:
    """A design under way: what it has found so far."""

    def __init__(
        self,
        mold: Mold,
        store: Store,
        progress: Progress,
        on_best: Callable[[Design], None] | None,
    ) -> None:
        self.mold, self.store, self.progress, self.on_best = mold, store, progress, on_best
        self.limits: Limits = limits_of(mold)
        self.wishes = self.limits.wishes
        self.search = Search(mold, self.limits, families_of(mold))
        self.jobs: list[Job] = []
        self.certified: list[Certified] = []
        self.failed: list[tuple[Draft, str]] = []
        self.given: DesignFigures | None = None
        self.count = 0
        self.best: Certified | None = None
        self.lifted: dict[str, list[Draft]] = {}

    def run(self, solver: Any) -> None:
        """Search all kinds of block, then compute the best in full, round by round."""
        self.search.run(partial(self._screen, solver))
        waiting = to_certify(self.drafts, self.step_g)
        for number in range(ROUNDS):
            waiting = [draft for draft in waiting if not is_like_one(draft, self.certified)]
            size = MORE if number else FIRST
            batch, waiting = waiting[:size], waiting[size:]
            if not batch or (number and len(self._chosen()) >= FEW):
                break
            again = self._certify(solver, batch)
            self._certify(solver, again, last=True)
        if not self.certified:
            found = self.search.found
            self.lifted = lifted_blocks(self.mold, found, self.store, solver, self.progress)

    def _screen(self, solver: Any, molds: Sequence[dict[str, Any]]) -> list[Screened | Unfit]:
        """Screen blocks side by side; return what the coarse mesh says, in their own order."""
        jobs = [screen_job(data, self.limits, "block on a coarse mesh") for data in molds]
        self.jobs += jobs
        write_down(self.jobs, self.store)
        done: dict[str, Screened | Unfit] = {}
        for job, answer in run_jobs(jobs, self.store, solver):
            done[job.id] = screened_of(answer)
            tried = self.search.tried + len(done)
            self._tell(f"{tried} blocks tried, of {self.search.most} at most")
        return [done[job.id] for job in jobs]

    @property
    def drafts(self) -> list[Draft]:
        """All blocks that hold on the coarse mesh, with their numbers of bands."""
        return self.search.drafts

    @property
    def step_g(self) -> float:
        """What a step of work counts for [g]."""
        lightest = min((draft.rubber_g for draft in self.drafts), default=1.0)
        return weight_of(self.wishes, self.mold.rubber.price_per_kg, lightest)

    def _own_job(self) -> list[Job]:
        """Return the job of computing the block of the file, to compare; none where it has none."""
        if not has_block(self.mold) or not self.mold.cut or not self.mold.band:
            return []
        return [certify_job(self.mold.model_copy(update={"design": None}), self.wishes, OWN)]

    def _certify(self, solver: Any, drafts: Sequence[Draft], last: bool = False) -> list[Draft]:
        """Compute blocks in full; return those that just miss, with more bands, unless `last`."""
        own = self._own_job() if self.count == 0 else []
        jobs = [certify_job(mold_of(d.data), self.wishes, d.kind) for d in drafts]
        by_id = {job.id: draft for job, draft in zip(jobs, drafts, strict=True)}
        done: dict[str, Certified] = {}
        try:
            self._take(run_jobs([*jobs, *own], self.store, solver), by_id, done)
        except KeyboardInterrupt:  # what was finished is part of the answer
            blocks = [done[job.id] for job in jobs if job.id in done]
            self.certified += [block for block in blocks if self._holds(block.figures)]
            raise
        again = []
        for job, draft in zip(jobs, drafts, strict=True):  # in their own order, not as they came
            block = done.get(job.id)
            if block is None:
                continue
            if self._holds(block.figures):
                self.certified.append(block)
            elif not last and (more := with_more_bands(block, self.limits)) is not None:
                again.append(more)
            else:
                self.failed.append((draft, "does not hold on the fine mesh or between the bands"))
        return again

    def _take(
        self,
        answers: Iterator[tuple[Job, CaseAnswer]],
        by_id: dict[str, Draft],
        done: dict[str, Certified],
    ) -> None:
        """Take the certificates as they come."""
        for job, answer in answers:
            if job.words == OWN:
                if answer.state is CaseState.DONE:
                    self.given = DesignFigures(**answer.measures["figures"])
                continue
            self.count += 1
            draft = by_id[job.id]
            if answer.state is not CaseState.DONE:
                self.failed.append((draft, "no answer on the fine mesh"))
                continue
            figures = DesignFigures(**answer.measures["figures"])
            done[job.id] = Certified(draft, mold_of(draft.data), figures)
            if self._holds(figures):
                self._note(done[job.id])
            self._tell(f"{self.count} blocks computed in full")

    def _holds(self, figures: DesignFigures) -> bool:
        return holds(figures, self.wishes)

    def _note(self, block: Certified) -> None:
        if self.best is None or order_of(block, self.step_g) < order_of(self.best, self.step_g):
            self.best = block
            if self.on_best is not None:
                said = say_best(block)
                name = name_of(block.mold)
                self.on_best(Design(1, name, block.draft.kind, said, block.mold, block.figures))

    def _tell(self, what: str) -> None:
        every = self.search.most + FIRST * AS_LONG
        done = self.search.tried + min(self.count, FIRST) * AS_LONG
        best = ""
        if self.best is not None:
            best = f"; best so far: {say_best(self.best)}"
        elif self.drafts:
            draft = min(self.drafts, key=lambda d: d.rubber_g)
            best = f"; lightest so far: {name_of(mold_of(draft.data))}, {draft.rubber_g:.0f} g"
        self.progress(what + best, min(done / every, 1.0))

    def _chosen(self) -> list[Certified]:
        return chosen(self.certified, self.wishes.designs, self.step_g)

    def answer(self, is_complete: bool) -> DesignAnswer:
        """Return the answer, as far as the search has come."""
        known = self._chosen()
        found = self.search.found
        designs = tuple(
            Design(
                k,
                name_of(block.mold),
                block.draft.kind,
                say_design(k, block, known),
                _titled(block.mold, self.mold, k, name_of(block.mold)),
                block.figures,
            )
            for k, block in enumerate(known, start=1)
        )
        refusal = None
        if not designs and is_complete:
            refusal = refusal_of(self.mold, self.limits, found, self.failed, self.lifted)
        return DesignAnswer(
            title=self.mold.title,
            designs=designs,
            given=self.given,
            tried=sum(each.tried for each in found),
            certified=self.count,
            dropped=dropped_of(found, self.failed),
            remarks=remarks_of(found, known, self.given, self.mold, is_complete),
            refusal=refusal,
            is_complete=is_complete,
        )


def _titled(mold: Mold, base: Mold, number: int, name: str) -> Mold:
    title = f"{base.title}: {number}, {name}" if base.title else f"{number}, {name}"
    return mold.model_copy(update={"title": title[:200]})
