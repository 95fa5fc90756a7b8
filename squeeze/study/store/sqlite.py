"""The store that outlives every run: an SQLite file."""

from __future__ import annotations

import json
import sqlite3
import zlib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from squeeze.study.records import Case, CaseAnswer, CaseState, Data
from squeeze.study.store.contract import TAIL, CaseCounts, StoreFault, row_of
from squeeze.study.store.faults import DamagedStore, faults_of, not_a_store

if TYPE_CHECKING:
    from squeeze.study.store.repair import Repair

FORMAT = 2
_COLUMNS = {
    "about": "key text primary key, value text not null",
    "planned": "number integer primary key, id text not null, given text not null,"
    " checksum integer not null",
    "answer": "id text primary key, state text not null, outcome text, measures text not null,"
    " error text, factor_s real not null, solve_s real not null, checksum integer not null",
}
_TEXTS = ("id", "state", "outcome", "measures", "error")
_NUMBERS = ("factor_s", "solve_s")
_FIELDS = ", ".join((*_TEXTS, *_NUMBERS))
_SOUND = (
    "sound(cast(checksum as integer), "
    + ", ".join(f"cast({name} as blob)" for name in _TEXTS)
    + ", "
    + ", ".join(f"cast({name} as real)" for name in _NUMBERS)
    + ")"
)
"""Whether the row of an answer is as it was written. A damaged field may hold anything, so each is
cast to what it ought to be."""


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
            _check_kind(self.path)
            self._db = sqlite3.connect(self.path, isolation_level=None, timeout=30)
            try:
                self._open()
            except BaseException:
                self._db.close()
                raise

    def _open(self) -> None:
        self._db.text_factory = _decoded
        self._db.create_function("sound", 8, is_sound, deterministic=True)
        self._db.execute("pragma journal_mode = wal")
        self._db.execute("pragma synchronous = normal")
        if self._is_made():
            return
        with self._transaction():
            for table, columns in _COLUMNS.items():
                rowid = "" if table == "planned" else " without rowid"
                self._db.execute(f"create table if not exists {table} ({columns}){rowid}")
            self._db.execute("create index if not exists planned_id on planned (id)")
            self._db.execute("insert or ignore into about values ('format', ?)", [str(FORMAT)])

    def _is_made(self) -> bool:
        """Return whether a store of this format stands in the file; False when it is empty."""
        found = {
            table: [row[1] for row in self._db.execute(f"pragma table_info({table})")]
            for (table,) in self._db.execute("select name from sqlite_master where type = 'table'")
        }
        if not found:
            return False
        start = f"{self.path}: is not a store of this version of squeeze:"
        end = "; move it away and run the study again"
        if "about" not in found or not {"key", "value"} <= set(found["about"]):
            raise StoreFault(f"{start} it holds other tables ({', '.join(found)}){end}")
        text = self._about("format")
        if text != str(FORMAT):
            said = "no format" if text is None else f"format {text}"
            raise StoreFault(f"{start} it is of {said}, and format {FORMAT} is needed{end}")
        for table, columns in _COLUMNS.items():
            wanted = [part.split()[0] for part in columns.split(", ")]
            lacks = [name for name in wanted if name not in found.get(table, ())]
            if lacks:
                raise StoreFault(f"{start} its table {table} lacks {', '.join(lacks)}{end}")
        return True

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

    def _about(self, key: str) -> str | None:
        found = self._db.execute("select value from about where key = ?", [key]).fetchone()
        return None if found is None else found[0]

    def _names(self, key: str) -> tuple[str, ...]:
        """Return a list of names from the table `about`."""
        with faults_of(self.path):
            text = self._about(key)
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
                "insert into planned values (?, ?, ?, ?)", ((*row, _checksum(*row)) for row in rows)
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
                "replace into answer values (?, ?, ?, ?, ?, ?, ?, ?)", map(_fields, answers)
            )

    def state(self, case_id: str) -> CaseState | None:
        """Return how a case ended; None without an answer."""
        query = f"select state from answer where id = ? and {_SOUND}"
        found = next(self._select(query, [case_id]), None)
        return None if found is None else CaseState(found[0])

    def answers(self) -> Iterator[CaseAnswer]:
        """Yield all answers, those to cases that are not in the study among them."""
        for row in self._select(f"select {_FIELDS} from answer where {_SOUND}"):
            yield answer_of(*row)

    def forget(self, *states: CaseState) -> int:
        """Drop the answers in these states; return how many."""
        marks = ", ".join("?" * len(states))
        with faults_of(self.path):
            gone = self._db.execute(f"delete from answer where state in ({marks})", [*states])
        return gone.rowcount

    def broken_count(self) -> int:
        """Return how many answers are not as they were written."""
        return next(self._select(f"select count(*) from answer where not {_SOUND}"))[0]

    def drop_broken(self) -> int:
        """Drop the answers that are not as they were written; return how many."""
        with faults_of(self.path):
            return self._db.execute(f"delete from answer where not {_SOUND}").rowcount

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
                f" (select id, state from answer where {_SOUND}) using (id) group by 1"
            )
        )
        (other,) = next(
            self._select(
                f"select count(*) from answer where {_SOUND} and id not in (select id from planned)"
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
            f"select number, planned.id, given, planned.checksum, {_joined()} from planned"
            f" left join (select {_FIELDS} from answer where {_SOUND}) as kept using (id)"
            " order by number"
        ):
            if checksum != _checksum(number, case_id, given):
                raise self._damaged_plan()
            answer = None if found[0] is None else answer_of(*found)
            yield row_of(number, json.loads(given), answer, keep)

    def seconds(self) -> tuple[float, float] | None:
        """Return mean time for a factor and for a solve [s]; None without answers."""
        made, solved = next(
            self._select(
                "select avg(case when factor_s > 0.01 then factor_s end), avg(solve_s) from answer"
                f" where state = ? and {_SOUND}",
                [str(CaseState.DONE)],
            )
        )
        return None if made is None else (made, solved)

    def close(self) -> None:
        """Let go of the file."""
        with faults_of(self.path):
            self._db.close()


def _check_kind(path: Path) -> None:
    """Check how a file begins: SQLite would write over a short one, whatever it holds."""
    if path.is_file() and _beginning(path) not in (b"", b"SQLite format 3\0"):
        raise not_a_store(path)


def _beginning(path: Path) -> bytes:
    with path.open("rb") as file:
        return file.read(16)


def _joined() -> str:
    return ", ".join(f"kept.{name}" for name in _FIELDS.split(", "))


def _checksum(*values: Any) -> int:
    return zlib.crc32(json.dumps(values).encode())


def _fields(answer: CaseAnswer) -> tuple:
    values = (
        answer.id,
        str(answer.state),
        answer.outcome,
        json.dumps(answer.measures),
        answer.error,
        float(answer.factor_s),
        float(answer.solve_s),
    )
    return (*values, _checksum(*values))


def _decoded(data: bytes) -> str:
    """Return text that was damaged as text, too: its checksum shows the damage."""
    return data.decode(errors="replace")


def is_sound(checksum: int, *fields: Any) -> bool:
    """Return whether the fields of an answer are as they were written.

    Parameters
    ----------
    checksum : int
        CRC-32 of the fields.
    *fields
        id, state, outcome, measures, error, factor_s, solve_s; texts as such or as bytes.
    """
    values = [_decoded(field) if isinstance(field, bytes) else field for field in fields]
    try:
        return checksum == _checksum(*values) and values[1] in tuple(CaseState)
    except (TypeError, ValueError):  # a damaged field may hold anything
        return False


def answer_of(
    case_id: str,
    state: str,
    outcome: str | None,
    measures: str,
    error: str | None,
    factor_s: float,
    solve_s: float,
) -> CaseAnswer:
    """Return the answer in the fields of a row that `is_sound`.

    They are, in the order of the table: `case_id`, `state`, `outcome`, `measures` as JSON, `error`,
    `factor_s` and `solve_s`.
    """
    kept = json.loads(measures)
    return CaseAnswer(case_id, CaseState(state), outcome, kept, error, factor_s, solve_s)
