"""Opening a store to write to it; of a damaged one what can be read is kept."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from itertools import count
from pathlib import Path

from squeeze.study.records import CaseAnswer
from squeeze.study.store.answer_row import answer_of, is_sound
from squeeze.study.store.faults import DamagedStore, faults_of
from squeeze.study.store.lock import StoreLock
from squeeze.study.store.sqlite import SqliteStore

DEEPEST = 3
"""Digits of a case's id by which a damaged table is searched, part by part. What cannot be read
costs at least 1/4096 of the answers."""

_ANSWERS = "select checksum, id, state, outcome, measures, error, factor_s, solve_s from answer"


@dataclass(frozen=True)
class Repair:
    """What became of a damaged store.

    Attributes
    ----------
    kept : int
        Answers that were read and kept.
    broken : int
        Answers that were there, but not as they had been written.
    moved_to : Path or None
        Where the damaged file is now, when the file itself could not be read all through. How
        many answers are lost is not known then.
    """

    kept: int
    broken: int
    moved_to: Path | None = None


@contextmanager
def open_store(path: Path) -> Iterator[SqliteStore]:
    """Open a store to write to it, and hold its lock.

    A damaged file is moved aside, to ``NAME.damaged``. What can be read of it goes into a new one.
    Answers that are not as they were written are dropped. `SqliteStore.repair` says which happened.

    Parameters
    ----------
    path : Path
        The store; it is made when there is none.

    Yields
    ------
    SqliteStore

    Raises
    ------
    StoreFault
        When another run holds the lock, the file is not a store, or the disk is full.
    """
    with StoreLock(path), closing(_opened(path)) as store:
        yield store


def _opened(path: Path) -> SqliteStore:
    fresh = path.with_name(f"{path.name}.new")
    with faults_of(path):
        if fresh.exists() and not path.exists():  # a repair was broken off at its last step
            os.replace(fresh, path)
        _remove(fresh)
    try:
        with closing(SqliteStore(path)) as store:
            store.check()
    except DamagedStore:
        return _renewed(path, fresh)
    store = SqliteStore(path)
    broken = store.drop_broken()
    if broken:
        store.repair = Repair(sum(1 for _ in store.answers()), broken)
    return store


def _renewed(path: Path, fresh: Path) -> SqliteStore:
    """Put what can be read into a new file, then exchange the two."""
    found = _readable(path)
    with closing(SqliteStore(fresh)) as store:
        store.put_all(found.values())
    aside = _free_name(path.with_name(f"{path.name}.damaged"))
    with faults_of(path):
        for end in ("-wal", "-shm"):
            log = path.with_name(path.name + end)
            if log.exists():
                os.replace(log, aside.with_name(aside.name + end))
        os.replace(path, aside)
        os.replace(fresh, path)
    store = SqliteStore(path)
    store.repair = Repair(len(found), 0, aside)
    return store


def _readable(path: Path) -> dict[str, CaseAnswer]:
    """Return the answers of a damaged file that are as they were written, by id."""
    found: dict[str, CaseAnswer] = {}
    with closing(sqlite3.connect(path, timeout=30)) as db:
        db.text_factory = lambda data: data.decode(errors="replace")
        _read(db, "", found)
    return found


def _read(db: sqlite3.Connection, start: str, found: dict[str, CaseAnswer]) -> None:
    """Read the answers whose ids begin with `start`; part by part where that fails."""
    end = start + "g"  # the letter after the last hexadecimal digit
    try:
        for row in db.execute(f"{_ANSWERS} where id >= ? and id < ?", [start, end]):
            _keep(row, found)
    except sqlite3.Error:
        if len(start) < DEEPEST and _is_there(db):
            for digit in "0123456789abcdef":
                _read(db, start + digit, found)
        elif len(start) == DEEPEST:
            _read_singly(db, start, end, found)


def _read_singly(
    db: sqlite3.Connection, start: str, end: str, found: dict[str, CaseAnswer]
) -> None:
    """Read answers one by one from either end, up to the place that cannot be read."""
    with suppress(sqlite3.Error):
        after = [start, end]
        query = f"{_ANSWERS} where id >= ? and id < ? order by id limit 1"
        while row := db.execute(query, after).fetchone():
            _keep(row, found)
            after[0] = row[1] + " "  # sorts before anything that is longer
    with suppress(sqlite3.Error):
        before = [start, end]
        query = f"{_ANSWERS} where id >= ? and id < ? order by id desc limit 1"
        while row := db.execute(query, before).fetchone():
            _keep(row, found)
            before[1] = row[1]


def _keep(row: tuple, found: dict[str, CaseAnswer]) -> None:
    checksum, *fields = row
    if is_sound(checksum, *fields):
        found[fields[0]] = answer_of(*fields)


def _is_there(db: sqlite3.Connection) -> bool:
    """Return whether the table of answers is known, so that it is worth searching part by part."""
    try:
        return (
            db.execute("select 1 from sqlite_master where name = 'answer'").fetchone() is not None
        )
    except sqlite3.Error:
        return False


def _free_name(path: Path) -> Path:
    names = (path if k == 1 else path.with_name(f"{path.name}-{k}") for k in count(1))
    return next(name for name in names if not name.exists())


def _remove(path: Path) -> None:
    for end in ("", "-wal", "-shm"):
        path.with_name(path.name + end).unlink(missing_ok=True)
