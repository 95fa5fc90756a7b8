"""The lock on a store: one run at a time may write to it."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from squeeze.study.store.contract import StoreFault


class StoreLock:
    """The right to write to a study's store: one run at a time has it.

    An exclusive transaction on a small file beside the store; the system lets go of it whatever
    ends the process.

    Parameters
    ----------
    store : Path
        Path of the store.

    Raises
    ------
    StoreFault
        When another run has it.
    """

    def __init__(self, store: Path):
        self.path = store.with_name(f"{store.name}.lock")
        self._db = sqlite3.connect(self.path, isolation_level=None, timeout=0)
        try:
            self._db.execute("begin exclusive")
        except sqlite3.OperationalError as error:
            self._db.close()
            raise StoreFault(f"{store}: another run of this study is under way ({error})") from None

    def __enter__(self) -> StoreLock:
        return self

    def __exit__(self, *_: object) -> None:
        with closing(self._db):
            self._db.execute("rollback")
        self.path.unlink(missing_ok=True)
