"""A whole study in one call from Python."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from squeeze.mold.progress import Progress, silent
from squeeze.study.own_measures import OwnMeasure
from squeeze.study.plan.load import load_study
from squeeze.study.runner.progress import RunProgress
from squeeze.study.runner.run import run
from squeeze.study.store.repair import open_store
from squeeze.study.table import frame_of, store_path

if TYPE_CHECKING:
    import pandas


def run_study(
    path: str | Path,
    *,
    own_measures: Mapping[str, OwnMeasure] | None = None,
    workers: int | None = None,
    scheduler: str | None = None,
    retry_failed: bool = False,
    progress: Progress = silent,
) -> pandas.DataFrame:
    """Run a study, or go on where it was stopped, and return its table.

    Answers are kept beside the study file, as `squeeze study` keeps them.

    Parameters
    ----------
    path : str or Path
        A study file, or a folder with a ``study.toml``.
    own_measures : dict of callable, optional
        Functions by the name of their column: each takes the `Closing` of a case and returns a
        number, a text, a bool, or None. They run in other processes.
    workers : int, optional
        Processes on this machine; as many as it has cores unless given.
    scheduler : str, optional
        Address of a Dask scheduler, whose workers compute instead.
    retry_failed : bool
        Whether cases that failed or were refused are tried again.
    progress : Progress
        Called with the cases so far, in words, and their share of all that are to be computed.

    Returns
    -------
    pandas.DataFrame
        As from `read_study`.

    Raises
    ------
    BadInput
        With every fault in the study file.
    OwnMeasureFault
        When a function cannot be sent to another process. One that fails for a case fails that
        case: the column ``error`` says why.
    NoWorkers
        When no worker can be started or reached.
    StoreFault
        When the answers cannot be read or written.
    NeedsExtra
        When pandas is not installed.

    Examples
    --------
    How wide the inner web of the barrels stands open, for a few frictions::

        def web_mm(closing):
            return closing.lands[2].largest_gap_mm

        table = squeeze.run_study("frictions.toml", own_measures={"web_mm": web_mm})
    """
    frame_of(())  # say at once what is missing, not when all is computed
    study = load_study(path, own_measures)
    assert study.path is not None

    def report(stand: RunProgress) -> None:
        every = stand.workload.waiting
        failed = f", {stand.failed} failed" if stand.failed else ""
        progress(f"{stand.finished} of {every} cases{failed}", stand.finished / max(1, every))

    with open_store(store_path(study.path)) as store:
        run(
            study,
            store,
            workers=workers,
            scheduler=scheduler,
            retry_failed=retry_failed,
            on_progress=report,
        )
        return frame_of(store.rows())
