"""The work behind `squeeze study`: reading, running with progress, telling, writing."""

from __future__ import annotations

import signal
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

from squeeze.show.study.table import (
    count_words,
    duration,
    failed_words,
    planned_words,
    study_table,
    time_words,
)
from squeeze.show.write import check_places, write_all
from squeeze.study import (
    Count,
    MemoryStore,
    SqliteStore,
    Store,
    Study,
    Turn,
    load_study,
    run,
    store_path,
    write_csv,
    write_parquet,
)
from squeeze.study import Progress as Stand
from squeeze.study.run import copied, planned

WIDTH = 160
"""Letters in a line where the output is no screen."""

STOPPED = 130
"""Exit status after Ctrl-C (common practice of shells: 128 + number of the signal)."""


@dataclass(frozen=True)
class Wish:
    """What was asked for on the command line."""

    path: Path
    workers: int | None = None
    scheduler: str | None = None
    retry_failed: bool = False
    csv: Path | None = None
    parquet: Path | None = None
    figures: bool = True


def show_status(path: Path) -> int:
    """Tell how a study stands, without computing or writing anything."""
    study = load_study(path)
    store = _stand(study)
    _tell(study, store, store.count())
    return 0


def _stand(study: Study) -> Store:
    """Return what the store holds of the study as it stands in its file."""
    found = MemoryStore()
    assert study.path is not None
    place = store_path(study.path)
    if place.exists():
        with closing(SqliteStore(place)) as store:
            copied(store, found)
    planned(study, found)
    return found


def run_study(wish: Wish) -> int:
    """Run a study and return the exit status: 0 done, 1 some cases failed, 130 stopped."""
    study = load_study(wish.path)
    assert study.path is not None
    outputs = [path for path in (wish.csv, wish.parquet) if path is not None]
    check_places(outputs, study.path)
    place = store_path(study.path)
    with Turn(place), closing(SqliteStore(place)) as store:
        stopped = not _ran(study, store, wish)
        count = store.count()
        _tell(study, store, count)
        if stopped:
            print("Stopped. Nothing that was finished is lost; the same command goes on from here.")
            return STOPPED
        write_all(_writers(study, store, wish, count))
    return 1 if count.failed else 0


def _ran(study: Study, store: Store, wish: Wish) -> bool:
    """Run; return False when it was stopped."""
    with _screen() as screen, _terminable():
        try:
            run(
                study,
                store,
                workers=wish.workers,
                scheduler=wish.scheduler,
                retry_failed=wish.retry_failed,
                tell=partial(_step, study, screen),
            )
        except KeyboardInterrupt:
            return False
    return True


@contextmanager
def _terminable() -> Iterator[None]:
    """Let a request to end (SIGTERM) stop the run as Ctrl-C does."""

    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGTERM, stop)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


@dataclass
class Screen:
    """The progress line, and what has been said already."""

    bar: Progress
    task: Any
    planned: bool = False
    timed: bool = False

    def say(self, text: str) -> None:
        """Print a line above the progress line."""
        self.bar.console.print(text, markup=False, highlight=False, soft_wrap=True)


@contextmanager
def _screen() -> Iterator[Screen]:
    columns = (BarColumn(30), MofNCompleteColumn(), TextColumn("{task.fields[left]}"))
    console = Console(stderr=True)
    with Progress(
        *columns, console=console, transient=True, disable=not console.is_terminal
    ) as bar:
        yield Screen(bar, bar.add_task("", total=None, left=""))


def _step(study: Study, screen: Screen, stand: Stand) -> None:
    if not screen.planned:
        screen.planned = True
        screen.say(planned_words(stand, study))
    if not screen.timed and stand.left_s == stand.left_s:  # not NaN
        screen.timed = True
        screen.say(time_words(stand))
    failed = f", {stand.failed} failed" if stand.failed else ""
    left = f"{duration(stand.left_s)} left" if stand.left_s == stand.left_s else "timing a case"
    screen.bar.update(
        screen.task, total=stand.load.waiting, completed=stand.finished, left=left + failed
    )


def _tell(study: Study, store: Store, count: Count) -> None:
    screen = Console(highlight=False)
    say = partial(screen.print, markup=False, soft_wrap=True)
    say(count_words(count), style="bold")
    for line in failed_words(store.rows(), study):
        say(line)
    if count.planned <= 40 and count.missing < count.planned:
        width = screen.width = screen.width if screen.is_terminal else WIDTH
        table = study_table(list(store.rows()), study, width)
        if table is not None:
            screen.print(table)


Writers = dict[Path, Callable[[Path], Any]]


def _writers(study: Study, store: Store, wish: Wish, count: Count) -> Writers:
    """Return what writes each file that was asked for here or in the study file."""
    assert study.path is not None
    found: Writers = {}
    if study.file.table and not count.missing:
        found[study.path.with_name(study.file.table)] = partial(write_csv, store)
    if wish.csv:
        found[wish.csv] = partial(write_csv, store)
    if wish.parquet:
        found[wish.parquet] = partial(write_parquet, store)
    if wish.figures and study.file.figure:
        from squeeze.show.study.figures import figure_writers

        found |= figure_writers(study, list(store.rows()))
    for path in found:
        print(f"Writes {path}")
    return found
