"""The store that outlives every run: an SQLite file."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from squeeze.study.records import Case, CaseAnswer, CaseState, Data
from squeeze.study.store import layout
from squeeze.study.store.answer_row import (
    FIELDS,
    SOUND,
    answer_of,
    checksum_of,
    decoded,
    fields_of,
    is_sound,
    joined_fields,
)
from squeeze.study.store.contract import TAIL, CaseCounts, row_of
from squeeze.study.store.faults import DamagedStore, faults_of

if TYPE_CHECKING:
    from squeeze.study.store.repair import Repair


class SqliteStore:
    """Keeps the answers in an SQLite file (write-ahead log): readable while the study runs.

    Each answer carries a checksum. One that is not as it was written counts as missing.

    Parameters
    ----------
    path : str or Path
        The file; it is made when there is none.

    Attributes
    ----------
    path : Path
    repair : Repair or None
        What was lost when `open_store` opened a damaged store.

    Raises
    ------
    DamagedStore
        When the file is damaged. Every method raises it too.
    StoreFault
        When the file cannot be opened or is not a store of a study, or the disk is full. Every
        method raises it too.
    """

    def __init__(self, path: str | Path):
        self.path = Path(path)
        self.repair: Repair | None = None
        with faults_of(self.path):
            layout.check_kind(self.path)
            self._db = sqlite3.connect(self.path, isolation_level=None, timeout=30)
            try:
                self._open()
            except BaseException:
                self._db.close()
                raise

    def _open(self) -> None:
        self._db.text_factory = decoded
        self._db.create_function("sound", 8, is_sound, deterministic=True)
        self._db.execute("pragma journal_mode = wal")
        self._db.execute("pragma synchronous = normal")
        if not layout.is_made(self._db, self.path):
            with self._transaction():
                layout.make(self._db)

    @contextmanager
    def _transaction(self) -> Iterator[None]:
        """Write all or nothing."""
        self._db.execute("begin immediate")
        try:
            yield
        except BaseException:
            if self._db.in_transaction:  # a full disk has ended it already
                self._db.execute("rollback")
            raise
        self._db.execute("commit")

    def _names(self, key: str) -> tuple[str, ...]:
        """Return a list of names from the table `about`."""
        with faults_of(self.path):
            text = layout.about(self._db, key)
        try:
            return tuple(map(str, json.loads(text or "[]")))
        except (ValueError, TypeError):
            raise self._damaged_plan() from None

    def _damaged_plan(self) -> DamagedStore:
        return DamagedStore(f"{self.path}: the plan in the store is damaged; run the study again")

    def _select(self, query: str, given: Iterable[Any] = ()) -> Iterator[tuple]:
        with faults_of(self.path):
            yield from self._db.execute(query, tuple(given))

    def plan(self, columns: tuple[str, ...], keep: tuple[str, ...], cases: Iterable[Case]) -> None:
        """Put down which cases the study has, in place of those put down before.

        Parameters
        ----------
        columns : tuple of str
            Names of what is varied.
        keep : tuple of str
            Names of the measures.
        cases : iterable of Case
        """
        with faults_of(self.path), self._transaction():
            self._db.execute("delete from planned")
            rows = ((c.number, c.id, json.dumps(c.values)) for c in cases)
            self._db.executemany(
                "insert into planned values (?, ?, ?, ?)",
                ((*row, checksum_of(*row)) for row in rows),
            )
            for key, value in (("columns", columns), ("keep", keep)):
                self._db.execute("replace into about values (?, ?)", [key, json.dumps(value)])

    def put(self, answer: CaseAnswer) -> None:
        """Keep an answer; when this returns it is in the file."""
        self.put_all([answer])

    def put_all(self, answers: Iterable[CaseAnswer]) -> None:
        """Keep several answers, all or none."""
        with faults_of(self.path), self._transaction():
            self._db.executemany(
                "replace into answer values (?, ?, ?, ?, ?, ?, ?, ?)", map(fields_of, answers)
            )

    def state(self, case_id: str) -> CaseState | None:
        """Return how the case `case_id` ended; None without an answer."""
        query = f"select state from answer where id = ? and {SOUND}"
        found = next(self._select(query, [case_id]), None)
        return None if found is None else CaseState(found[0])

    def answers(self) -> Iterator[CaseAnswer]:
        """Yield all answers, those to cases that are not in the study among them."""
        for row in self._select(f"select {FIELDS} from answer where {SOUND}"):
            yield answer_of(*row)

    def forget(self, *states: CaseState) -> int:
        """Drop the answers in these states; return how many."""
        marks = ", ".join("?" * len(states))
        with faults_of(self.path):
            gone = self._db.execute(f"delete from answer where state in ({marks})", [*states])
        return gone.rowcount

    def broken_count(self) -> int:
        """Return how many answers are not as they were written."""
        return next(self._select(f"select count(*) from answer where not {SOUND}"))[0]

    def drop_broken(self) -> int:
        """Drop the answers that are not as they were written; return how many."""
        with faults_of(self.path):
            return self._db.execute(f"delete from answer where not {SOUND}").rowcount

    def check(self) -> None:
        """Read the whole file once.

        Raises
        ------
        DamagedStore
            When a part of it cannot be read.
        """
        (said,) = next(self._select("pragma integrity_check(1)"))
        if said != "ok":
            raise DamagedStore(f"{self.path}: the store is damaged ({said}); run the study again")

    def count(self) -> CaseCounts:
        """Return how far the study has come."""
        found = dict(
            self._select(
                "select coalesce(state, 'missing'), count(*) from planned left join"
                f" (select id, state from answer where {SOUND}) using (id) group by 1"
            )
        )
        (other,) = next(
            self._select(
                f"select count(*) from answer where {SOUND} and id not in (select id from planned)"
            )
        )
        done, failed, refused = (found.get(str(state), 0) for state in CaseState)
        return CaseCounts(sum(found.values()), done, failed, refused, other)

    def columns(self) -> tuple[str, ...]:
        """Return the names in `rows`."""
        return ("case", *self._names("columns"), *self.keep(), *TAIL)

    def keep(self) -> tuple[str, ...]:
        """Return the measures that are kept."""
        return self._names("keep")

    def rows(self) -> Iterator[Data]:
        """Yield a row for each planned case, in the order of the study.

        Raises
        ------
        DamagedStore
            When the plan was changed by something else.
        """
        keep = self.keep()
        for number, case_id, given, checksum, *found in self._select(
            f"select number, planned.id, given, planned.checksum, {joined_fields()} from planned"
            f" left join (select {FIELDS} from answer where {SOUND}) as kept using (id)"
            " order by number"
        ):
            if checksum != checksum_of(number, case_id, given):
                raise self._damaged_plan()
            answer = None if found[0] is None else answer_of(*found)
            yield row_of(number, json.loads(given), answer, keep)

    def seconds(self) -> tuple[float, float] | None:
        """Return mean time for a factor and for a solve [s]; None without answers."""
        made, solved = next(
            self._select(
                "select avg(case when factor_s > 0.01 then factor_s end), avg(solve_s) from answer"
                f" where state = ? and {SOUND}",
                [str(CaseState.DONE)],
            )
        )
        return None if made is None else (made, solved)

    def close(self) -> None:
        """Let go of the file."""
        with faults_of(self.path):
            self._db.close()
