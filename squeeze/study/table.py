"""The table of a study: read from its store or its CSV file, written as CSV and Parquet."""

from __future__ import annotations

import csv
import math
import os
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING, Any

from squeeze.mold.errors import SqueezeError
from squeeze.study.plan.load import load_study, study_path
from squeeze.study.records import Data
from squeeze.study.store.contract import Store, StoreFault
from squeeze.study.store.sqlite import SqliteStore

if TYPE_CHECKING:
    import pandas


class NeedsExtra(SqueezeError, ImportError):
    """A package that is not installed is needed for what was asked."""


def store_path(study: Path) -> Path:
    """Return where the store of a study file is: beside it, ``NAME.sqlite``."""
    return study.with_suffix(".sqlite")


def read_study(path: str | Path) -> pandas.DataFrame:
    """Read the results of a study: a row for each case, in the order of the study.

    Parameters
    ----------
    path : str or Path
        A study file, its folder, its store or its CSV file. Where there is no store beside the
        study file, the CSV file that it names is read.

    Returns
    -------
    pandas.DataFrame
        The columns that vary, the measures, and ``state``, ``outcome`` and ``error``.

    Raises
    ------
    StoreFault
        When there are no results.
    NeedsExtra
        When pandas is not installed; `squeeze.study.rows_of` does without.
    """
    return frame_of(rows_of(path))


def frame_of(rows: Iterable[Data]) -> pandas.DataFrame:
    """Return rows as a data frame.

    Raises
    ------
    NeedsExtra
        When pandas is not installed.
    """
    try:
        import pandas
    except ImportError:
        raise NeedsExtra(
            "a data frame needs pandas: pip install 'squeeze-mold[table]'; squeeze.study.rows_of"
            " gives plain rows without it"
        ) from None
    rows = list(rows)
    return pandas.DataFrame.from_records(rows, columns=list(rows[0]) if rows else None)


def rows_of(path: str | Path) -> Iterator[Data]:
    """Yield the rows of a study's results, a dict for each; `path` as in `read_study`."""
    place = _results(Path(path))
    if place.suffix == ".csv":
        yield from read_csv(place)
        return
    with closing(SqliteStore(place)) as store:
        yield from store.rows()


def _results(path: Path) -> Path:
    if path.suffix in (".csv", ".sqlite"):
        return _there(path)
    study = study_path(path)
    store = store_path(study)
    if store.exists():
        return store
    name = load_study(study).file.table
    return _there(study.with_name(name) if name else store)


def _there(path: Path) -> Path:
    if not path.is_file():
        raise StoreFault(f"{path}: there are no results yet; run the study first")
    return path


def write_csv(store: Store, path: str | Path) -> None:
    """Write the table to `path` as CSV: UTF-8, a line for each case, empty where there is no value.

    Numbers are exact: `read_csv` gives the same ones back.
    """
    with open(path, "w", newline="", encoding="utf-8") as stream:
        writer = csv.writer(stream, lineterminator="\n")
        names = store.columns()
        writer.writerow(names)
        for row in store.rows():
            writer.writerow([_written(row[name]) for name in names])


def _written(value: Any) -> str:
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    return repr(value) if isinstance(value, float) else str(value)


def read_csv(path: str | Path) -> Iterator[Data]:
    """Yield the rows of the CSV file `path` that `write_csv` wrote."""
    with open(path, newline="", encoding="utf-8") as stream:
        for row in csv.DictReader(stream):
            yield {key: _read(value) for key, value in row.items()}


def _read(text: str) -> Any:
    plain = {"": None, "true": True, "false": False}
    if text in plain:
        return plain[text]
    kinds: tuple[Callable[[str], Any], ...] = (int, float)
    for kind in kinds:
        try:
            return kind(text)
        except ValueError:
            continue
    return text


def write_parquet(store: Store, path: str | Path) -> None:
    """Write the table to `path` as Parquet.

    Raises
    ------
    NeedsExtra
        When pyarrow is not installed.
    """
    try:
        import pyarrow
        from pyarrow import parquet
    except ImportError:
        raise NeedsExtra("Parquet needs pyarrow: pip install 'squeeze-mold[table]'") from None
    names = store.columns()
    rows = list(store.rows())
    columns = {name: _one_kind([row[name] for row in rows]) for name in names}
    parquet.write_table(pyarrow.table(columns), os.fspath(path))


def _one_kind(values: list[Any]) -> list[Any]:
    """Return a column in one kind of value: text where kinds are mixed."""
    kinds = {type(value) for value in values} - {type(None)}
    if len(kinds) <= 1:
        return values
    if kinds <= {int, float}:
        return [None if value is None else float(value) for value in values]
    return [None if value is None else str(value) for value in values]
