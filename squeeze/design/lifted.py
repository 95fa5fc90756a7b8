"""Where nothing fits: blocks that hold once one limit is lifted, to say by how much it has to give.

What a refusal promises is computed in full, as everything that is told.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from squeeze.design.answer import DesignFigures
from squeeze.design.blocks.family import Family, families
from squeeze.design.blocks.limits import limits_of
from squeeze.design.jobs import certify_job, how_cut, run_jobs, screen_job, screened_of
from squeeze.design.models.group import models_of
from squeeze.design.models.read import has_block
from squeeze.design.search.drafts import Draft, Found
from squeeze.design.search.given_up import Unfit
from squeeze.design.search.screen import Screened
from squeeze.design.search.search import Search
from squeeze.design.words.refusal import least_change, relaxed
from squeeze.mold import Mold, mold_of
from squeeze.mold.progress import Progress
from squeeze.mold.tables.design import DesignTable
from squeeze.study import CaseState, Store

AT_ONCE, ROUNDS = 2, 4
"""Blocks that are computed in full side by side to find one that holds, and how often; they are
the first of so many kinds."""


def families_of(mold: Mold) -> list[Family]:
    """Return every kind of block about the models of a mold."""
    return list(families(models_of(mold, has_block(mold)), limits_of(mold), how_cut(mold)))


def holds(figures: DesignFigures, wishes: DesignTable) -> bool:
    """Return whether a block that was computed in full seals as the wishes ask."""
    return figures.margin >= wishes.least_margin * (1 - 1e-9) and figures.seals_in == 12


def lifted_blocks(
    mold: Mold, found: Sequence[Found], store: Store, solver: Any, progress: Progress
) -> dict[str, list[Draft]]:
    """Search once more with one limit lifted at a time.

    Parameters
    ----------
    mold : Mold
    found : sequence of Found
        Of every kind that was searched in vain.
    store : Store
    solver : BatchSolver
    progress : Progress

    Returns
    -------
    dict
        By the reason for which blocks were given up, the one that asks its limit to give least;
        an empty list where none holds.
    """
    known: list[tuple[Mold, list[Draft]]] = []
    blocks: dict[str, list[Draft]] = {}
    for reason, free in relaxed(mold, found).items():
        progress("nothing fits; looking for the least change that would do")
        drafts = next((drafts for other, drafts in known if other == free), None)
        if drafts is None:
            drafts = _searched(free, store, solver)
            known.append((free, drafts))
        blocks[reason] = _first_that_holds(least_change(reason, drafts), free, store, solver)
    return blocks


def _searched(mold: Mold, store: Store, solver: Any) -> list[Draft]:
    limits = limits_of(mold)
    search = Search(mold, limits, families_of(mold))

    def compute(molds: Sequence[dict[str, Any]]) -> list[Screened | Unfit]:
        jobs = [screen_job(data, limits, "block with a limit lifted") for data in molds]
        answers = {job.id: answer for job, answer in run_jobs(jobs, store, solver)}
        return [screened_of(answers[job.id]) for job in jobs]

    search.run(compute)
    return search.drafts


def _first_that_holds(
    drafts: Sequence[Draft], mold: Mold, store: Store, solver: Any
) -> list[Draft]:
    """Return the first block that holds when computed in full; of each kind one is asked."""
    wishes = limits_of(mold).wishes
    by_kind: dict[str, Draft] = {}
    for draft in drafts:
        by_kind.setdefault(draft.kind, draft)
    waiting = list(by_kind.values())[: AT_ONCE * ROUNDS]
    while waiting:
        batch, waiting = waiting[:AT_ONCE], waiting[AT_ONCE:]
        jobs = [certify_job(mold_of(draft.data), wishes, draft.kind) for draft in batch]
        answers = {job.id: answer for job, answer in run_jobs(jobs, store, solver)}
        for draft, job in zip(batch, jobs, strict=True):
            answer = answers[job.id]
            done = answer.state is CaseState.DONE
            if done and holds(DesignFigures(**answer.measures["figures"]), wishes):
                return [draft]
    return []
