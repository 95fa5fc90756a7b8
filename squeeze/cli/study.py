"""The command `squeeze study`: read, run with progress, report, write."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing, contextmanager
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from squeeze.cli.preamble import (
    ANSWERS_LOST,
    DONE,
    SOME_FAILED,
    STOPPED,
    Scheduler,
    Voice,
    Workers,
    stoppable,
)

if TYPE_CHECKING:
    from rich.progress import Progress as Bar
    from rich.progress import TaskID

    from squeeze.show.write import Writers
    from squeeze.study import CaseCounts, RunProgress, Store, Study
    from squeeze.study.runner.progress import OnProgress

WIDTH = 160
"""Letters in a line where the output is no screen."""

MOST_ROWS = 40
"""So many cases are printed as a table; more only go into files."""


def study(
    file: Annotated[
        Path,
        typer.Argument(metavar="STUDY.toml", help="The study file, or a folder with study.toml."),
    ],
    status: Annotated[
        bool, typer.Option("--status", metavar="", help="Show the progress; compute nothing.")
    ] = False,
    workers: Workers = None,
    scheduler: Scheduler = None,
    retry_failed: Annotated[
        bool, typer.Option("--retry-failed", metavar="", help="Try failed cases again.")
    ] = False,
    csv: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write the table as CSV.")
    ] = None,
    parquet: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write the table as Parquet.")
    ] = None,
    figures: Annotated[
        bool, typer.Option("--figures/--no-figures", help="Draw the figures of the study file.")
    ] = True,
    inches: Annotated[
        bool,
        typer.Option(
            "--inches", metavar="", help="Give table and figures in inches. Files stay in mm."
        ),
    ] = False,
) -> int:
    """Run a sweep over molds. What is in the store already is not computed again."""
    from squeeze.show.study.table import repair_words
    from squeeze.show.write import check_places, write_all
    from squeeze.study import load_study, open_store, store_path

    read = load_study(file)
    voice = Voice(csv, parquet, width=WIDTH, widest=True, inches=inches)
    assert read.path is not None
    if status:
        return _print_status(read, voice, inches)
    place = store_path(read.path)
    check_places([place, *(path for path in (csv, parquet) if path is not None)], read.path)
    with open_store(place) as store:
        if store.repair is not None:
            voice.say(repair_words(store.repair))
        with _screen() as screen:
            report = partial(screen.step, read)
            stopped = not _ran(read, store, report, workers, scheduler, retry_failed)
        count = store.count()
        _print_answer(read, store, count, voice, inches)
        if stopped:
            voice.say("Stopped. What was finished is kept; the same command goes on from here.")
            return STOPPED
        writers = _writers(read, store, csv, parquet, count)
        if figures and read.file.figure:
            from squeeze.show.study.figures import figure_writers

            writers |= figure_writers(read, list(store.rows()), inches)
        write_all(writers)
        voice.say_all(f"Wrote {path}." for path in writers)
    if store.repair is not None:
        return ANSWERS_LOST
    return SOME_FAILED if count.failed else DONE


def _print_status(study: Study, voice: Voice, inches: bool) -> int:
    """Report what the store holds of the study as it stands in its file; return the exit status."""
    from squeeze.show.study.table import broken_words
    from squeeze.study import MemoryStore, SqliteStore, store_path, write_plan
    from squeeze.study.runner.run import copy_answers

    found, broken = MemoryStore(), 0
    assert study.path is not None
    place = store_path(study.path)
    if place.exists():
        with closing(SqliteStore(place)) as store:
            copy_answers(store, found)
            broken = store.broken_count()
    write_plan(study, found)
    _print_answer(study, found, found.count(), voice, inches)
    if not broken:
        return DONE
    voice.say(broken_words(broken))
    return ANSWERS_LOST


def _ran(
    study: Study,
    store: Store,
    report: OnProgress,
    workers: int | None,
    scheduler: str | None,
    retry_failed: bool,
) -> bool:
    """Run; return False when it was stopped."""
    from squeeze.study import run

    with stoppable():
        try:
            run(
                study,
                store,
                workers=workers,
                scheduler=scheduler,
                retry_failed=retry_failed,
                on_progress=report,
            )
        except KeyboardInterrupt:
            return False
    return True


class Screen:
    """The progress line of a run, and the lines above it."""

    def __init__(self, bar: Bar, task: TaskID) -> None:
        self.bar, self.task = bar, task
        self.planned = self.timed = False

    def say(self, text: str) -> None:
        """Print a line above the progress line."""
        self.bar.console.print(text, soft_wrap=True)

    def step(self, study: Study, stand: RunProgress) -> None:
        """Show how a run stands."""
        from squeeze.show.study.table import duration, planned_words, time_words

        timed = stand.left_s == stand.left_s  # not NaN
        if not self.planned:
            self.planned = True
            self.say(planned_words(stand, study))
        if not self.timed and timed:
            self.timed = True
            self.say(time_words(stand))
        failed = f", {stand.failed} failed" if stand.failed else ""
        left = f"{duration(stand.left_s)} left" if timed else "timing a case"
        self.bar.update(
            self.task, total=stand.workload.waiting, completed=stand.finished, left=left + failed
        )


@contextmanager
def _screen() -> Iterator[Screen]:
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, TextColumn
    from rich.progress import Progress as Bar

    columns = (BarColumn(30), MofNCompleteColumn(), TextColumn("{task.fields[left]}"))
    console = Console(stderr=True, highlight=False, markup=False, emoji=False)
    with Bar(*columns, console=console, transient=True, disable=not console.is_terminal) as bar:
        yield Screen(bar, bar.add_task("", total=None, left=""))


def _print_answer(
    study: Study, store: Store, count: CaseCounts, voice: Voice, inches: bool
) -> None:
    from squeeze.show.study.table import accuracy_words, count_words, failed_words, study_table

    voice.say(count_words(count), style="bold")
    voice.say_all(failed_words(store.rows(), study, inches))
    if count.done:
        voice.say(accuracy_words(study))
    if count.planned <= MOST_ROWS and count.missing < count.planned:
        table = study_table(list(store.rows()), study, voice.screen.width, inches)
        if table is not None:
            voice.show(table)


def _writers(
    study: Study, store: Store, csv: Path | None, parquet: Path | None, count: CaseCounts
) -> Writers:
    """Return what writes each table that was asked for here or in the study file."""
    from squeeze.study import write_csv, write_parquet

    assert study.path is not None
    found: Writers = {}
    if study.file.table and not count.missing:
        found[study.path.with_name(study.file.table)] = partial(write_csv, store)
    if csv:
        found[csv] = partial(write_csv, store)
    if parquet:
        found[parquet] = partial(write_parquet, store)
    return found
