"""Records are frozen; those that hold arrays are compared by what they are, not entry by entry."""

from __future__ import annotations

import dataclasses
import importlib
import inspect
import pkgutil
import re
from collections.abc import Iterator

import pytest

import squeeze

FILLED_IN = {
    "Allowance",
    "BlockCache",
    "FamilySearch",
    "Found",
    "LoopNodes",
    "MemoryStore",
    "Trials",
    "Question",
}
"""Working memory of one search or run, filled in as the work goes on."""

ARRAY = re.compile(r"\b(Array|NDArray|Whole|Mask|Points|States|cs[rc]_array|coo_array)\b")


def records() -> Iterator[type]:
    """Yield the dataclasses of the rooms below drawing and the page."""
    for found in pkgutil.walk_packages(squeeze.__path__, "squeeze."):
        if re.match(r"squeeze\.(mold|solve|verdict|study|design)\b", found.name):
            module = importlib.import_module(found.name)
            for _, each in inspect.getmembers(module, inspect.isclass):
                if each.__module__ == found.name and dataclasses.is_dataclass(each):
                    yield each


RECORDS = sorted(records(), key=lambda each: f"{each.__module__}.{each.__name__}")


@pytest.mark.parametrize("record", RECORDS, ids=lambda each: f"{each.__module__}.{each.__name__}")
def test_a_record_is_frozen_and_can_be_compared(record):
    if record.__name__ not in FILLED_IN:
        assert record.__dataclass_params__.frozen
    compared = (str(field.type) for field in dataclasses.fields(record) if field.compare)
    if any(ARRAY.search(kind) for kind in compared if "Callable" not in kind):
        assert record.__eq__ is object.__eq__, "comparing arrays gives no yes or no"
