"""Lists of raw tables, before they are checked: names, numbers, names that stand twice."""

from __future__ import annotations

from typing import Any

from squeeze.mold.tables.table import KeyFaults
from squeeze.mold.tables.values import quote


def named(given: dict[str, Any], kinds: tuple[str, ...]) -> dict[str, Any]:
    """Return the lists of some `kinds` with a name for every entry without one.

    `given` is the raw table that holds them, each under its kind.
    """
    return {
        kind: [
            {"name": f"{kind} {i}"} | entry if isinstance(entry, dict) else entry
            for i, entry in enumerate(given[kind], start=1)
        ]
        for kind in kinds
        if isinstance(given.get(kind), list | tuple)
    }


def entries(value: object) -> list[tuple[int, dict[str, Any]]]:
    """Return the tables among the entries of a list, each with its number from 0.

    A `value` that is no list has none.
    """
    values = value if isinstance(value, list | tuple) else []
    return [(i, entry) for i, entry in enumerate(values) if isinstance(entry, dict)]


def twice(kind: str, tables: object) -> KeyFaults:
    """Yield the names that stand twice in a list of tables of one kind."""
    taken: dict[str, int] = {}
    for i, entry in entries(tables):
        name = entry.get("name")
        if not isinstance(name, str):
            continue
        if name in taken:
            yield (
                (kind, i, "name"),
                f"{quote(name)} is the name of {kind} number {taken[name] + 1} already; each {kind}"
                " needs a name of its own",
            )
        taken.setdefault(name, i)


def is_raw_number(value: object) -> bool:
    """Return whether a raw value is a number; true and false are none."""
    return isinstance(value, int | float) and not isinstance(value, bool)
