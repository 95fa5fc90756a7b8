"""What can go wrong with a store's file, in sentences that say what to do."""

from __future__ import annotations

import errno
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from squeeze.study.store.contract import StoreFault

FULL_BYTES = 1 << 20
"""With less free space than this, a failed write is put down to a full disk [bytes]."""

_UNWRITTEN = (sqlite3.SQLITE_IOERR, sqlite3.SQLITE_CANTOPEN)


class DamagedStore(StoreFault):
    """The file of a store cannot be read all through. `open_store` keeps what can be read of it."""


@contextmanager
def faults_of(path: Path) -> Iterator[None]:
    """Turn whatever SQLite or the system reports on a store's file into a `StoreFault`.

    Parameters
    ----------
    path : Path
        The file.

    Raises
    ------
    DamagedStore
        When the file is damaged.
    StoreFault
        When the disk is full, the file is write-protected or locked, or anything else is wrong.
    """
    try:
        yield
    except sqlite3.Error as error:
        raise _sqlite_fault(path, error) from None
    except OSError as error:
        if isinstance(error, StoreFault):
            raise
        raise _system_fault(path, error) from None


def _sqlite_fault(path: Path, error: sqlite3.Error) -> StoreFault:
    code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_ERROR) & 0xFF
    if code == sqlite3.SQLITE_FULL or (code in _UNWRITTEN and _free_bytes(path) < FULL_BYTES):
        return _full(path)
    if code == sqlite3.SQLITE_NOTADB:
        return not_a_store(path)
    if code == sqlite3.SQLITE_CORRUPT:
        return DamagedStore(
            f"{path}: the store is damaged ({error}). Run the study again: what can be read of it"
            " is kept, and the rest is computed once more."
        )
    if code == sqlite3.SQLITE_READONLY:
        return StoreFault(f"{path}: the store is write-protected; make it writable, or copy it")
    if code == sqlite3.SQLITE_BUSY:
        return StoreFault(f"{path}: another program holds the store; try again when it is done")
    return StoreFault(f"{path}: the store cannot be used: {error}")


def not_a_store(path: Path) -> StoreFault:
    """Return the fault of a file that holds something else."""
    return StoreFault(f"{path}: is not the store of a study; move it away and run again")


def _system_fault(path: Path, error: OSError) -> StoreFault:
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return _full(path)
    return StoreFault(f"{path}: cannot be used: {error.strerror or error}")


def _full(path: Path) -> StoreFault:
    return StoreFault(
        f"{path}: the disk is full. Free some space and give the same command again: what was"
        " finished is kept."
    )


def _free_bytes(path: Path) -> int:
    try:
        return shutil.disk_usage(path.parent).free
    except OSError:
        return FULL_BYTES
