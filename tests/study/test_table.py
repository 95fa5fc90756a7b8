"""The table, from store and CSV, with pandas and without."""

from __future__ import annotations

import sys
from contextlib import closing

import pytest

import squeeze
from squeeze.study import (
    Case,
    CaseAnswer,
    CaseState,
    SqliteStore,
    StoreFault,
    rows_of,
    write_csv,
    write_parquet,
)
from squeeze.study.table import NeedsExtra

KEEP = ("gap_mm", "seals", "say")


@pytest.fixture
def store(write):
    """Return an open store beside a study file, with a done, a failed and a missing case."""
    path = write('mold = "small.toml"\ntable = "results.csv"\n[vary]\n"block.bevel_mm" = [0, 1, 2]')
    with closing(SqliteStore(path.with_suffix(".sqlite"))) as made:
        found = [Case(f"id{n}", n, {"block.bevel_mm": n}, {}, "s") for n in range(3)]
        made.plan(("block.bevel_mm",), KEEP, found)
        kept = {"gap_mm": 0.1 + 0.2, "seals": True, "say": 'No, it "leaks"'}
        made.put(CaseAnswer("id0", CaseState.DONE, "converged", kept))
        made.put(CaseAnswer("id1", CaseState.FAILED, error="took longer than 3 s"))
        yield made


def test_csv_gives_the_same_back(store, tmp_path):
    write_csv(store, tmp_path / "a.csv")
    assert list(rows_of(tmp_path / "a.csv")) == list(store.rows())


def test_csv_is_the_same_each_time(store, tmp_path):
    for name in ("a.csv", "b.csv"):
        write_csv(store, tmp_path / name)
    assert (tmp_path / "a.csv").read_bytes() == (tmp_path / "b.csv").read_bytes()


def test_a_study_its_folder_and_its_store_are_one_table(store):
    folder = store.path.parent
    found = [list(rows_of(p)) for p in (folder, folder / "study.toml", store.path)]
    assert found == [list(store.rows())] * 3


def test_without_a_store_the_kept_csv_is_read(store):
    folder = store.path.parent
    rows = list(store.rows())
    write_csv(store, folder / "results.csv")
    store.close()
    store.path.unlink()
    assert list(rows_of(folder)) == rows


def test_without_results_it_says_so(write):
    with pytest.raises(StoreFault, match="run the study first"):
        squeeze.read_study(write())


def test_pandas_gives_a_frame(store):
    pandas = pytest.importorskip("pandas")
    frame = squeeze.read_study(store.path)
    assert isinstance(frame, pandas.DataFrame)
    assert list(frame["block.bevel_mm"]) == [0, 1, 2]
    assert list(frame["state"]) == ["done", "failed", "missing"]


def test_without_pandas_it_says_what_to_install(store, monkeypatch):
    monkeypatch.setitem(sys.modules, "pandas", None)
    with pytest.raises(NeedsExtra, match=r"squeeze-mold\[table\].*rows_of"):
        squeeze.read_study(store.path)
    assert list(rows_of(store.path)) == list(store.rows())


def test_parquet_gives_the_same_back(store, tmp_path):
    parquet = pytest.importorskip("pyarrow.parquet")
    write_parquet(store, tmp_path / "a.parquet")
    assert parquet.read_table(tmp_path / "a.parquet").to_pylist() == list(store.rows())


def test_parquet_without_pyarrow_says_what_to_install(store, monkeypatch, tmp_path):
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    with pytest.raises(NeedsExtra, match=r"squeeze-mold\[table\]"):
        write_parquet(store, tmp_path / "a.parquet")
