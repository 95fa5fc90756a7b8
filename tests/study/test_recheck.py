"""The comparison of kept tables with new ones finds what differs, and nothing else."""

from __future__ import annotations

import importlib.util
import math
import sys
from pathlib import Path

from squeeze.study import rows_of

STUDIES = Path(__file__).parents[2] / "studies"
_spec = importlib.util.spec_from_file_location("recheck", STUDIES / "recheck.py")
recheck = importlib.util.module_from_spec(_spec)
sys.modules["recheck"] = recheck  # where its records look for their annotations
_spec.loader.exec_module(recheck)

KEPT = list(rows_of(STUDIES / "outlines" / "results.csv"))


def test_the_same_table_does_not_differ():
    assert list(recheck.differences(KEPT, KEPT, 0.0)) == []
    assert list(recheck.differences(KEPT, KEPT[::7], 0.0)) == []


def test_rounding_passes_and_a_change_is_found():
    row = KEPT[3]
    column = next(name for name, value in row.items() if isinstance(value, float) and value > 0)
    largest = max(abs(each[column]) for each in KEPT if isinstance(each[column], float))
    by_rounding = row | {column: row[column] + 1e-12 * largest}
    changed = row | {column: row[column] + 1e-3 * largest}
    assert list(recheck.differences(KEPT, [by_rounding], 1e-6)) == []
    (found,) = recheck.differences(KEPT, [changed], 1e-6)
    assert (found.case, found.column) == (row["case"], column)
    assert abs(found.size - 1e-3) < 1e-9


def test_words_missing_cases_and_columns_are_found():
    row = KEPT[0]
    (found,) = recheck.differences(KEPT, [row | {"outcome": "step limit"}], 1e-6)
    assert found.size == math.inf
    assert list(recheck.differences(KEPT, [row | {"new": 1.0}], 1e-6))
    assert list(recheck.differences(KEPT, [row | {"case": 9999}], 1e-6))
