"""The store that outlives every run: an SQLite file."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from squeeze.study.records import Case, CaseAnswer, CaseState, Data
from squeeze.study.store.contract import TAIL, CaseCounts, StoreFault, row_of

FORMAT = 1
_TABLES = """
create table if not exists about (key text primary key, value text not null) without rowid;
create table if not exists planned (
    number integer primary key, id text not null, given text not null
);
create table if not exists answer (
    id text primary key, state text not null, outcome text, measures text not null, error text,
    factor_s real not null, solve_s real not null
) without rowid;
create index if not exists planned_id on planned (id);
"""


class SqliteStore:
    """Keeps the answers in an SQLite file (write-ahead log): readable while the study runs.

    Parameters
    ----------
    path : str or Path

    Raises
    ------
    StoreFault
        When the file cannot be opened or is not a store of a study.
    """

    def __init__(self, path: str | Path):
        self.path = Path(path)
        try:
            self._open()
        except sqlite3.Error as error:
            raise StoreFault(f"{path}: cannot be used as store of a study: {error}") from None

    def _open(self) -> None:
        self._db = sqlite3.connect(self.path, isolation_level=None, timeout=30)
        try:
            self._db.execute("pragma journal_mode = wal")
            self._db.execute("pragma synchronous = normal")
            self._db.executescript(_TABLES)
            found = self._about("format", FORMAT)
            if found != FORMAT:
                raise StoreFault(f"{self.path}: is of format {found}; this program knows {FORMAT}")
            self._db.execute("insert or ignore into about values ('format', ?)", [str(FORMAT)])
        except BaseException:
            self._db.close()
            raise

    def _about(self, key: str, default: Any) -> Any:
        found = self._db.execute("select value from about where key = ?", [key]).fetchone()
        return json.loads(found[0]) if found else default

    def plan(self, columns: tuple[str, ...], keep: tuple[str, ...], cases: Iterable[Case]) -> None:
        """Put down which cases the study has, in place of those put down before."""
        rows = ((c.number, c.id, json.dumps(c.values)) for c in cases)
        self._db.execute("begin immediate")
        try:
            self._db.execute("delete from planned")
            self._db.executemany("insert into planned values (?, ?, ?)", rows)
            for key, value in (("columns", columns), ("keep", keep)):
                self._db.execute("replace into about values (?, ?)", [key, json.dumps(value)])
        except BaseException:
            self._db.execute("rollback")
            raise
        self._db.execute("commit")

    def put(self, answer: CaseAnswer) -> None:
        """Keep an answer; when this returns it is in the file."""
        self._db.execute(
            "replace into answer values (?, ?, ?, ?, ?, ?, ?)",
            [
                answer.id,
                str(answer.state),
                answer.outcome,
                json.dumps(answer.measures),
                answer.error,
                answer.factor_s,
                answer.solve_s,
            ],
        )

    def state(self, identity: str) -> CaseState | None:
        """Return how a case ended; None without an answer."""
        found = self._db.execute("select state from answer where id = ?", [identity]).fetchone()
        return None if found is None else CaseState(found[0])

    def answers(self) -> Iterator[CaseAnswer]:
        """Yield all answers."""
        for row in self._db.execute(f"select {_ANSWER}, factor_s, solve_s from answer"):
            yield _answer(*row)

    def forget(self, *states: CaseState) -> int:
        """Drop the answers in these states; return how many."""
        marks = ", ".join("?" * len(states))
        gone = self._db.execute(
            f"delete from answer where state in ({marks})", list(map(str, states))
        )
        return gone.rowcount

    def count(self) -> CaseCounts:
        """Return how far the study has come."""
        found = dict(
            self._db.execute(
                "select coalesce(state, 'missing'), count(*) from planned left join answer"
                " using (id) group by 1"
            ).fetchall()
        )
        other = self._db.execute(
            "select count(*) from answer where id not in (select id from planned)"
        ).fetchone()[0]
        done, failed, refused = (found.get(str(state), 0) for state in CaseState)
        return CaseCounts(sum(found.values()), done, failed, refused, other)

    def columns(self) -> tuple[str, ...]:
        """Return the names in `rows`."""
        return ("case", *self._about("columns", ()), *self.keep(), *TAIL)

    def keep(self) -> tuple[str, ...]:
        """Return the measures that are kept."""
        return tuple(self._about("keep", ()))

    def rows(self) -> Iterator[Data]:
        """Yield a row for each planned case, in the order of the study."""
        keep = self.keep()
        for number, given, *rest in self._db.execute(
            f"select number, given, {_ANSWER} from planned left join answer using (id)"
            " order by number"
        ):
            yield row_of(number, json.loads(given), _answer(*rest) if rest[1] else None, keep)

    def seconds(self) -> tuple[float, float] | None:
        """Return mean time for a factor and for a solve [s]; None without answers."""
        made, solved = self._db.execute(
            "select avg(case when factor_s > 0.01 then factor_s end), avg(solve_s) from answer"
            " where state = ?",
            [str(CaseState.DONE)],
        ).fetchone()
        return None if made is None else (made, solved)

    def close(self) -> None:
        """Let go of the file."""
        self._db.close()


_ANSWER = "id, state, outcome, measures, error"


def _answer(
    identity: str, state: str, outcome: str | None, measures: str, error: str | None, *times: float
) -> CaseAnswer:
    return CaseAnswer(identity, CaseState(state), outcome, json.loads(measures), error, *times)
