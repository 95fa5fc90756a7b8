"""The tables of a store's file: how they are made, and whether a file has them."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from squeeze.study.store.contract import StoreFault
from squeeze.study.store.faults import not_a_store

FORMAT = 2
_COLUMNS = {
    "about": "key text primary key, value text not null",
    "planned": "number integer primary key, id text not null, given text not null,"
    " checksum integer not null",
    "answer": "id text primary key, state text not null, outcome text, measures text not null,"
    " error text, factor_s real not null, solve_s real not null, checksum integer not null",
}


def check_kind(path: Path) -> None:
    """Check how a file begins: SQLite would write over a short one, whatever it holds.

    Raises
    ------
    StoreFault
        When it holds something else than a database.
    """
    if path.is_file() and _beginning(path) not in (b"", b"SQLite format 3\0"):
        raise not_a_store(path)


def _beginning(path: Path) -> bytes:
    with path.open("rb") as file:
        return file.read(16)


def is_made(db: sqlite3.Connection, path: Path) -> bool:
    """Return whether a store of this format stands in the file; False when it is empty.

    Parameters
    ----------
    db : Connection
        To the file.
    path : Path
        Its name, for refusals.

    Raises
    ------
    StoreFault
        When it holds other tables, or is of another format.
    """
    found = {
        table: [row[1] for row in db.execute(f"pragma table_info({table})")]
        for (table,) in db.execute("select name from sqlite_master where type = 'table'")
    }
    if not found:
        return False
    start = f"{path}: is not a store of this version of squeeze:"
    end = "; move it away and run the study again"
    if "about" not in found or not {"key", "value"} <= set(found["about"]):
        raise StoreFault(f"{start} it holds other tables ({', '.join(found)}){end}")
    text = about(db, "format")
    if text != str(FORMAT):
        said = "no format" if text is None else f"format {text}"
        raise StoreFault(f"{start} it is of {said}, and format {FORMAT} is needed{end}")
    for table, columns in _COLUMNS.items():
        wanted = [part.split()[0] for part in columns.split(", ")]
        lacks = [name for name in wanted if name not in found.get(table, ())]
        if lacks:
            raise StoreFault(f"{start} its table {table} lacks {', '.join(lacks)}{end}")
    return True


def make(db: sqlite3.Connection) -> None:
    """Make the tables of an empty store, in the transaction that is open."""
    for table, columns in _COLUMNS.items():
        rowid = "" if table == "planned" else " without rowid"
        db.execute(f"create table if not exists {table} ({columns}){rowid}")
    db.execute("create index if not exists planned_id on planned (id)")
    db.execute("insert or ignore into about values ('format', ?)", [str(FORMAT)])


def about(db: sqlite3.Connection, key: str) -> str | None:
    """Return what the table `about` holds under a key; None where it holds nothing."""
    found = db.execute("select value from about where key = ?", [key]).fetchone()
    return None if found is None else found[0]
