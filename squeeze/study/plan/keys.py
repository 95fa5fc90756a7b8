"""Dotted keys of a mold file: where in its tables they lead, reading and setting a value there.

``block.bevel_mm``; an entry of a list by its name, ``cut.across the barrels.friction``, by its
number from 1, ``band.2.count``, or without either when there is just one; ``cut.*.friction`` is
every entry.
"""

from __future__ import annotations

from typing import Any, get_args

from squeeze.mold.file.lines import KeyPath
from squeeze.mold.tables.mold import Mold
from squeeze.mold.tables.table import Table
from squeeze.mold.tables.values import listed, quote, spelling
from squeeze.study.plan.formula import StudyValueError
from squeeze.study.records import Data


def key_paths(key: str, data: Data) -> list[KeyPath]:
    """Return where a key leads in the tables of a mold.

    Parameters
    ----------
    key : str
    data : dict
        The mold as `squeeze.mold.dict_of` gives it.

    Raises
    ------
    StudyValueError
        When there is no such key or no such entry.
    """
    head, _, rest = key.partition(".")
    table, many = _inner(Mold, head)
    if not rest:
        return [(head,)]
    if table is None:
        raise StudyValueError(f"{head} has no keys of its own")
    if not many:
        return [(head, _known(table, rest))]
    return [(head, i, _known(table, inner)) for i, inner in _chosen(head, rest, data)]


def _inner(table: type[Table], key: str) -> tuple[type[Table] | None, bool]:
    """Return the kind of table that stands under a key, if any, and whether there are many."""
    _known(table, key)
    hint = table.model_fields[key].annotation
    return _table_in(hint), "tuple" in str(hint)


def _table_in(hint: Any) -> type[Table] | None:
    if isinstance(hint, type) and issubclass(hint, Table):
        return hint
    return next((found for part in get_args(hint) if (found := _table_in(part))), None)


def _known(table: type[Table], key: str) -> str:
    fields = table.model_fields
    if key not in fields:
        raise StudyValueError(
            f"{quote(key)} is not a key here; allowed are {listed(fields)}" + spelling(key, fields)
        )
    return key


def _chosen(head: str, rest: str, data: Data) -> list[tuple[int, str]]:
    """Return number and inner key of the entries of a list that ``rest`` speaks of."""
    entries = [entry for entry in data.get(head, ()) if isinstance(entry, dict)]
    if not entries:
        raise StudyValueError(f"the mold has no {head}")
    first, _, inner = rest.partition(".")
    if first == "*":
        return [(i, inner) for i in range(len(entries))]
    named = _named(rest, entries)
    if named is not None:
        return [named]
    if first.isdigit() and 1 <= int(first) <= len(entries):
        return [(int(first) - 1, inner)]
    if not inner and len(entries) == 1:
        return [(0, rest)]
    raise StudyValueError(_which(head, entries, first if inner else ""))


def _named(rest: str, entries: list[Data]) -> tuple[int, str] | None:
    """Return the entry whose name begins ``rest``; the longest name goes first."""
    names = [(str(entry.get("name", "")), i) for i, entry in enumerate(entries)]
    for name, i in sorted(names, key=lambda pair: -len(pair[0])):
        if name and rest.startswith(f"{name}."):
            return i, rest[len(name) + 1 :]
    return None


def _which(head: str, entries: list[Data], word: str) -> str:
    names = [str(e.get("name", i)) for i, e in enumerate(entries, start=1)]
    known = f"say {head}.NAME.key with one of {listed(map(quote, names))}, or {head}.*.key for all"
    start = f"there is no {head} {quote(word)}; " if word else f"there are {len(names)}; "
    return start + known + (spelling(word, names) if word else "")


def _with_value(data: Any, path: KeyPath, value: Any) -> Any:
    """Return a copy of the tables with the value at `path`; what is not touched is shared."""
    if not path:
        return value
    step, rest = path[0], path[1:]
    if isinstance(step, int):
        return [
            _with_value(entry, rest, value) if i == step else entry for i, entry in enumerate(data)
        ]
    inner = data.get(step, {}) if rest else None
    return {**data, step: _with_value(inner, rest, value)}


def with_key(data: Data, key: str, value: Any) -> Data:
    """Return a copy of the tables with the value at every place of a key.

    Parameters
    ----------
    data : dict
        The tables of a mold.
    key : str
        Such as ``cut.across.friction``.
    value : object
    """
    for path in key_paths(key, data):
        data = _with_value(data, path, value)
    return data


def key_value(key: str, data: Data) -> Any:
    """Return the value of `key` in the tables `data` of a mold: as given, or its default.

    Raises
    ------
    StudyValueError
        When it is not given and has no default.
    """
    path = key_paths(key, data)[0]
    found: Any = data
    for step in path:
        try:
            found = found[step]
        except (KeyError, IndexError, TypeError):
            return _default(key, path)
    return found


def _default(key: str, path: KeyPath) -> Any:
    table: type[Table] = Mold
    for step in path[:-1]:
        if isinstance(step, str):
            table = _inner(table, step)[0] or table
    value = table.model_fields[str(path[-1])].get_default()
    if isinstance(value, int | float | str | tuple):
        return value
    raise StudyValueError(f"the mold says nothing of {key}")
