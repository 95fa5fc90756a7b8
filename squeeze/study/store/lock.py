"""The lock on a store: one run at a time may write to it."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from squeeze.study.store.contract import StoreFault
from squeeze.study.store.faults import faults_of

if sys.platform == "win32":
    import msvcrt

    def _take(file: int) -> None:
        msvcrt.locking(file, msvcrt.LK_NBLCK, 1)

else:
    import fcntl

    def _take(file: int) -> None:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)


class StoreLock:
    """The right to write to a study's store; a context manager.

    It is a lock of the system on a small file beside the store, so it ends with the process,
    whatever ends that. What is in the file does not matter.

    Parameters
    ----------
    store : Path
        Path of the store.

    Raises
    ------
    StoreFault
        When another run holds the lock, or the file beside the store cannot be made.
    """

    def __init__(self, store: Path):
        self.path = store.with_name(f"{store.name}.lock")
        with faults_of(self.path):
            self._file = os.open(self.path, os.O_RDWR | os.O_CREAT, 0o666)
            while not self._held(store):  # whoever held it has removed the file meanwhile
                os.close(self._file)
                self._file = os.open(self.path, os.O_RDWR | os.O_CREAT, 0o666)

    def _held(self, store: Path) -> bool:
        """Take the lock; return whether it is on the file that stands there now."""
        try:
            _take(self._file)
        except (BlockingIOError, PermissionError):
            os.close(self._file)
            raise StoreFault(
                f"{store}: another run of this study is under way; wait for it, or stop it"
            ) from None
        try:
            return os.path.samestat(os.fstat(self._file), os.stat(self.path))
        except FileNotFoundError:
            return False

    def __enter__(self) -> StoreLock:
        return self

    def __exit__(self, *_: object) -> None:
        """Remove the file while it is still locked, then let go: nobody else's lock is removed."""
        if sys.platform != "win32":  # there an open file cannot be removed; it is left
            self.path.unlink(missing_ok=True)
        os.close(self._file)
